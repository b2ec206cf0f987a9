"""Is a bad run under way? Running sum of evidence for a doubling, and what one month may hold by chance."""

from functools import lru_cache
from typing import NamedTuple

import numpy as np
from scipy.special import gammaln, pdtr

DOUBLING = 2.0
STATES = 200


class Watch(NamedTuple):
    """One value a period: the sum of evidence, and whether it reached the threshold (it starts from 0 after that)."""

    cusum: np.ndarray
    signal: np.ndarray


def cusum(found: np.ndarray, expected: np.ndarray, threshold: float, ratio: float = DOUBLING) -> Watch:
    """Risk-adjusted Poisson CUSUM: C = max(0, C + found·log ratio − (ratio − 1)·expected), from 0.

    found, expected: events and their expected number of each period, in order. Each step is the log-likelihood ratio
    of `ratio` times the expected rate against the expected one.
    Source: Steiner, Cook, Farewell & Treasure 2000, Biostatistics 1:441; Lucas 1985, Technometrics 27:129 (counts).
    """
    steps = np.asarray(found, dtype=float) * np.log(ratio) - (ratio - 1) * np.asarray(expected, dtype=float)
    sums, signal, level = np.zeros(len(steps)), np.zeros(len(steps), dtype=bool), 0.0
    for place, step in enumerate(steps):
        level = max(0.0, level + step)
        sums[place], signal[place] = level, level >= threshold
        level = 0.0 if signal[place] else level
    return Watch(sums, signal)


def run_length(threshold: float, expected: float, true_ratio: float = 1.0, ratio: float = DOUBLING) -> float:
    """Mean number of periods until a signal when each brings Poisson(expected·true_ratio) events.

    Markov chain over STATES equal steps of the sum between 0 and the threshold (the sum rounded to the nearest).
    Source: Brook & Evans 1972, Biometrika 59:539.
    """
    width = threshold / (STATES - 0.5)
    at = np.arange(STATES) * width
    most = int(far_above(expected * true_ratio))
    counts = np.arange(most + 1)
    chance = np.exp(counts * np.log(expected * true_ratio) - expected * true_ratio - gammaln(counts + 1))
    reached = at[:, None] + counts * np.log(ratio) - (ratio - 1) * expected
    place = np.maximum(np.rint(reached / width), 0).astype(int)
    moves = np.zeros((STATES, STATES))
    rows = np.broadcast_to(np.arange(STATES)[:, None], place.shape)
    below = place < STATES
    np.add.at(moves, (rows[below], place[below]), np.broadcast_to(chance, place.shape)[below])
    return float(np.linalg.solve(np.eye(STATES) - moves, np.ones(STATES))[0])


def far_above(mean: float) -> float:
    """A count that Poisson(mean) all but never exceeds (chance below 1e-15)."""
    return mean + 10 * np.sqrt(mean) + 20


@lru_cache(maxsize=64)
def threshold_for(run: float, expected: float, ratio: float = DOUBLING) -> float:
    """The smallest threshold (to 0.001) whose mean run without cause is at least `run` periods."""
    low, high = 0.01, 1.0
    while run_length(high, expected, ratio=ratio) < run and high < 64:
        low, high = high, 2 * high
    while high - low > 0.001:
        middle = (low + high) / 2
        low, high = (low, middle) if run_length(middle, expected, ratio=ratio) >= run else (middle, high)
    return high


def control_limits(expected: np.ndarray, tail: float = 0.025) -> tuple[np.ndarray, np.ndarray]:
    """Fewest and most events a period may hold before chance alone brings so few, or so many, in under `tail`.

    The exact points of Poisson(expected): the smallest count with P(Y ≤ low) ≥ tail and with P(Y ≤ high) ≥ 1 − tail.
    """
    expected = np.asarray(expected, dtype=float)
    return _point(expected, tail), _point(expected, 1 - tail)


def _point(mean: np.ndarray, share: float) -> np.ndarray:
    """Smallest count k with P(Poisson(mean) ≤ k) ≥ share."""
    most = int(far_above(mean.max(initial=0.0)))
    up_to = pdtr(np.arange(most + 1), np.maximum(mean, 1e-300)[:, None])
    return (up_to < share).sum(axis=1).astype(float)
