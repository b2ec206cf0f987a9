"""How does the angle of a foot change while it grows from one visit to the next?"""

import numpy as np
import polars as pl

from pipelines.analyses import angle_peers, angle_trend
from pipelines.analyses.angle_peers import Peers, fitted, units
from pipelines.analyses.splits import in_order
from pipelines.stats.poisson import Z95
from pipelines.stats.slopes import Slopes, left_out_limits
from schemas.results import AngleDrift, HorseAngleDrift

DIMENSIONS = ("all", "discipline", "end", "shod", "discipline_shod")
ENOUGH_STEPS = 3
FEW_STEPS = f"fewer than {ENOUGH_STEPS} steps with an angle at both visits"
FIGURES = ("deg_per_week", "low", "high", "peers_deg_per_week")

COUNTS = {"sums": angle_peers.GROWTH, "leaving": angle_trend.COUNTS["shod"]}


def angle_drift(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """Growth drift in degrees a week, over all feet → `angle_drift`, and of each foot → `horse_angle_drift`.

    Angle on arrival minus the angle the foot left with at the visit before, on weeks since, through zero, with a
    random slope by foot (REML). `discipline_shod` is of shod feet alone: how many go bare differs from work to work. A
    foot's own slope is drawn to that of its peers, shod or bare, by how few its steps are; a foot that was both has
    the mean of the two, by its steps. Limits are normal; low, high take feet as independent, low_by_horse,
    high_by_horse leave each horse out in turn. A foot's yearly trend of the angle it leaves with, drawn likewise,
    stands beside it. Sources: `pipelines.stats.slopes`, `random_slopes`.
    """
    sums = counts["sums"].sort("horse_id", "foot", "shod").with_columns(all=pl.lit("all"))
    shod_only = pl.when(pl.col("shod") == "yes").then(pl.col("discipline"))
    levels = sums.with_columns(discipline_shod=shod_only)
    rows = [
        _row(dimension, level, _by_foot(part))
        for dimension in DIMENSIONS
        for (level,), part in levels.drop_nulls(dimension).group_by(dimension, maintain_order=True)
    ]
    drift = pl.DataFrame(rows, schema=AngleDrift.dtypes())
    own = _with_trend(_each_foot(sums), counts["leaving"])
    return {
        "angle_drift": AngleDrift.check(in_order(drift, DIMENSIONS)),
        "horse_angle_drift": HorseAngleDrift.check(own),
    }


def _by_foot(sums: pl.DataFrame) -> pl.DataFrame:
    return sums.group_by("horse_id", "foot", maintain_order=True).agg(pl.col(angle_peers.SUMS).sum())


def _row(dimension: str, level: str, feet: pl.DataFrame) -> dict:
    row = {
        "dimension": dimension,
        "level": level,
        "horses": feet["horse_id"].n_unique(),
        "feet": feet.height,
        "steps": int(feet["steps"].sum()),
    }
    fit = fitted(feet)
    if isinstance(fit, str):
        return row | {"note": fit}
    low_by_horse, high_by_horse = _limits_by_horse(feet, fit)
    return row | {
        "deg_per_week": fit.slope,
        "low": fit.slope - Z95 * fit.error,
        "high": fit.slope + Z95 * fit.error,
        "low_by_horse": low_by_horse,
        "high_by_horse": high_by_horse,
        "sd_between_feet": fit.sd_units,
        "residual_sd_deg": fit.sd_residual,
        "note": angle_trend.FEW_HORSES if low_by_horse is None else None,
    }


def _limits_by_horse(feet: pl.DataFrame, fit: Slopes) -> tuple[float | None, float | None]:
    """None below 5 horses: how much horses differ is a guess then."""
    horses = angle_trend.horse_numbers(feet)
    if horses.max() + 1 < angle_trend.ENOUGH_HORSES:
        return None, None
    low, high = left_out_limits(units(feet), fit, horses)
    return (None, None) if np.isnan(low) else (low, high)


def _each_foot(sums: pl.DataFrame) -> pl.DataFrame:
    """Each foot's own slope among its peers, and theirs; blank with a note where too little is known."""
    known = angle_peers.peers(sums)
    grew = pl.col("shod").replace_strict({"yes": "shod", "no": "bare"})
    every = sums.group_by("horse_id", "foot", maintain_order=True).agg(
        pl.col("steps").sum(),
        shod_or_bare=pl.when(pl.len() > 1).then(pl.lit("both")).otherwise(grew.first()),
        reason=pl.col("shod")
        .replace_strict(_reasons(known), default=None, return_dtype=pl.String)
        .drop_nulls()
        .first(),
    )
    half, few = Z95 * pl.col("error"), pl.col("told") < ENOUGH_STEPS
    table = every.join(
        _among_peers(known), on=["horse_id", "foot"], how="left", validate="1:1", maintain_order="left"
    ).with_columns(low=pl.col("deg_per_week") - half, high=pl.col("deg_per_week") + half)
    return table.with_columns(
        *(pl.when(~few).then(pl.col(name)).alias(name) for name in FIGURES),
        note=pl.when(pl.col("told").is_null()).then("reason").when(few).then(pl.lit(FEW_STEPS)),
    )


def _among_peers(known: dict[str, Peers | str]) -> pl.DataFrame:
    """A foot's own slope, its error and that of its peers: of one that was shod and bare the mean, by its steps.

    Its two errors are taken to go together as they do where a foot that differs from shod feet differs as much from
    bare ones: were the two ways apart, the limits are a little wide.
    """
    groups = [group.own for group in known.values() if isinstance(group, Peers)]
    part = pl.col("steps") / pl.col("steps").sum()
    together = (part * pl.col("unread")).sum() ** 2 - ((part * pl.col("unread")) ** 2).sum()
    return (
        pl.concat(groups or [angle_peers.NO_FEET])
        .group_by("horse_id", "foot", maintain_order=True)
        .agg(
            told=pl.col("steps").sum(),
            deg_per_week=(part * pl.col("slope")).sum(),
            error=(((part * pl.col("error")) ** 2).sum() + together).sqrt(),
            peers_deg_per_week=(part * pl.col("peers")).sum(),
        )
    )


def _reasons(known: dict[str, Peers | str]) -> dict[str, str]:
    """Why shod feet or bare ones have no figure, where they have none."""
    return {level: group for level, group in known.items() if isinstance(group, str)}


def _with_trend(drifts: pl.DataFrame, leaving: pl.DataFrame) -> pl.DataFrame:
    """Beside each foot's drift its trend of the leaving angle; blank where it left too seldom."""
    names = {"slope": "leaving_trend_deg_per_year", "low": "leaving_trend_low", "high": "leaving_trend_high"}
    trends = angle_trend.foot_trends(leaving).rename(names)
    table = drifts.join(trends, on=["horse_id", "foot"], how="left", validate="1:1", maintain_order="left")
    return table.select(*HorseAngleDrift.columns())
