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


def clustered_logrank(
    day: np.ndarray, lost: np.ndarray, left: np.ndarray, level: np.ndarray, cluster: np.ndarray
) -> LogRank:
    """The same comparison with clusters as the units: shoes of one horse go together.

    One value a row: its day from 0, how many were lost and how many left on it, its level and its cluster, both coded
    from 0. found and expected are those of `logrank`; chi2 takes its variance from how the clusters' own shares of
    found − expected scatter, uncentred, so that with few clusters it errs to the side of chance.
    Source: Lin & Wei 1989, JASA 84:1074, the robust score test, whose score for levels is that of the log-rank test.
    """
    day, level, cluster = (np.asarray(part, dtype=int) for part in (day, level, cluster))
    lost, left = np.asarray(lost, dtype=float), np.asarray(left, dtype=float)
    shape = (int(day.max(initial=-1)) + 1, int(level.max(initial=-1)) + 1)
    at_risk = np.cumsum(_added(shape, (day, level), lost + left)[::-1], axis=0)[::-1]
    all_at_risk, events = at_risk.sum(axis=1), np.bincount(day, lost, shape[0])
    share = np.divide(at_risk, all_at_risk[:, None], out=np.zeros_like(at_risk), where=all_at_risk[:, None] > 0)
    hazard = np.divide(events, all_at_risk, out=np.zeros(shape[0]), where=all_at_risk > 0)
    worn = lost + left
    own = lost - worn * np.cumsum(hazard)[day]
    others = lost[:, None] * share[day] - worn[:, None] * np.cumsum(share * hazard[:, None], axis=0)[day]
    parts = _added((int(cluster.max(initial=-1)) + 1, shape[1]), (cluster, level), own)
    np.subtract.at(parts, cluster, others)
    found, expected = np.bincount(level, lost, shape[1]), events @ share
    kept = np.flatnonzero(expected > 0)[1:]
    if kept.size == 0 or not parts[:, kept].any():
        return LogRank(found, expected, np.nan, kept.size, np.nan)
    gap, variance = parts[:, kept].sum(axis=0), parts[:, kept].T @ parts[:, kept]
    chi2 = float(gap @ np.linalg.lstsq(variance, gap, rcond=None)[0])
    return LogRank(found, expected, chi2, kept.size, float(chdtrc(kept.size, chi2)))


def _added(shape: tuple[int, int], at: tuple[np.ndarray, np.ndarray], values: np.ndarray) -> np.ndarray:
    table = np.zeros(shape)
    np.add.at(table, at, values)
    return table
