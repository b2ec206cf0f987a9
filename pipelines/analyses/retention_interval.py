"""How long do shoes stay on, where the day a shoe came off is known only to lie between two days?"""

import numpy as np
import polars as pl

from pipelines.analyses.splits import in_order, named, split
from pipelines.stats.turnbull import turnbull
from schemas.results import RetentionInterval

DIMENSIONS = named("discipline", "end")

NO_MASS = 1e-9

# A reported loss ends on the day it was found, any other at a midpoint: so the two are told apart. In whole days the
# exact day d is (d − 1, d]; ends are equal for a shoe lost on the very day it was nailed only.
COUNTS = {
    "intervals": split(
        DIMENSIONS,
        "case when end_reason <> 'lost' then days_on "
        "when ended_on = lost_by then greatest(lost_by - fitted_on - 1, 0) "
        "else lost_after - fitted_on end as after, "
        "case when end_reason = 'lost' then lost_by - fitted_on end as by, count(*) as shoes",
        "derived.shoe_spells",
    )
}


def retention_interval(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """Interval-censored curves, one row an innermost interval with some mass → `retention_interval`.

    A loss lies in (lost_after, lost_by]; one reported without the day it was last seen on is exact. kept is the share
    not lost by the end of the interval; where within it they were lost is not known. A last row without an end holds
    the shoes that no loss was ever seen for: kept is 0 there only because it has no end. Levels without a loss have
    no rows. Source: `pipelines.stats.turnbull`.
    """
    intervals = in_order(counts["intervals"], DIMENSIONS, "after", "by")
    levels = intervals.partition_by("dimension", "level", maintain_order=True)
    curves = [_curve(level) for level in levels if level["by"].is_not_null().any()]
    return {"retention_interval": RetentionInterval.check(pl.concat([RetentionInterval.empty(), *curves]))}


def _curve(rows: pl.DataFrame) -> pl.DataFrame:
    by = rows["by"].cast(pl.Float64).fill_null(np.inf)
    found = turnbull(rows["after"].to_numpy(), by.to_numpy(), rows["shoes"].to_numpy())
    curve = pl.DataFrame({"day_from": found.left, "day_to": found.right, "mass": found.mass}).with_columns(
        dimension=pl.lit(rows["dimension"][0]),
        level=pl.lit(rows["level"][0]),
        day_to=pl.when(pl.col("day_to").is_finite()).then("day_to"),
        kept=(1 - pl.col("mass").cum_sum()).clip(0, 1).round(12),
    )
    # A shoe lost on the day of nailing and one lost soon after both count from day 0: one row holds them.
    seen = curve.filter(pl.col("mass") > NO_MASS).unique("day_from", keep="last").sort("day_from")
    return seen.select(*RetentionInterval.columns()).cast(RetentionInterval.dtypes())
