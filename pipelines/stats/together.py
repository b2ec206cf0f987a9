"""How much more often two things are found together than chance would bring, with horses as the sampling units."""

import numpy as np
from scipy.special import stdtrit

from pipelines.stats.poisson import TAIL95


def times_chance(
    both: np.ndarray, lefts: np.ndarray, rights: np.ndarray, trials: np.ndarray, group: np.ndarray, groups: int
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """both·trials/(lefts·rights) of each group, and its 95 % limits from leaving each cluster out in turn.

    One value a cluster; group from 0. Observed and expected move together as a cluster is left out, so the limits hold
    what is not known of either. log ratio ± t·√V, with t of n − 1 degrees of freedom and V = (n − 1)/n·Σ(log ratio
    without the cluster − log ratio)². NaN with fewer than 2 clusters, or where all that was found is of one cluster.
    Source: jackknife about the full estimate, Efron & Tibshirani 1993, An Introduction to the Bootstrap, ch. 11.
    """
    parts = [np.asarray(part, dtype=float) for part in (both, lefts, rights, trials)]
    sums = [np.bincount(group, part, groups) for part in parts]
    count = np.bincount(group, minlength=groups).astype(float)
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = _ratio(*sums)
        without = _ratio(*(whole[group] - part for whole, part in zip(sums, parts, strict=True)))
        moves = np.log(without) - np.log(ratio)[group]
        spread = (count - 1) / count * np.bincount(group, moves**2, groups)
        error = stdtrit(np.maximum(count - 1, 1), 1 - TAIL95) * np.sqrt(spread)
    error = np.where(np.isfinite(error) & (count >= 2), error, np.nan)
    return ratio, ratio * np.exp(-error), ratio * np.exp(error)


def _ratio(both: np.ndarray, lefts: np.ndarray, rights: np.ndarray, trials: np.ndarray) -> np.ndarray:
    return both * trials / (lefts * rights)
