"""Limits of a rate: exact for independent events, and with horses as the sampling units."""

import numpy as np
from scipy.special import gammainc, gammainccinv, gammaincinv, stdtrit

Z95 = 1.959963984540054
TAIL95 = 0.025
FEWEST_CLUSTERS, MOST_OF_ONE, FEWEST_EVENTS = 5, 0.8, 2


def exact_limits(events: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Exact two-sided 95 % limits of a Poisson mean, for each count of events.

    low = χ²(0.025; 2d)/2, 0 where d is 0; high = χ²(0.975; 2d + 2)/2, both as quantiles of the gamma distribution.
    Source: Garwood 1936, Biometrika 28:437.
    """
    events = np.asarray(events, dtype=float)
    low = np.where(events > 0, gammaincinv(np.maximum(events, 1), TAIL95), 0.0)
    return low, gammainccinv(events + 1, TAIL95)


def chance_of_as_many(events: np.ndarray, expected: np.ndarray) -> np.ndarray:
    """Chance that a Poisson count of mean `expected` reaches `events` or more; 1 for no events.

    P(X ≥ d) is the gamma distribution function of shape d at the mean.
    """
    events = np.asarray(events, dtype=float)
    return np.where(events > 0, gammainc(np.maximum(events, 1), np.asarray(expected, dtype=float)), 1.0)


def clustered_rate_limits(
    clusters: np.ndarray,
    events: np.ndarray,
    time: np.ndarray,
    events_squared: np.ndarray,
    events_times_time: np.ndarray,
    time_squared: np.ndarray,
) -> tuple[np.ndarray, np.ndarray]:
    """95 % limits of events/time, whole clusters being the sampling units; NaN below 2 events or 2 clusters.

    The last three are sums over clusters of d², d·T and T², so that Σ(d − rT)² needs no row a cluster.
    log rate ± z·√V with V = n/(n − 1)·Σ(d − rT)²/d², d being all events.
    Source: linearised ratio, Cochran 1977, Sampling Techniques, ch. 6; on the log scale.
    """
    clusters, events, time = (np.asarray(part, dtype=float) for part in (clusters, events, time))
    with np.errstate(divide="ignore", invalid="ignore"):
        rate = events / time
        spread = np.maximum(events_squared - 2 * rate * events_times_time + rate**2 * time_squared, 0.0)
        error = np.sqrt(clusters / (clusters - 1) * spread) / events
    error = np.where((events >= 2) & (clusters >= 2), error, np.nan)
    return rate * np.exp(-Z95 * error), rate * np.exp(Z95 * error)


def left_out_rate_limits(
    events: np.ndarray, time: np.ndarray, group: np.ndarray, groups: int
) -> tuple[np.ndarray, np.ndarray]:
    """95 % limits of each group's events/time from leaving each cluster out in turn.

    events, time, group: one value a cluster, group from 0. log rate ± t·√V, with t of n − 1 degrees of freedom and
    V = (n − 1)/n·Σ(log rate without the cluster − log rate)². NaN with fewer than 2 clusters, or where one cluster has
    all events. Where clusters are few the linearised limits are too narrow; over 20,000 made-up groups of 8 to 60
    horses that differ as a gamma of shape 0.32 to 2, these hold 93 to 98 %, the others 87 to 95 %.
    Source: jackknife about the full estimate, Efron & Tibshirani 1993, An Introduction to the Bootstrap, ch. 11.
    """
    count = np.bincount(group, minlength=groups).astype(float)
    variance = left_out_variance(events, time, group, groups)
    with np.errstate(divide="ignore", invalid="ignore"):
        rate = np.bincount(group, events, groups) / np.bincount(group, time, groups)
    error = stdtrit(np.maximum(count - 1, 1), 1 - TAIL95) * np.sqrt(variance)
    return rate * np.exp(-error), rate * np.exp(error)


def left_out_variance(events: np.ndarray, time: np.ndarray, group: np.ndarray, groups: int) -> np.ndarray:
    """Variance of each group's log rate from leaving each cluster out in turn, as in `left_out_rate_limits`."""
    count = np.bincount(group, minlength=groups).astype(float)
    all_events, all_time = (np.bincount(group, part, groups) for part in (events, time))
    with np.errstate(divide="ignore", invalid="ignore"):
        without = (all_events[group] - events) / (all_time[group] - time)
        moves = np.log(without) - np.log(all_events / all_time)[group]
        variance = (count - 1) / count * np.bincount(group, moves**2, groups)
    return np.where(np.isfinite(variance) & (count >= 2), variance, np.nan)


def by_cluster_limits(
    events: np.ndarray, time: np.ndarray, group: np.ndarray, groups: int
) -> tuple[np.ndarray, np.ndarray]:
    """95 % limits of each group's events/time with clusters as the units, never narrower than chance alone.

    Arguments as for `left_out_rate_limits`: the wider of its limits and the exact ones, end by end. Exact below 2
    events. NaN with fewer than 5 clusters, or where one of them has over 80 % of the events: how clusters differ is a
    guess then, and a range of it runs from nothing to thousands.
    """
    count = np.bincount(group, minlength=groups)
    all_events, all_time = (np.bincount(group, part, groups) for part in (events, time))
    most = np.zeros(groups)
    np.maximum.at(most, group, events)
    low, high = left_out_rate_limits(events, time, group, groups)
    few = all_events < FEWEST_EVENTS
    unknown = ~few & ((count < FEWEST_CLUSTERS) | (most > MOST_OF_ONE * all_events) | ~np.isfinite(high))
    with np.errstate(divide="ignore", invalid="ignore"):
        exact_low, exact_high = (limit / all_time for limit in exact_limits(all_events))
    wide = np.where(few, exact_low, np.minimum(low, exact_low)), np.where(few, exact_high, np.maximum(high, exact_high))
    return np.where(unknown, np.nan, wide[0]), np.where(unknown, np.nan, wide[1])
