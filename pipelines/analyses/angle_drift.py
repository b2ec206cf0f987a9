"""How does the angle of a foot change while it grows from one visit to the next?"""

import polars as pl

from pipelines.analyses import angle_trend
from pipelines.analyses.splits import in_order, yes_or_no
from pipelines.stats.poisson import Z95
from pipelines.stats.slopes import Slopes, UnitSums, random_slope, unit_slopes
from schemas.results import AngleDrift, HorseAngleDrift

DIMENSIONS = ("all", "discipline", "end", "shod")
ENOUGH_FEET = 5
ENOUGH_REPEATED = 3
ENOUGH_STEPS = 3
SUMS = ("steps", "tt", "ty", "yy")

# The sums of a foot are all that the likelihood needs of it; weeks are the days over 7.
COUNTS = {
    "sums": f"""
select horse_id, foot, discipline, "end", {yes_or_no("shod")} as shod, count(*) as steps,
       sum(days * days)::double / 49 as tt, round(sum(days * angle_change_deg), 8) / 7 as ty,
       round(sum(angle_change_deg * angle_change_deg), 8) as yy
from derived.foot_steps where angle_change_deg is not null group by all
""",
    "leaving": angle_trend.COUNTS["feet"],
}


def angle_drift(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """Growth drift in degrees a week, over all feet → `angle_drift`, and of each foot → `horse_angle_drift`.

    Angle on arrival minus the angle the foot left with at the visit before, on weeks since, through zero, with a
    random slope by foot (REML). A foot's own slope is drawn to that of all feet by how few its steps are. Limits are
    normal. A foot's yearly trend of the angle it leaves with, drawn likewise, stands beside it. Sources:
    `pipelines.stats.slopes`, `random_slopes`.
    """
    sums = counts["sums"].sort("horse_id", "foot", "shod").with_columns(all=pl.lit("all"))
    rows = [
        _row(dimension, level, _by_foot(part))
        for dimension in DIMENSIONS
        for (level,), part in sums.group_by(dimension, maintain_order=True)
    ]
    drift = pl.DataFrame(rows, schema=AngleDrift.dtypes())
    feet = _by_foot(sums)
    own = _with_trend(_each_foot(feet, _fit(feet)), counts["leaving"])
    return {
        "angle_drift": AngleDrift.check(in_order(drift, DIMENSIONS)),
        "horse_angle_drift": HorseAngleDrift.check(own),
    }


def _by_foot(sums: pl.DataFrame) -> pl.DataFrame:
    return sums.group_by("horse_id", "foot", maintain_order=True).agg(pl.col(SUMS).sum())


def _units(feet: pl.DataFrame) -> UnitSums:
    return UnitSums(*(feet[name].to_numpy() for name in SUMS))


def _fit(feet: pl.DataFrame) -> Slopes | str:
    """The fitted slopes, or why there are none."""
    if feet.height < ENOUGH_FEET:
        return f"fewer than {ENOUGH_FEET} feet with an angle at both visits of a step"
    if feet.filter(pl.col("steps") >= 2).height < ENOUGH_REPEATED:
        return f"fewer than {ENOUGH_REPEATED} feet with two steps or more"
    return random_slope(_units(feet)) or "the angles lie exactly on straight lines: no spread to judge by"


def _row(dimension: str, level: str, feet: pl.DataFrame) -> dict:
    row = {"dimension": dimension, "level": level, "feet": feet.height, "steps": int(feet["steps"].sum())}
    fit = _fit(feet)
    if isinstance(fit, str):
        return row | {"note": fit}
    return row | {
        "deg_per_week": fit.slope,
        "low": fit.slope - Z95 * fit.error,
        "high": fit.slope + Z95 * fit.error,
        "sd_between_feet": fit.sd_units,
        "residual_sd_deg": fit.sd_residual,
    }


def _each_foot(feet: pl.DataFrame, fit: Slopes | str) -> pl.DataFrame:
    few = pl.col("steps") < ENOUGH_STEPS
    table = feet.select("horse_id", "foot", "steps")
    if isinstance(fit, str):
        blank = pl.lit(None)
        return table.with_columns(deg_per_week=blank, low=blank, high=blank, note=pl.lit(fit))
    own, error = unit_slopes(_units(feet), fit)
    figures = {"deg_per_week": own, "low": own - Z95 * error, "high": own + Z95 * error}
    return table.with_columns(
        **{name: pl.when(~few).then(pl.Series(values)) for name, values in figures.items()},
        note=pl.when(few).then(pl.lit(f"fewer than {ENOUGH_STEPS} steps with an angle at both visits")),
    )


def _with_trend(drifts: pl.DataFrame, leaving: pl.DataFrame) -> pl.DataFrame:
    """Beside each foot's drift its trend of the leaving angle; blank where it left too seldom."""
    names = {"slope": "leaving_trend_deg_per_year", "low": "leaving_trend_low", "high": "leaving_trend_high"}
    trends = angle_trend.foot_trends(leaving).rename(names)
    return drifts.join(trends, on=["horse_id", "foot"], how="left", validate="1:1", maintain_order="left")
