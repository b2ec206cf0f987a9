"""How much of a horse's ratio is the horse and how much is chance: gamma-Poisson shrinkage by maximum likelihood."""

from typing import NamedTuple

import numpy as np
from scipy.special import gammaincc, gammaincinv, gammaln, psi, zeta

TOLERANCE = 1e-12
FLAT = 1e6
"""A shape above this is no spread to speak of: the ratios' standard deviation is under a thousandth of their mean."""


class Spread(NamedTuple):
    """True ratios ~ Gamma(shape, rate), mean shape/rate. No spread beyond chance: shape and rate are inf.

    mean is the mean of the true ratios in either case. log_likelihood is that of the counts, constants included.
    """

    shape: float
    rate: float
    mean: float
    log_likelihood: float


class Shrunk(NamedTuple):
    """What is believed of each unit's true ratio: mean, 2.5 % and 97.5 % points, chance that it is above 2."""

    mean: np.ndarray
    low: np.ndarray
    high: np.ndarray
    above_double: np.ndarray


def gamma_poisson(found: np.ndarray, expected: np.ndarray) -> Spread | None:
    """Maximum-likelihood spread of the units' true ratios: found ~ Poisson(expected·θ), θ ~ Gamma(shape, rate).

    expected above 0, in any unit of exposure. None where nothing was found at all. Where the counts scatter no more
    than chance would make them (Σ(y − μ)² ≤ Σy at the common ratio), the top lies at shape → ∞: all ratios are one.
    Source: negative-binomial margin, Lawless 1987, Can J Stat 15:209; Clayton & Kaldor 1987, Biometrics 43:671.
    """
    found, expected = np.asarray(found, dtype=float), np.asarray(expected, dtype=float)
    if not found.sum():
        return None
    common = found.sum() / expected.sum()
    mean = expected * common
    if ((found - mean) ** 2).sum() <= found.sum():
        return _no_spread(found, mean, common)
    excess = max(((found - mean) ** 2 - found).sum() / (mean**2).sum(), 1e-3)
    shape, rate = _climb(found, expected, np.log([1 / excess, 1 / excess / common]))
    if shape > FLAT:
        return _no_spread(found, mean, common)
    return Spread(shape, rate, shape / rate, _value(found, expected, np.log([shape, rate])))


def shrunk(spread: Spread, found: np.ndarray, expected: np.ndarray) -> Shrunk:
    """Each unit's ratio given its own count and how units spread: Gamma(shape + found, rate + expected).

    Plug-in: no allowance for the spread itself being estimated. Without spread every unit has the common ratio, with
    limits of that width. Any two arrays of one shape.
    """
    found, expected = np.asarray(found, dtype=float), np.asarray(expected, dtype=float)
    if np.isinf(spread.shape):
        same = np.full(found.shape, spread.mean)
        return Shrunk(same, same, same, (same > 2).astype(float))
    shape, rate = spread.shape + found, spread.rate + expected
    return Shrunk(
        shape / rate, gammaincinv(shape, 0.025) / rate, gammaincinv(shape, 0.975) / rate, gammaincc(shape, 2 * rate)
    )


def _no_spread(found: np.ndarray, mean: np.ndarray, common: float) -> Spread:
    value = found @ np.log(mean) - mean.sum() - gammaln(found + 1).sum()
    return Spread(np.inf, np.inf, common, float(value))


def _value(found: np.ndarray, expected: np.ndarray, logs: np.ndarray) -> float:
    shape, rate = np.exp(logs)
    own = gammaln(shape + found) - gammaln(shape) - gammaln(found + 1)
    return float((own - shape * np.log1p(expected / rate) + found * np.log(expected / (rate + expected))).sum())


def _climb(found: np.ndarray, expected: np.ndarray, logs: np.ndarray) -> tuple[float, float]:
    """Newton's method on log shape and log rate, each step halved until the likelihood rises."""
    value = _value(found, expected, logs)
    for _ in range(200):
        gradient, bend = _slopes(found, expected, *np.exp(logs))
        width, axes = np.linalg.eigh(-bend)
        move = axes @ ((axes.T @ gradient) / np.maximum(np.abs(width), 1e-9))
        move /= max(1.0, np.abs(move).max() / 2)
        if abs(gradient @ move) <= TOLERANCE or logs[0] > np.log(FLAT):
            break
        for halvings in range(40):
            there = logs + 0.5**halvings * move
            new = _value(found, expected, there)
            if new >= value - 1e-12 * abs(value):
                break
        logs, value = there, new
    return float(np.exp(logs[0])), float(np.exp(logs[1]))


def _slopes(found: np.ndarray, expected: np.ndarray, shape: float, rate: float) -> tuple[np.ndarray, np.ndarray]:
    """Gradient and second derivatives in (log shape, log rate)."""
    both = rate + expected
    by_shape = (psi(shape + found) - psi(shape) - np.log1p(expected / rate)).sum()
    by_rate = (shape / rate - (shape + found) / both).sum()
    shape_twice = (zeta(2, shape + found) - zeta(2, shape)).sum()
    rate_twice = (-shape / rate**2 + (shape + found) / both**2).sum()
    mixed = (1 / rate - 1 / both).sum()
    gradient = np.array([shape * by_shape, rate * by_rate])
    bend = np.array([[shape**2 * shape_twice, shape * rate * mixed], [shape * rate * mixed, rate**2 * rate_twice]])
    return gradient, bend + np.diag(gradient)
