"""What the heavy parts take on very large records: the loss model, the mixed models of angles, the pages of horses.

Usage: python -m tests.bench.large [--horses 18500] [--pages 1000] (2.5 years; 18,500 horses wear a million shoes)
"""

import argparse
import resource
import tempfile
import time
from datetime import UTC, datetime
from importlib import import_module
from pathlib import Path

from pipelines.analyses import loss_factors
from pipelines.build import Settings, publish
from pipelines.simulate import simulate, write_practice
from pipelines.store import open_store
from tests.bench.coverage import taken

ALONE = ("angle_drift", "angle_trend", "bruise_burden", "horse_losses", "retention_interval")


def timed(label, work, *args):
    start, used = time.perf_counter(), time.process_time()
    result = work(*args)
    wall, cpu = time.perf_counter() - start, time.process_time() - used
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{label:44} {wall:6.2f} s ({cpu:6.2f} s of CPU), peak so far {peak:,.0f} MB", flush=True)
    return result


def counted(store, module):
    return {part: store.sql(query) for part, query in module.COUNTS.items()}


def first_fit(counts):
    """The loss model itself: all factors together over all shoes."""
    shoes = loss_factors.Shoes(counts["patterns"])
    parts, late = loss_factors._parts(shoes)
    used = [part for part in parts if part.table.shape[1]]
    design = loss_factors.Design([p.codes for p in used], [p.table for p in used])
    horse = loss_factors.coded(counts["patterns"]["horse_id"])[0]
    fit = loss_factors.piecewise_poisson(shoes.events, shoes.time, late.cells, design, horse)
    print(f"  {len(shoes.time):,} patterns of shoes, {fit.coef.size} coefficients, converged: {fit.converged}")


def models(horses):
    practice = timed(f"simulate {horses:,} horses", simulate, horses, 2.5, 1)
    with open_store(None) as store:
        store.take_in(taken(practice), datetime.now(UTC).replace(tzinfo=None))
        timed("follow the shoes", store.derive, practice.last_day)
        shoes, feet = store.sql(
            "select (select count(*) from derived.shoe_spells), (select count(*) from accepted.feet)"
        ).row(0)
        pairs = store.sql("select count(distinct (horse_id, foot)) from derived.foot_steps").item()
        print(f"  {shoes:,} shoes, {feet:,} foot rows, {pairs:,} feet")
        counts = timed("loss_factors: counting", counted, store, loss_factors)
        timed("loss_factors: one model with its limits", first_fit, counts)
        timed("loss_factors: all four fits and the rows", loss_factors.loss_factors, counts)
        for name in ALONE:
            module = import_module(f"pipelines.analyses.{name}")
            counts = timed(f"{name}: counting", counted, store, module)
            timed(f"{name}: estimating", getattr(module, name), counts)


def pages(horses):
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        write_practice(simulate(horses, 2.5, 2), folder / "export")

        def step(name, work, *args, **options):
            return (
                timed(f"{horses:,} horses: {name}", work, *args, **options) if not options else work(*args, **options)
            )

        publish([folder / "export"], None, folder / "site", Settings(), step)


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--horses", type=int, default=18_500)
    parser.add_argument("--pages", type=int, default=1000)
    asked = parser.parse_args()
    pages(asked.pages)
    models(asked.horses)


if __name__ == "__main__":
    main()
