"""Quantiles of values that come as counts."""

import numpy as np


def quantile_of_counts(values: np.ndarray, counts: np.ndarray, share: float) -> float:
    """The value below which `share` of all lie, interpolated linearly between neighbours.

    values: ascending; counts: how often each occurs, at least 1 in all. The same number as writing every value out
    and taking the type-7 quantile, yet counts of two halves of the data can simply be added.
    Source: Hyndman & Fan 1996, Am Stat 50:361, type 7.
    """
    last_rank = np.cumsum(counts) - 1
    place = share * last_rank[-1]
    below = values[np.searchsorted(last_rank, np.floor(place))]
    above = values[np.searchsorted(last_rank, np.ceil(place))]
    return float(below + (place - np.floor(place)) * (above - below))
