"""Limits of the ratio of two rates."""

import numpy as np
from scipy.special import betaincinv

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
