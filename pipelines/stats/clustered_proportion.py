"""Limits of a proportion, and of a ratio of two, with horses as the sampling units."""

import numpy as np

from pipelines.stats.poisson import Z95


def clustered_proportion_limits(
    clusters: np.ndarray,
    hits: np.ndarray,
    trials: np.ndarray,
    hits_squared: np.ndarray,
    hits_times_trials: np.ndarray,
    trials_squared: np.ndarray,
) -> tuple[np.ndarray, np.ndarray]:
    """95 % limits of hits/trials on the logit, whole clusters being the sampling units.

    clusters: those with at least one trial; the last three are sums over clusters of x², x·n and n². NaN where there
    are fewer than 2 clusters or the proportion is 0 or 1: no spread can be seen there.
    Source: linearised ratio, Cochran 1977, Sampling Techniques, ch. 6; on the logit scale.
    """
    clusters, hits, trials = (np.asarray(part, dtype=float) for part in (clusters, hits, trials))
    with np.errstate(divide="ignore", invalid="ignore"):
        share = hits / trials
        spread = np.maximum(hits_squared - 2 * share * hits_times_trials + share**2 * trials_squared, 0.0)
        error = np.sqrt(clusters / (clusters - 1) * spread) / trials / (share * (1 - share))
        logit = np.log(share / (1 - share))
        error = np.where((clusters >= 2) & (hits > 0) & (hits < trials), error, np.nan)
        return 1 / (1 + np.exp(Z95 * error - logit)), 1 / (1 + np.exp(-Z95 * error - logit))


def clustered_ratio_limits(
    clusters: np.ndarray, totals: np.ndarray, products: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """95 % limits of the ratio of two proportions seen in the same clusters, on the log.

    totals: shape (..., 4), sums over clusters of (hits, trials) of the upper proportion, then of the lower one;
    products: shape (..., 4, 4), sums over clusters of the products of those four. NaN where there are fewer than 2
    clusters or no hits in one of the two.
    log ratio ± z·√V with V = n/(n − 1)·Σ(x/X − n/N − y/Y + m/M)² over clusters: the linearised log ratio, whose
    mean over clusters is 0. Source: Cochran 1977, Sampling Techniques, ch. 6.
    """
    clusters = np.asarray(clusters, dtype=float)
    totals = np.asarray(totals, dtype=float)
    with np.errstate(divide="ignore", invalid="ignore"):
        weights = np.array([1.0, -1.0, -1.0, 1.0]) / totals
        ratio = totals[..., 0] / totals[..., 1] / (totals[..., 2] / totals[..., 3])
        spread = np.einsum("...i,...ij,...j->...", weights, np.asarray(products, dtype=float), weights)
        error = np.sqrt(clusters / (clusters - 1) * np.maximum(spread, 0.0))
    error = np.where((clusters >= 2) & (totals[..., 0] > 0) & (totals[..., 2] > 0), error, np.nan)
    with np.errstate(invalid="ignore"):
        return ratio * np.exp(-Z95 * error), ratio * np.exp(Z95 * error)
