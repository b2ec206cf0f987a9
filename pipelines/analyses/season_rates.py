"""How sure are a season's loss rate, and its ratio to another's, with horses as the units?"""

import numpy as np
import polars as pl

from pipelines.analyses.splits import FEWEST_HORSES
from pipelines.stats.poisson import by_cluster_limits
from pipelines.stats.rate_ratio import exact_ratio_limits, left_out_ratio_limits

UNKNOWN = (None, None)

Limits = tuple[float | None, float | None]


def shod(horses: pl.DataFrame) -> pl.DataFrame:
    """The horses with a shoe on for any time of a season, in the order of their codes."""
    return horses.filter(pl.col("shoe_days") > 0).sort("horse_id")


def rate_limits(horses: pl.DataFrame) -> Limits:
    """95 % limits of losses a shoe-day; horses: one row each with losses and shoe_days.

    None below 5 horses, or where one has most of the losses. Source: `pipelines.stats.poisson.by_cluster_limits`.
    """
    horses = shod(horses)
    if horses.height < FEWEST_HORSES:
        return UNKNOWN
    losses, days = horses["losses"].to_numpy(), horses["shoe_days"].to_numpy()
    low, high = (float(part[0]) for part in by_cluster_limits(losses, days, np.zeros(len(losses), dtype=np.int64), 1))
    return UNKNOWN if np.isnan(low) else (low, high)


def ratio_limits(this: pl.DataFrame, before: pl.DataFrame) -> Limits:
    """95 % limits of one season's losses a shoe-day over another's; one row a horse in each.

    The wider, end by end, of exact limits and those from leaving each horse out of both seasons in turn. None below 5
    horses in either, or where one horse has all the losses of either: nothing tells then how far horses differ.
    Source: `pipelines.stats.rate_ratio`.
    """
    this, before = shod(this), shod(before)
    if min(this.height, before.height) < FEWEST_HORSES:
        return UNKNOWN
    both = this.join(before, on="horse_id", how="full", coalesce=True, suffix="_before").fill_null(0).sort("horse_id")
    sides = [both[name].to_numpy() for name in ("losses", "shoe_days", "losses_before", "shoe_days_before")]
    left_out = left_out_ratio_limits(*sides)
    if np.isnan(left_out[0]):
        return UNKNOWN
    exact = exact_ratio_limits(*(float(side.sum()) for side in sides))
    return min(exact[0], left_out[0]), max(exact[1], left_out[1])
