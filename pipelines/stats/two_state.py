"""A unit that is in one of two states each time it is looked at: 0 (clear) or 1 (bruised)."""

from typing import NamedTuple

import numpy as np

from pipelines.stats.poisson import Z95

MOST_STEPS, CLOSE_ENOUGH = 100, 1e-13


class Steps(NamedTuple):
    """Pairs of consecutive looks by state before and after: numbers, or arrays with one value a gap."""

    n00: np.ndarray
    n01: np.ndarray
    n10: np.ndarray
    n11: np.ndarray


class Chances(NamedTuple):
    """p01: of 1 next after 0, p10: of 0 next after 1, with Wilson limits; share of time in 1; log likelihood."""

    p01: float
    p01_low: float
    p01_high: float
    p10: float
    p10_low: float
    p10_high: float
    share_in_1: float
    log_likelihood: float


class Rates(NamedTuple):
    """q01, q10: moves per unit of time out of 0 and out of 1; errors of their logs; log likelihood."""

    q01: float
    q10: float
    log_error_01: float
    log_error_10: float
    log_likelihood: float


def wilson_limits(hits: np.ndarray, trials: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """95 % score limits of hits/trials without continuity correction; NaN without trials.

    Source: Wilson 1927, JASA 22:209.
    """
    hits, trials = np.asarray(hits, dtype=float), np.asarray(trials, dtype=float)
    with np.errstate(divide="ignore", invalid="ignore"):
        share, square = hits / trials, Z95**2 / trials
        middle = (share + square / 2) / (1 + square)
        half = Z95 / (1 + square) * np.sqrt(share * (1 - share) / trials + square / (4 * trials))
        low = np.where(hits == 0, 0 * share, middle - half)
        return low, np.where(hits == trials, 0 * share + 1, middle + half)


def transition_chances(steps: Steps) -> Chances:
    """Chances from one look to the next, pooled over units and looks, however long the gap.

    Pairs are taken as independent; a figure without pairs to go by is NaN.
    Source: Anderson & Goodman 1957, Ann Math Stat 28:89.
    """
    table = np.array([[np.sum(steps.n00), np.sum(steps.n01)], [np.sum(steps.n10), np.sum(steps.n11)]], dtype=float)
    looks = table.sum(axis=1)
    low, high = wilson_limits([table[0, 1], table[1, 0]], looks)
    with np.errstate(divide="ignore", invalid="ignore"):
        chances = table / looks[:, None]
        p01, p10 = chances[0, 1], chances[1, 0]
        share = p01 / (p01 + p10)
        terms = np.where(table > 0, table * np.log(chances), 0.0)
    return Chances(*map(float, (p01, low[0], high[0], p10, low[1], high[1], share, terms.sum())))


def transition_rates(gaps: np.ndarray, steps: Steps) -> Rates | None:
    """Maximum-likelihood rates of moving between the states when looks are unevenly far apart.

    gaps: time between two looks, above 0; steps: pairs with that gap. P(1 | 0, gap) = q01/s·(1 − exp(−s·gap)) with
    s = q01 + q10. None where there is no inner maximum: no moves one way, or looks so far apart that nothing of the
    earlier state is left to see.
    Source: Kalbfleisch & Lawless 1985, JASA 80:863; Fisher scoring on the logs of the rates.
    """
    gaps, steps = np.asarray(gaps, dtype=float), Steps(*(np.asarray(part, dtype=float) for part in steps))
    logs = _first_guess(gaps, steps)
    if logs is None:
        return None
    value, score, information = _likelihood(logs, gaps, steps)
    for _ in range(MOST_STEPS):
        move = np.linalg.solve(information, score)
        decrease = score @ move
        while (new := _likelihood(logs + move, gaps, steps))[0] < value and np.abs(move).max() > CLOSE_ENOUGH:
            move = move / 2
        logs, (value, score, information) = logs + move, new
        if decrease < CLOSE_ENOUGH:
            errors = np.sqrt(np.diag(np.linalg.inv(information)))
            return Rates(*map(float, (*np.exp(logs), *errors, value)))
    return None


def chance_after(rates: Rates, gap: float) -> tuple[float, float]:
    """Chances of 1 a given time after a look: from 0, and from 1."""
    total = rates.q01 + rates.q10
    gone = -np.expm1(-total * gap)
    return float(rates.q01 / total * gone), float(1 - rates.q10 / total * gone)


def _first_guess(gaps: np.ndarray, steps: Steps) -> np.ndarray | None:
    """Logs of the rates that the pooled chances at the mean gap would give."""
    chances = transition_chances(steps)
    left = 1 - chances.p01 - chances.p10
    if not (chances.p01 > 0 and chances.p10 > 0 and left > 0):
        return None
    pairs = sum(steps)
    total = -np.log(left) / (gaps @ pairs / pairs.sum())
    return np.log(total * np.array([chances.share_in_1, 1 - chances.share_in_1]))


def _likelihood(logs: np.ndarray, gaps: np.ndarray, steps: Steps) -> tuple[float, np.ndarray, np.ndarray]:
    """Log likelihood, its slope and its expected curvature by the logs of q01 and q10."""
    rates = np.exp(logs)
    total = rates.sum()
    left = np.exp(-total * gaps)
    value, score, information = 0.0, np.zeros(2), np.zeros((2, 2))
    for way, (stays, moves) in enumerate(((steps.n00, steps.n01), (steps.n11, steps.n10))):
        share = rates[way] / total
        chance = share * (1 - left)
        slopes = np.outer(rates, share * gaps * left - share / total * (1 - left))
        slopes[way] += chance
        value += (moves * np.log(chance) + stays * np.log1p(-chance)).sum()
        score += slopes @ (moves / chance - stays / (1 - chance))
        information += (slopes * ((moves + stays) / (chance * (1 - chance)))) @ slopes.T
    return float(value), score, information
