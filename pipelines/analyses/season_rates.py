"""How sure are a season's loss rate, and its ratio to another's, with horses as the units?"""

import numpy as np
import polars as pl

from pipelines.analyses.splits import FEWEST_HORSES
from pipelines.stats.poisson import clustered_rate_limits, exact_limits, left_out_rate_limits
from pipelines.stats.rate_ratio import exact_ratio_limits, left_out_ratio_limits

FEW = f"shoes of fewer than {FEWEST_HORSES} horses: no range is told"
UNKNOWN = (None, None)

Limits = tuple[float | None, float | None]


def shod(horses: pl.DataFrame) -> pl.DataFrame:
    """The horses with a shoe on for any time of a season, in the order of their codes."""
    return horses.filter(pl.col("shoe_days") > 0).sort("horse_id")


def rate_limits(horses: pl.DataFrame) -> Limits:
    """95 % limits of losses a shoe-day; horses: one row each with losses and shoe_days. None below 5 horses.

    The wider of two: exact for losses that come alone, and with horses as the units, from leaving each out in turn or,
    where one horse has all losses, linearised. Source: `pipelines.stats.poisson`.
    """
    horses = shod(horses)
    if horses.height < FEWEST_HORSES:
        return UNKNOWN
    losses, days = horses["losses"].to_numpy(), horses["shoe_days"].to_numpy()
    sums = [[part.sum()] for part in (losses, days, losses * losses, losses * days, days * days)]
    exact = [limit / days.sum() for limit in exact_limits(losses.sum())]
    left_out = left_out_rate_limits(losses, days, np.zeros(horses.height, dtype=np.int64), 1)
    by_horse = [
        _first_known(*both) for both in zip(left_out, clustered_rate_limits([horses.height], *sums), strict=True)
    ]
    return _wider(exact, by_horse)


def _first_known(left_out: np.ndarray, clustered: np.ndarray) -> float:
    return float(clustered[0] if np.isnan(left_out[0]) else left_out[0])


def _wider(one: list[float], other: list[float]) -> Limits:
    """The wider of two ranges; the first where the other is not known."""
    low, high = other if other[1] - other[0] > one[1] - one[0] else one
    return float(low), float(high)


def ratio_limits(this: pl.DataFrame, before: pl.DataFrame) -> Limits:
    """95 % limits of one season's losses a shoe-day over another's; one row a horse in each.

    The wider of exact limits and those from leaving each horse out of both seasons in turn. None below 5 horses in
    either, or where one horse has all the losses of either: nothing tells then how far horses differ.
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
    return _wider(list(exact), list(left_out))
