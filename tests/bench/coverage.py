"""Do the limits cover the truth? Many made-up practices whose truth is known, each taken in and analysed as any other.

Five truths a practice, all recorded to the day and without blanks:
  effects   every factor, shoe age and horse has its own effect: rates, rate ratios, angles, bruises
  paces     the same, and steel behind the heel has another effect at each pace: its ratio for each pace
  horses    only discipline, end, age and the horse itself matter: chance of more than double
  alike     nothing matters and horses are alike: factor rows that exclude 1 are false
  frail     no factor matters but horses differ: the same, harder
A rate ratio's truth is the one drawn from. The truth of a rate, of a bruise and of a burden is that of all practices
pooled, since it hangs on the mix of work. A ratio is only judged where the model that gives it has the form of the
truth: with an effect of the branch by pace, disciplines and ends that are shod closer have no one ratio in a model in
which the branch has one effect. Beside the limits of the record stand naive ones (shoes taken as strangers
to one another) and, for ratios, those of a jackknife over horses (each left out in turn, one step of Newton's method)
about the median-unbiased ratio: they tell whether what is lacking is lacking because horses are few.
Bias is that of the median: of the ratio of greatest likelihood and of losses over days, as others compute them, and of
those set to fall above the truth as often as below. How far it can be known is found by drawing practices anew.
Usage: python -m tests.bench.coverage [--practices 400] [--more 0] [--minutes 60] [--processes 2] [--horses 150]
       [--years 2]; --more: further practices of which only rates and ratios are counted.
"""

import argparse
import time
import warnings
from dataclasses import replace
from datetime import UTC, datetime
from importlib import import_module
from math import prod
from multiprocessing import get_context

import polars as pl

from pipelines.analyses import loss_factors
from pipelines.simulate import Truth, simulate
from pipelines.simulate.truth import SLOPES_FROM
from pipelines.store import open_store
from schemas.ledger import Findings
from schemas.records import Records
from tests.bench.coverage_said import say

NOW = datetime(2026, 7, 9, tzinfo=UTC)
SLOPES = Truth().loss_slopes
# Nails on the unsound side count from a centre of their own: left in, they would shift the truth of wall and side.
PACES = Truth.plainly_recorded(loss_slopes=SLOPES | {"nails_on_unsound_side": 1.0})
EFFECTS = replace(PACES, branch_per_5mm=dict.fromkeys(PACES.branch_per_5mm, 1.15))
HORSES = replace(
    EFFECTS,
    loss_ratios={name: EFFECTS.loss_ratios[name] for name in ("discipline", "end")},
    loss_slopes={},
    branch_per_5mm={},
    overdue=1.0,
)
PLAIN = {
    "unreported_share": 0.0,
    "found_late_share": 0.0,
    "told_twice_share": 0.0,
    "leaves_per_year": 0.0,
    "blanks": {},
}
ALIKE = Truth.nothing_to_find(**PLAIN)
FRAIL = replace(ALIKE, frailty_shape=EFFECTS.frailty_shape)
RATES = ("all", "discipline", "pace", "foot", "end", "season", "shoe_style")
BRUISES = ("all", "end", "sole_relief")
BURDEN_DAYS = (180, 360, 540)
HIND_MEASURES = ("hind_toe_leaving_mm", "hind_angle_leaving_deg")


def taken(practice):
    """The practice as an export that was read and checked."""
    placed = {
        name: frame.with_columns(source_file=pl.lit(f"{name}.csv"), source_row=pl.int_range(2, pl.len() + 2))
        for name, frame in practice.tables.items()
    }
    files = pl.DataFrame(schema={"file_name": pl.String, "sha256": pl.String, "rows": pl.Int64})
    read = {name: frame.height for name, frame in placed.items()}
    account = {"rows_read": read, "collapsed": {}, "set_aside": Findings.empty(), "warnings": Findings.empty()}
    return Records(as_of=practice.last_day, tables=placed, files=files, **account)


def analysed(truth, seed, size, *names):
    """The practice, and the results of the analyses on it."""
    practice = simulate(size[0], size[1], seed, truth=truth)
    results = {}
    with open_store(None) as store:
        store.take_in(taken(practice), NOW)
        store.derive(practice.last_day)
        for name in names:
            module = import_module(f"pipelines.analyses.{name}")
            counts = {part: store.sql(query) for part, query in module.COUNTS.items()}
            results |= factors(counts) if name == "loss_factors" else getattr(module, name)(counts)
            if name == "loss_factors":
                results["hind_feet"] = hind_feet(counts["patterns"])
    return practice, results


def hind_feet(patterns):
    """Mean of what is measured on the hind feet beside front shoes, by shoe-days: there the model sets its ratios."""
    fronts = patterns.filter(pl.col("hind_toe_leaving_mm_applies"))
    days = pl.col("days_on") * pl.col("shoes")
    return {
        name: fronts.drop_nulls(name).select((pl.col(name) * days).sum() / days.sum()).item() for name in HIND_MEASURES
    }


def factors(counts):
    """The factors, and the same with naive limits, and with those of leaving each horse out, from one fit a model."""
    fits = {"piecewise_poisson": loss_factors.piecewise_poisson, "within_unit": loss_factors.within_unit}
    left_out, kept = loss_factors.leave_one_out_error, []

    def remember(name):
        def fit(*args):
            kept.append(fits[name](*args))
            return kept[-1]

        return fit

    try:
        for name in fits:
            setattr(loss_factors, name, remember(name))
        found = loss_factors.loss_factors(counts)["loss_factors"]
        again = iter([fit._replace(error=fit.naive) for fit in kept])
        for name in fits:
            setattr(loss_factors, name, lambda *args: next(again))
        loss_factors.leave_one_out_error = lambda fit, *args: fit.error
        naive = loss_factors.loss_factors(counts)["loss_factors"]
    finally:
        for name, fit in fits.items():
            setattr(loss_factors, name, fit)
        loss_factors.leave_one_out_error = left_out
    left = found.with_columns(low=pl.col("low_left_out"), high=pl.col("high_left_out"))
    return {"loss_factors": found, "naive": naive, "jackknife": left}


def true_ratio(truth, factor, level, reference, behind):
    """The ratio drawn from, or None where the row stands for a mixture that has no one ratio.

    behind: what is measured on the hind feet on average, at which a front shoe stands beside a hind one.
    """
    if factor == "branch_by_pace":
        return truth.branch_per_5mm.get(level, 1.0)
    by_pace = set(truth.branch_per_5mm.values())
    # A shoe without a plan was mostly nailed at a call-out, so it is a horse's that loses shoes: no ratio of its own.
    if level in ("other", "not recorded") or len(by_pace) > 1:
        return None
    if factor == "branch_past_heel_mm":
        return by_pace.pop() if by_pace else 1.0
    if factor == "days_late":
        return truth.overdue
    if level.startswith("per "):
        return truth.loss_slopes.get(factor, 1.0)
    ratios = truth.loss_ratios.get(factor, {})
    ratio = ratios.get(level, 1.0) / ratios.get(reference, 1.0)
    return ratio / front_beside_hind(truth, behind) if factor == "end" else ratio


def front_beside_hind(truth, behind):
    """How the hind feet as they are on average move the rate of front shoes, from where the truth has its centre."""
    slopes = {name: (truth.loss_slopes.get(name, 1.0), *SLOPES_FROM[name]) for name in HIND_MEASURES}
    return prod(slope ** ((behind[name] - centre) / unit) for name, (slope, centre, unit) in slopes.items())


def factor_rows(results, truth):
    """Every ratio that has a truth, with its limits of each kind."""
    beside = {
        kind: {(row["factor"], row["level"]): row for row in results[kind].to_dicts()}
        for kind in ("naive", "jackknife")
    }
    rows = []
    for row in results["loss_factors"].to_dicts():
        true = true_ratio(truth, row["factor"], row["level"], row["reference"], results["hind_feet"])
        if row["low"] is None or true is None:
            continue
        own = {name: row[name] for name in ("factor", "rate_ratio", "ratio_median_unbiased", "low", "high")}
        own |= {"within": row["within_horse_ratio"]} | {name: row[name] for name in ("within_low", "within_high")}
        for kind, table in beside.items():
            other = table[row["factor"], row["level"]]
            own |= {f"{kind}_low": other["low"], f"{kind}_high": other["high"]}
        rows.append(own | {"truth": true})
    return rows


def one(asked):
    """Everything one seed tells."""
    seed, size, also, whole = asked
    warnings.simplefilter("ignore")
    others = ("angle_drift", "bruising", *also) if whole else ()
    _, results = analysed(EFFECTS, seed, size, "loss_rates", "loss_factors", *others)
    found = {"effects": factor_rows(results, EFFECTS)}
    found["rates"] = results["loss_rates"].filter(pl.col("dimension").is_in(RATES)).to_dicts()
    found["effects"] += factor_rows(analysed(PACES, seed, size, "loss_factors")[1], PACES)
    if not whole:
        return found
    shod = pl.col("dimension").is_in(["shod", "discipline_shod"])
    found["drift"] = results["angle_drift"].filter(shod).to_dicts()
    found["bruises"] = results["bruise_recurrence"].filter(pl.col("dimension").is_in(BRUISES)).to_dicts()
    found["trend"] = results["angle_trend"].filter(dimension="all").to_dicts() if "angle_trend" in results else []
    found["burden"] = burden(results["bruise_burden"]) if "bruise_burden" in results else []
    practice, results = analysed(HORSES, seed, size, "horse_losses")
    horses = results["horse_losses"].join(practice.thetas, on="horse_id")
    found["horses"] = horses.filter(pl.col("shrunk_ratio").is_not_null()).drop("note").to_dicts()
    for name, truth in (("alike", ALIKE), ("frail", FRAIL)):
        found[name] = factor_rows(analysed(truth, seed, size, "loss_factors")[1], truth)
    return found


def burden(curves):
    """The curve of all feet as it stands on some days."""
    everything = curves.filter(dimension="all").sort("day")
    rows = [everything.filter(pl.col("day") <= day).tail(1).with_columns(day=pl.lit(day)) for day in BURDEN_DAYS]
    return pl.concat(rows).to_dicts()


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--practices", type=int, default=400)
    parser.add_argument("--more", type=int, default=0)
    parser.add_argument("--horses", type=int, default=150)
    parser.add_argument("--years", type=float, default=2)
    parser.add_argument("--minutes", type=float, default=60)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--also", nargs="*", default=[], choices=["bruise_burden", "angle_trend"])
    asked = parser.parse_args()
    began, all_found = time.monotonic(), []
    size = (asked.horses, asked.years)
    seeds = range(1000, 1000 + asked.practices + asked.more)
    jobs = [(seed, size, asked.also, seed < 1000 + asked.practices) for seed in seeds]
    with get_context("spawn").Pool(asked.processes) as pool:
        for found in pool.imap_unordered(one, jobs):
            all_found.append(found)
            if time.monotonic() - began > 60 * asked.minutes:
                break
    seconds = time.monotonic() - began
    print(f"{len(all_found)} practices of {asked.horses} horses and {asked.years:g} years in {seconds:.0f} s")
    say(all_found, EFFECTS)


if __name__ == "__main__":
    main()
