"""The figure of a group of horses, with its 95 % limits."""

from collections.abc import Callable

import numpy as np

from pipelines.stats.poisson import exact_limits
from pipelines.stats.two_state import wilson_limits


def _rate(events: int, _shoes: int, days: float) -> tuple[float, float, float]:
    """Losses per 1,000 shoe-days with exact limits: Garwood 1936, Biometrika 28:437."""
    low, high = exact_limits(np.array([events]))
    return tuple(1000 * value / days for value in (float(events), float(low[0]), float(high[0])))


def _share_bruised(events: int, looks: int, _days: float) -> tuple[float, float, float]:
    """Share of looks with score limits: Wilson 1927, J Am Stat Assoc 22:209."""
    low, high = wilson_limits(np.array([events]), np.array([looks]))
    return events / looks, float(low[0]), float(high[0])


FIGURES: dict[str, Callable[[int, int, float], tuple[float, float, float]]] = {
    "lost_shoes": _rate,
    "bruised_looks": _share_bruised,
}
# Rounded, so that a day moved within a shoe's time on isn't told by two summaries whose counts are the same.
DECIMALS = {"lost_shoes": 2, "bruised_looks": 3}
