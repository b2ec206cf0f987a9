"""The day-by-day product-limit estimate of the share still kept."""

from typing import NamedTuple

import numpy as np

from pipelines.stats.poisson import Z95


class Curve(NamedTuple):
    """One value a day, from day 0 on. low and high are NaN while kept is 1 and once it is 0."""

    at_risk: np.ndarray
    kept: np.ndarray
    low: np.ndarray
    high: np.ndarray


def product_limit(lost: np.ndarray, left: np.ndarray) -> Curve:
    """Share kept at the end of each day, with 95 % log-log limits from Greenwood's variance.

    lost, left: events and other departures of each day, day 0 first and no day left out; those who leave on a day are
    at risk for the losses of that day. The last day must have at least one of either.
    Source: Kaplan & Meier 1958, JASA 53:457; Kalbfleisch & Prentice 1980, log-log limits.
    """
    lost = np.asarray(lost, dtype=float)
    at_risk = np.cumsum((lost + np.asarray(left, dtype=float))[::-1])[::-1]
    kept = np.cumprod(1 - lost / at_risk)
    with np.errstate(divide="ignore", invalid="ignore"):
        greenwood = np.cumsum(np.where(lost > 0, lost / (at_risk * (at_risk - lost)), 0.0))
        hazard = -np.log(kept)
        spread = np.exp(Z95 * np.sqrt(greenwood) / hazard)
        known = (kept > 0) & (kept < 1)
        low = np.where(known, kept**spread, np.nan)
        high = np.where(known, kept ** (1 / spread), np.nan)
    return Curve(at_risk, kept, low, high)
