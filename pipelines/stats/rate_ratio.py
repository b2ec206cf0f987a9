"""Limits of the ratio of two rates."""

import numpy as np
from scipy.special import betaincinv, stdtrit

TAIL95 = 0.025


def exact_ratio_limits(events: float, time: float, other_events: float, other_time: float) -> tuple[float, float]:
    """Exact 95 % limits of events/time over other_events/other_time, given how many there are in all.

    Given their sum, events are binomial with share ratio·time/(ratio·time + other_time): Clopper-Pearson limits of
    that share, turned back. 0 below where there are no events, inf above where there are no others; NaN without any.
    Source: Przyborowski & Wilenski 1940, Biometrika 31:313; Clopper & Pearson 1934, Biometrika 26:404.
    """
    if events + other_events == 0:
        return float("nan"), float("nan")
    low = betaincinv(events, other_events + 1, TAIL95) if events else 0.0
    high = betaincinv(events + 1, other_events, 1 - TAIL95) if other_events else 1.0
    scale = other_time / time
    with np.errstate(divide="ignore"):
        return float(low / (1 - low) * scale), float(np.divide(high, 1 - high) * scale)


def left_out_ratio_limits(
    events: np.ndarray, time: np.ndarray, other_events: np.ndarray, other_time: np.ndarray
) -> tuple[float, float]:
    """95 % limits of Σevents/Σtime over Σother_events/Σother_time from leaving each cluster out of both in turn.

    One value a cluster. log ratio ± t·√V, with t of n − 1 degrees of freedom and V = (n − 1)/n·Σ(log ratio without the
    cluster − log ratio)². NaN with fewer than 2 clusters, or where one cluster has all events of either.
    Source: jackknife about the full estimate, Efron & Tibshirani 1993, An Introduction to the Bootstrap, ch. 11.
    """
    sides = [np.asarray(side, dtype=float) for side in (events, time, other_events, other_time)]
    signs, clusters = (1, -1, -1, 1), len(sides[0])
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = sum(sign * np.log(side.sum()) for sign, side in zip(signs, sides, strict=True))
        without = sum(sign * np.log(side.sum() - side) for sign, side in zip(signs, sides, strict=True))
        spread = (clusters - 1) / clusters * np.sum((without - ratio) ** 2)
    if clusters < 2 or not np.isfinite(spread):
        return float("nan"), float("nan")
    error = stdtrit(clusters - 1, 1 - TAIL95) * np.sqrt(spread)
    return float(np.exp(ratio - error)), float(np.exp(ratio + error))
