"""Do groups of shoes come off at different paces over their life? The log-rank test, from counts."""

from typing import NamedTuple

import numpy as np
from scipy.special import chdtrc


class LogRank(NamedTuple):
    """Events found and expected by group, and the test; chi2 and p_value are NaN where nothing can be compared."""

    found: np.ndarray
    expected: np.ndarray
    chi2: float
    df: int
    p_value: float


def logrank(lost: np.ndarray, left: np.ndarray) -> LogRank:
    """Log-rank test of k groups, with k − 1 degrees of freedom.

    lost, left: arrays (days, groups), events and other departures of each day, days ascending; days on which nothing
    happened may be left out. Those who leave on a day are at risk for the events of that day. A group of which no
    event was ever due takes no part and no degree of freedom. Variance is hypergeometric, tie factor (n − d)/(n − 1),
    without continuity correction.
    Source: Mantel 1966, Cancer Chemother Rep 50:163; Kalbfleisch & Prentice 1980, ch. 1.4.
    """
    lost = np.asarray(lost, dtype=float)
    at_risk = np.cumsum((lost + left)[::-1], axis=0)[::-1]
    events, all_at_risk = lost.sum(axis=1), at_risk.sum(axis=1)
    share = np.divide(at_risk, all_at_risk[:, None], out=np.zeros_like(at_risk), where=all_at_risk[:, None] > 0)
    found, expected = lost.sum(axis=0), events @ share
    ties = events * (all_at_risk - events) / np.maximum(all_at_risk - 1, 1)
    variance = np.diag(ties @ share) - (share * ties[:, None]).T @ share
    taking_part = np.flatnonzero(expected > 0)
    df = max(taking_part.size - 1, 0)
    if df == 0 or not ties.any():
        return LogRank(found, expected, np.nan, df, np.nan)
    kept = taking_part[1:]
    gap = (found - expected)[kept]
    chi2 = float(gap @ np.linalg.lstsq(variance[np.ix_(kept, kept)], gap, rcond=None)[0])
    return LogRank(found, expected, chi2, df, float(chdtrc(df, chi2)))
