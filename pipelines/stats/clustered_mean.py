"""Limits of a mean with horses as the sampling units."""

import numpy as np

from pipelines.stats.poisson import Z95


def clustered_mean_limits(
    clusters: np.ndarray,
    total: np.ndarray,
    units: np.ndarray,
    total_squared: np.ndarray,
    total_times_units: np.ndarray,
    units_squared: np.ndarray,
) -> tuple[np.ndarray, np.ndarray]:
    """95 % limits of total/units, whole clusters being the sampling units; NaN below 2 clusters.

    The last three are sums over clusters of x², x·k and k², x being a cluster's total and k its units.
    mean ± z·√V with V = n/(n − 1)·Σ(x − mean·k)²/(Σk)². Source: linearised ratio, Cochran 1977, Sampling
    Techniques, ch. 6.
    """
    clusters, total, units = (np.asarray(part, dtype=float) for part in (clusters, total, units))
    with np.errstate(divide="ignore", invalid="ignore"):
        mean = total / units
        spread = np.maximum(total_squared - 2 * mean * total_times_units + mean**2 * units_squared, 0.0)
        error = np.where(clusters >= 2, np.sqrt(clusters / (clusters - 1) * spread) / units, np.nan)
    return mean - Z95 * error, mean + Z95 * error
