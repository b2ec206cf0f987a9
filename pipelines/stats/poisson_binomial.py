"""How many of several chances come true."""

import numpy as np


def poisson_binomial(chances: np.ndarray) -> np.ndarray:
    """Probabilities of 0, 1, … n successes among n independent trials with these chances.

    Source: Hong 2013, Comput Stat Data Anal 59:41; here by adding one trial at a time.
    """
    found = np.ones(1)
    for chance in np.asarray(chances, dtype=float):
        found = np.convolve(found, [1 - chance, chance])
    return found


def points(probabilities: np.ndarray, low: float = 0.025, high: float = 0.975) -> tuple[int, int]:
    """The smallest counts whose summed probability reaches low and high."""
    reached = np.cumsum(probabilities) + 1e-12
    return int(np.searchsorted(reached, low)), int(np.searchsorted(reached, high))
