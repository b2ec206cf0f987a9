"""Does the angle that feet leave with go up or down over the years, and does the toe go the other way?"""

import numpy as np
import polars as pl

from pipelines.analyses.splits import in_order, yes_or_no
from pipelines.stats.poisson import Z95
from pipelines.stats.random_slopes import Lines, LineSums, clustered_slope_error, random_slopes, unit_slopes
from schemas.results import AngleTrend, ToeDirections

DIMENSIONS = ("all", "discipline", "end", "shod")
ENOUGH_FEET = 5
ENOUGH_VISITS = 3
ENOUGH_FOLLOWED = 3
ENOUGH_HORSES = 5
DAYS_A_YEAR = 365.25
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
select horse_id, foot, discipline, "end", {line_sums("", "angle")}, {line_sums("toe_", "toe")}
from {_timed("horse_id, foot", "toe is not null")} group by all
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
    """Each foot's own yearly change, drawn to that of all feet, with its limits: horse_id, foot, slope, low, high.

    feet: the counts `feet` or `toes`; prefix: `toe_` for the toe of the latter. Feet with fewer than 3 readings have
    none, nor has any where no line can be fitted to all together.
    """
    feet = feet.sort("horse_id", "foot")
    fit = _fit(feet, prefix)
    if isinstance(fit, str):
        return feet.select("horse_id", "foot").clear().with_columns(slope=0.0, low=0.0, high=0.0)
    slope, error = unit_slopes(_units(feet, prefix), fit)
    own = feet.with_columns(slope=slope, low=slope - Z95 * error, high=slope + Z95 * error)
    return own.filter(pl.col("n") >= ENOUGH_VISITS).select("horse_id", "foot", "slope", "low", "high")


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
    row = {"dimension": dimension, "level": level, "feet": feet.height, "visits": int(feet["n"].sum())}
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
        "note": EDGE if fit.at_edge else None,
    }


def _error_by_horse(feet: pl.DataFrame, fit: Lines) -> float | None:
    """None below 5 horses: a sandwich of so few is much too narrow."""
    horses = feet["horse_id"].rank("dense").to_numpy().astype(np.int64) - 1
    return clustered_slope_error(_units(feet), fit, horses) if horses.max() + 1 >= ENOUGH_HORSES else None


def _toe_directions(toes: pl.DataFrame) -> pl.DataFrame:
    """Of the feet with 3 readings of both, those whose angle goes down while the toe grows, by level."""
    angle, toe = foot_trends(toes), foot_trends(toes, "toe_")
    both = angle.join(toe, on=["horse_id", "foot"], suffix="_toe", validate="1:1")
    feet = both.join(toes, on=["horse_id", "foot"], validate="1:1").with_columns(
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
