"""The share still kept when an event is only known to lie between two days: interval-censored maximum likelihood."""

from typing import NamedTuple

import numpy as np

TOLERANCE = 1e-10
ROUNDING = 1e-14
"""Near the top a step raises the mean log-likelihood by less than its own rounding; it is still a good step."""
IMPOSSIBLE = 1e-100
"""A row whose chance falls below this has none left: with a thousand rows to one the mean would hardly tell."""
EXACT, CLOSES, OPENS = 0, 1, 2
"""Order of ends that fall on one value: an exact day is open for its own day; (a, t] closes before (t, b] opens."""


class IntervalCurve(NamedTuple):
    """Masses of the innermost intervals (left, right], in order; left equal to right is that exact value.

    right is inf where an interval has no end. gap: by how much the best and the estimate may still differ in mean
    log-likelihood (0 at the maximum); converged: gap is within the tolerance.
    """

    left: np.ndarray
    right: np.ndarray
    mass: np.ndarray
    log_likelihood: float
    gap: float
    converged: bool


def turnbull(after: np.ndarray, by: np.ndarray, weight: np.ndarray, rounds: int = 200) -> IntervalCurve:
    """Maximum-likelihood masses of a time known to lie in (after, by]; equal ends are the exact time.

    after, by: same unit, by = inf where the event had not happened by `after`; weight: how often the pair occurs
    (above 0), so that any number of rows comes as one row a pair. The maximum is unique only as mass an interval:
    where inside the mass lies is not known. Each round solves the quadratic model of the likelihood under masses ≥ 0
    and halves the step until the likelihood rises; the end is read off the gradient (Karush-Kuhn-Tucker), since
    plain EM crawls and stops early.
    Source: Turnbull 1976, JRSS B 38:290; Wang 2007, Comput Stat Data Anal 51:5174 (constrained Newton).
    """
    after, by, weight = (np.asarray(part, dtype=float) for part in (after, by, weight))
    left, right = _innermost(after, by)
    first, last = _covered(after, by, left, right)
    share = weight / weight.sum()
    mass = np.full(left.size, 1 / max(left.size, 1))
    for _ in range(rounds):
        chance = _chance(mass, first, last)
        gradient = _spread(share / chance, first, last, left.size)
        gap = float(np.max(gradient - 1, initial=0.0))
        if gap <= TOLERANCE:
            break
        curvature = _overlaps(share / chance**2, first, last, left.size)
        aim = nonnegative_minimum(curvature, 2 * gradient - 1, mass > 0)
        mass = _uphill(mass, aim / aim.sum(), share, first, last)
    value = float(weight @ np.log(_chance(mass, first, last)))
    return IntervalCurve(left, right, mass, value, gap, gap <= TOLERANCE)


def nonnegative_minimum(h: np.ndarray, c: np.ndarray, free: np.ndarray) -> np.ndarray:
    """The x ≥ 0 that minimises ½x'Hx − c'x, starting from the set `free` of entries above 0.

    Source: Lawson & Hanson 1974, on the normal equations (Bro & de Jong 1997, J Chemometrics 11:393).
    """
    free, x = free.copy(), np.zeros(c.size)
    for _ in range(3 * c.size + 10):
        x = _settle(h, c, free, x)
        slope = np.where(free, -np.inf, c - h @ x)
        if slope.max(initial=-np.inf) <= 1e-12 * np.abs(c).max():
            break
        free[slope.argmax()] = True
    return x


def _settle(h: np.ndarray, c: np.ndarray, free: np.ndarray, x: np.ndarray) -> np.ndarray:
    """Solve on the free entries, setting free ones to 0 (in place) until none would fall below it."""
    while free.any():
        aim = np.zeros(c.size)
        aim[free] = np.linalg.lstsq(h[np.ix_(free, free)], c[free], rcond=1e-13)[0]
        under = free & (aim <= 0)
        if not under.any():
            return aim
        reach = np.min(x[under] / np.maximum(x[under] - aim[under], 1e-300))
        x = x + reach * (aim - x)
        free &= ~(under & (x <= 1e-14))
        x[~free] = 0
    return np.zeros(c.size)


def _innermost(after: np.ndarray, by: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Every opening end that is followed at once by a closing end."""
    at = np.concatenate([after, by])
    kind = np.concatenate([np.where(after == by, EXACT, OPENS), np.full(by.size, CLOSES)])
    order = np.lexsort((kind, at))
    at, closes = at[order], kind[order] == CLOSES
    start = np.flatnonzero(~closes[:-1] & closes[1:])
    return at[start], at[start + 1]


def _covered(after: np.ndarray, by: np.ndarray, left: np.ndarray, right: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """First and last innermost interval within each (after, by]; an exact left end lies within its own day only."""
    starts = left - 0.5 * (left == right) * _step(left, right)
    own = after - 0.5 * (after == by) * _step(left, right)
    return np.searchsorted(starts, own), np.searchsorted(right, by, side="right") - 1


def _step(left: np.ndarray, right: np.ndarray) -> float:
    ends = np.unique(np.concatenate([left, right[np.isfinite(right)]]))
    return float(np.diff(ends).min(initial=1.0))


def _chance(mass: np.ndarray, first: np.ndarray, last: np.ndarray) -> np.ndarray:
    below = np.concatenate([[0.0], np.cumsum(mass)])
    return np.maximum(below[last + 1] - below[first], 1e-300)


def _spread(value: np.ndarray, first: np.ndarray, last: np.ndarray, size: int) -> np.ndarray:
    """For each innermost interval, the sum of `value` over the rows that cover it."""
    ends = np.bincount(first, value, size + 1) - np.bincount(last + 1, value, size + 1)
    return np.cumsum(ends)[:size]


def _overlaps(value: np.ndarray, first: np.ndarray, last: np.ndarray, size: int) -> np.ndarray:
    """For each pair of innermost intervals, the sum of `value` over the rows that cover both."""
    corners = np.zeros((size + 1, size + 1))
    for rows, columns, sign in (
        (first, first, 1),
        (last + 1, last + 1, 1),
        (first, last + 1, -1),
        (last + 1, first, -1),
    ):
        np.add.at(corners, (rows, columns), sign * value)
    return corners.cumsum(0).cumsum(1)[:size, :size]


def _uphill(mass: np.ndarray, aim: np.ndarray, share: np.ndarray, first: np.ndarray, last: np.ndarray) -> np.ndarray:
    """The farthest of 1, ½, ¼ … of the way from mass to aim at which the likelihood is not lower (but for rounding)."""
    before = share @ np.log(_chance(mass, first, last))
    for halvings in range(60):
        there = mass + 0.5**halvings * (aim - mass)
        chance = _chance(there, first, last)
        if chance.min() > IMPOSSIBLE and share @ np.log(chance) >= before - ROUNDING:
            return there
    return mass
