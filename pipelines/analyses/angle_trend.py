"""Does the angle that feet leave with go up or down over the years, and does the toe go the other way?"""

import numpy as np
import polars as pl

from pipelines.analyses.splits import in_order, yes_or_no
from pipelines.stats.poisson import Z95
from pipelines.stats.random_slopes import (
    Lines,
    LineSums,
    clustered_slope_error,
    random_slopes,
    unit_slopes,
    unread_slopes,
)
from schemas.results import AngleTrend, ToeDirections

DIMENSIONS = ("all", "discipline", "end", "shod")
ENOUGH_FEET = 5
ENOUGH_VISITS = 3
ENOUGH_FOLLOWED = 3
ENOUGH_HORSES = 5
DAYS_A_YEAR = 365.25
FEW_HORSES = f"fewer than {ENOUGH_HORSES} horses: no range is told"
EDGE = "feet differ by less than can be told apart: their spread is at its edge"

_LEFT = """(
    select v.horse_id, f.foot, h.discipline, v.visit_date, f.angle_leaving_deg as angle, f.toe_leaving_mm as toe,
           case when f.foot in ('LF', 'RF') then 'front' else 'hind' end as "end",
           f.work in ('fit_new', 'reset') or (f.work = 'none' and f.arrival in ('on', 'sprung')) as shod
    from accepted.feet f join accepted.visits v using (visit_id) join accepted.horses h using (horse_id)
    where v.visit_date <= getvariable('as_of')::date and f.angle_leaving_deg is not null
)"""


def line_sums(by: str, angle: str) -> str:
    """SQL of the sums of one foot's line over years; `days` counts from its first reading.

    Rounded, so that sums of readings with a few decimals have the same last digit in whatever order they are added.
    """
    return f"""count(*) as {by}n, sum(days) / {DAYS_A_YEAR}::double as {by}t,
       sum(days * days) / {DAYS_A_YEAR**2}::double as {by}tt, round(sum({angle}), 8) as {by}y,
       round(sum(days * {angle}), 8) / {DAYS_A_YEAR}::double as {by}ty, round(sum({angle} * {angle}), 8) as {by}yy"""


def _timed(foot: str, where: str = "true") -> str:
    """The readings with the days since the first of each foot, or of each foot shod and each foot bare."""
    days = f"visit_date - min(visit_date) over (partition by {foot})"
    return f"(select *, {days} as days from {_LEFT} where {where})"


# The sums of a foot are all that the likelihood needs of it.
COUNTS = {
    "feet": f"""
select horse_id, foot, discipline, "end", {line_sums("", "angle")} from {_timed("horse_id, foot")} group by all
""",
    "shod": f"""
select horse_id, foot, {yes_or_no("shod")} as shod, {line_sums("", "angle")}
from {_timed("horse_id, foot, shod")} group by all
""",
    "toes": f"""
select horse_id, foot, {yes_or_no("shod")} as shod, discipline, "end", {line_sums("", "angle")},
       {line_sums("toe_", "toe")}
from {_timed("horse_id, foot, shod", "toe is not null")} group by all
""",
}


def angle_trend(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """Yearly change of the leaving angle → `angle_trend`; feet that go lower and longer → `toe_directions`.

    The angle a foot leaves with, on years since its first such reading, with a random start and slope by foot (REML).
    low, high are normal limits that take feet as independent; low_by_horse, high_by_horse take horses. Leaving is
    compared with leaving only. Source: `pipelines.stats.random_slopes`.
    """
    feet = counts["feet"].with_columns(all=pl.lit("all"))
    rows = [
        _row(dimension, level, part.sort("horse_id", "foot"))
        for dimension in DIMENSIONS
        for (level,), part in (counts["shod"] if dimension == "shod" else feet).group_by(dimension)
    ]
    trend = pl.DataFrame(rows, schema=AngleTrend.dtypes())
    return {
        "angle_trend": AngleTrend.check(in_order(trend, DIMENSIONS)),
        "toe_directions": ToeDirections.check(_toe_directions(counts["toes"])),
    }


def foot_trends(feet: pl.DataFrame, prefix: str = "") -> pl.DataFrame:
    """Each foot's own yearly change, drawn to that of its peers, with its limits: horse_id, foot, slope, low, high.

    feet: the counts `shod` or `toes`; prefix: `toe_` for the toe of the latter. Peers are shod feet or bare ones; a
    foot that was both has a line of each, and the mean of their slopes by how much each line tells (Σt² about its
    middle); its two errors go together as where it differs alike from shod feet and from bare ones. Feet with fewer
    than 3 readings have none, nor have those whose peers no line can be fitted to.
    """
    parts = feet.sort("shod", "horse_id", "foot").partition_by("shod", maintain_order=True)
    lines = [line for line in (_own_lines(part, prefix) for part in parts) if line is not None]
    if not lines:
        return feet.select("horse_id", "foot").clear().with_columns(slope=0.0, low=0.0, high=0.0)
    part = pl.col("told") / pl.col("told").sum()
    together = (part * pl.col("unread")).sum() ** 2 - ((part * pl.col("unread")) ** 2).sum()
    own = (
        pl.concat(lines)
        .filter(pl.col("told") > 0)
        .group_by("horse_id", "foot", maintain_order=True)
        .agg(
            pl.col("n").sum(),
            slope=(part * pl.col("slope")).sum(),
            error=(((part * pl.col("error")) ** 2).sum() + together).sqrt(),
        )
    )
    half = Z95 * pl.col("error")
    limits = own.filter(pl.col("n") >= ENOUGH_VISITS).with_columns(
        low=pl.col("slope") - half, high=pl.col("slope") + half
    )
    return limits.select("horse_id", "foot", "slope", "low", "high").sort("horse_id", "foot")


def _own_lines(feet: pl.DataFrame, prefix: str) -> pl.DataFrame | None:
    """The lines of feet that are peers, each drawn to that of all; None where no line can be fitted to them."""
    fit = _fit(feet, prefix)
    if isinstance(fit, str):
        return None
    units = _units(feet, prefix)
    slope, error = unit_slopes(units, fit)
    told = np.maximum(units.tt - units.t**2 / units.n, 0.0)
    return feet.select("horse_id", "foot", n=prefix + "n").with_columns(
        slope=slope, error=error, told=told, unread=unread_slopes(units, fit)
    )


def _units(feet: pl.DataFrame, prefix: str = "") -> LineSums:
    return LineSums(*(feet[prefix + name].to_numpy() for name in LineSums._fields))


def _fit(feet: pl.DataFrame, prefix: str = "") -> Lines | str:
    """The fitted lines, or why there are none."""
    if feet.height < ENOUGH_FEET:
        return f"fewer than {ENOUGH_FEET} feet with an angle on leaving"
    if feet.filter(pl.col("n") >= ENOUGH_VISITS).height < ENOUGH_FOLLOWED:
        return f"fewer than {ENOUGH_FOLLOWED} feet with {ENOUGH_VISITS} readings or more"
    return random_slopes(_units(feet, prefix)) or "no spread about the feet's own lines to judge by"


def _row(dimension: str, level: str, feet: pl.DataFrame) -> dict:
    row = {
        "dimension": dimension,
        "level": level,
        "horses": feet["horse_id"].n_unique(),
        "feet": feet.height,
        "visits": int(feet["n"].sum()),
    }
    fit = _fit(feet)
    if isinstance(fit, str):
        return row | {"note": fit}
    by_horse = _error_by_horse(feet, fit)
    sd_start, sd_slope = np.sqrt(np.diag(fit.spread))
    return row | {
        "deg_per_year": fit.slope,
        "low": fit.slope - Z95 * fit.slope_error,
        "high": fit.slope + Z95 * fit.slope_error,
        "low_by_horse": None if by_horse is None else fit.slope - Z95 * by_horse,
        "high_by_horse": None if by_horse is None else fit.slope + Z95 * by_horse,
        "sd_start": sd_start,
        "sd_slope": sd_slope,
        "residual_sd_deg": fit.sd_residual,
        "note": "; ".join(_weak(fit, by_horse)) or None,
    }


def _weak(fit: Lines, by_horse: float | None) -> list[str]:
    return [EDGE] * fit.at_edge + [FEW_HORSES] * (by_horse is None)


def horse_numbers(feet: pl.DataFrame) -> np.ndarray:
    """The horse of each foot as a whole number from 0."""
    return feet["horse_id"].rank("dense").to_numpy().astype(np.int64) - 1


def _error_by_horse(feet: pl.DataFrame, fit: Lines) -> float | None:
    """None below 5 horses: a sandwich of so few is much too narrow."""
    horses = horse_numbers(feet)
    return clustered_slope_error(_units(feet), fit, horses) if horses.max() + 1 >= ENOUGH_HORSES else None


def _toe_directions(toes: pl.DataFrame) -> pl.DataFrame:
    """Of the feet with 3 readings of both, those whose angle goes down while the toe grows, by level."""
    angle, toe = foot_trends(toes), foot_trends(toes, "toe_")
    both = angle.join(toe, on=["horse_id", "foot"], suffix="_toe", validate="1:1")
    whose = toes.select("horse_id", "foot", "discipline", "end").unique()
    feet = both.join(whose, on=["horse_id", "foot"], validate="1:1").with_columns(
        all=pl.lit("all"),
        lower_longer=(pl.col("slope") < 0) & (pl.col("slope_toe") > 0),
        lower_longer_sure=(pl.col("high") < 0) & (pl.col("low_toe") > 0),
    )
    dimensions = ("all", "discipline", "end")
    levels = [
        feet.group_by(pl.col(name).alias("level"))
        .agg(pl.len().alias("feet"), pl.col("lower_longer", "lower_longer_sure").sum())
        .with_columns(dimension=pl.lit(name))
        for name in dimensions
    ]
    share = pl.col("lower_longer") / pl.col("feet")
    table = pl.concat(levels).with_columns(lower_longer_share=share, note=pl.lit(None))
    return in_order(table, dimensions)
