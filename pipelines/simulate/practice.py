"""A made-up practice as a whole: drawn, held together with its truth, and written to a folder."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import polars as pl

from pipelines.simulate import names, tables
from pipelines.simulate.diary import Calendar, Diary
from pipelines.simulate.herd import draw_herd
from pipelines.simulate.truth import Truth
from schemas.problem import Problem

TABLES = ("horses", "visits", "feet", "losses", "changes")
LAST_DAY = date(2026, 7, 8)
AS_SET = Truth()


@dataclass(frozen=True)
class Practice:
    """The tables of an export and what is true of them.

    thetas: horse_id, theta: each horse's own multiplier of the loss rate. true_losses: horse_id, foot, fitted_on,
    lost_on, reported: every shoe that came off, told or not. made_with: horses, years, seed.
    """

    horses: pl.DataFrame
    visits: pl.DataFrame
    feet: pl.DataFrame
    losses: pl.DataFrame
    changes: pl.DataFrame
    truth: Truth
    thetas: pl.DataFrame
    true_losses: pl.DataFrame
    first_day: date
    last_day: date
    made_with: Mapping[str, Any]

    @property
    def tables(self) -> dict[str, pl.DataFrame]:
        """The tables by name."""
        return {name: getattr(self, name) for name in TABLES}

    @property
    def true_effects(self) -> dict[str, Any]:
        """Everything the record was drawn from, in plain types: factor → level → ratio, and each horse's multiplier."""
        return {
            "made_with": dict(self.made_with),
            "first_day": self.first_day.isoformat(),
            "last_day": self.last_day.isoformat(),
            **self.truth.as_dict(),
            "horses": {name: round(theta, 4) for name, theta in self.thetas.iter_rows()},
        }


def simulate(horses: int, years: float, seed: int, *, truth: Truth = AS_SET, last_day: date = LAST_DAY) -> Practice:
    """Draws a practice of `horses` horses whose record runs `years` years up to `last_day`.

    The same arguments give the same practice. Raises Problem where there would be nothing to draw.
    """
    if horses < 1 or years <= 0 or seed < 0:
        raise Problem("a made-up practice needs at least 1 horse, more than 0 years and a seed of 0 or more")
    rng = np.random.default_rng(seed)
    days = max(round(years * 365.25), 1)
    first = last_day - timedelta(days=days)
    farriers = names.farrier_names(3 + horses // 400)
    herd = draw_herd(horses, truth, days, len(farriers), first.year, rng)
    calendar = Calendar(np.datetime64(first), days)
    written = Diary(herd, truth, calendar, farriers, rng).keep()
    horse_rows = tables.horses_table(herd, truth, rng)
    visits, place = tables.visits_table(written, first, farriers, horses, truth, rng)
    feet = tables.feet_table(written, place, truth, rng)
    losses, true_losses = tables.losses_table(written, first, horses, truth, rng)
    thetas = horse_rows.select("horse_id", theta=pl.Series(herd.theta))
    made_with = {"horses": horses, "years": years, "seed": seed}
    changes = tables.changes_table(visits, losses, np.random.default_rng([seed, 1]))
    return Practice(horse_rows, visits, feet, losses, changes, truth, thetas, true_losses, first, last_day, made_with)


def write_practice(practice: Practice, folder: Path) -> list[Path]:
    """Writes the tables as CSV, `true_effects.json` and a README.md of the model; returns the files written.

    An export is read from the tables alone: the other two files are no tables.
    """
    folder.mkdir(parents=True, exist_ok=True)
    paths = []
    for name, frame in practice.tables.items():
        paths.append(folder / f"{name}.csv")
        as_text(frame).write_csv(paths[-1])
    paths += [folder / "true_effects.json", folder / "README.md"]
    paths[-2].write_text(json.dumps(practice.true_effects, indent=1) + "\n", encoding="utf-8")
    paths[-1].write_text(_readme(practice), encoding="utf-8")
    return paths


def as_text(frame: pl.DataFrame) -> pl.DataFrame:
    """The frame as it stands in a canonical file: yes and no, whole numbers whole, mm and degrees to one decimal."""
    yes_no = [pl.when(name).then(pl.lit("yes")).when(~pl.col(name)).then(pl.lit("no")).alias(name)
              for name, dtype in frame.schema.items() if dtype == pl.Boolean]  # fmt: skip
    numbers = [name for name, dtype in frame.schema.items() if dtype == pl.Float64]
    one_decimal = [name for name in numbers if name.endswith(("_mm", "_deg"))]
    whole = [pl.col(name).cast(pl.Int64) for name in numbers if name not in one_decimal]
    return frame.with_columns(*yes_no, *whole, *(pl.col(name).round(1) for name in one_decimal))


def _readme(practice: Practice) -> str:
    from pipelines.simulate import __doc__ as model

    made = practice.made_with
    command = f"shoeing simulate --horses {made['horses']} --years {made['years']} --seed {made['seed']} --to DIR"
    return (
        f"# A made-up practice\n\nNo horse, person, yard or practice in it exists. Made by\n\n    {command}\n\n"
        f"from {practice.first_day} to {practice.last_day}. "
        "`true_effects.json` holds every number it was drawn from.\n\n"
        f"## The model\n\n{model.split(chr(10), 2)[2].strip()}\n"
    )
