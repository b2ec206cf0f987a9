"""Estimates from few horses, set to fall above the truth as often as below.

A rate of ten unlike horses is right on average, yet mostly a little low: most tens have fewer of the horses that lose
most than their share, and now and then one has several. So the middle of many practices lies below the truth, on the
log scale by κ₃/(6κ₂) − bias: with that added, half of them lie above.
Clusters' own rates are taken for a gamma of mean 1, counts given them for Poisson; `spread` is the squared coefficient
of variation of the gamma, one over its shape.
Source: the median of an estimate to second order, Kenne Pagui, Salvan & Sartori 2017, Biometrika 104:923; cumulants
of the Poisson given a gamma by the law of total cumulance, Brillinger 1969, Ann Inst Stat Math 21:215 (this one from
memory).
"""

import numpy as np

from pipelines.stats.piecewise_poisson import CHUNK, Design, Fit, Rows
from pipelines.stats.poisson import left_out_variance

MOST_OF_AN_ERROR = 0.5
"""A shift of more than this share of the error is none: skew of 3 and over, which the second order does not reach."""


def spread_beyond_chance(found: np.ndarray, by_chance: np.ndarray, own: np.ndarray) -> float:
    """The spread that explains how much wider limits from leaving clusters out are than those by chance alone.

    found: variance of each log estimate from leaving each cluster out; by_chance: the one with all clusters alike; own:
    how much a spread of 1 adds to it. The middle of what each estimate asks for, at least 0; NaN if none is known.
    A likelihood of the clusters' totals would take what the fit has already taken out of them for likeness.
    """
    asked = (found - by_chance) / own
    asked = asked[np.isfinite(asked)]
    return max(float(np.median(asked)), 0.0) if asked.size else np.nan


def rate_shift(events: np.ndarray, time: np.ndarray, group: np.ndarray, groups: int, kind: np.ndarray) -> np.ndarray:
    """How far the middle of each group's log rate lies below the truth: add it. NaN without events.

    events, time, group: one value a cluster, group from 0. kind: one code a group, from 0; the groups of a kind (all
    disciplines, say) have one spread in common. With Λ the events of a group and s₂, s₃ the sums of squares and cubes
    of its clusters' shares of its time: κ₂ = 1/Λ + s₂·spread, κ₃ of events/Λ = 1/Λ² + 3·s₂·spread/Λ + 2·s₃·spread²;
    what the logarithm adds to bias and skewness cancels, and κ₃/(6κ₂) is left. Without spread that is 1/(6Λ): a rate
    of (Λ + 1/6)/time, as the source has it for Poisson counts.
    """
    share = time / np.bincount(group, time, groups)[group]
    squares, cubes = (np.bincount(group, share**power, groups) for power in (2, 3))
    with np.errstate(divide="ignore", invalid="ignore"):
        chance = 1 / np.bincount(group, events, groups)
        found = left_out_variance(events, time, group, groups)
        kinds = range(int(kind.max(initial=-1)) + 1)
        asked = [spread_beyond_chance(*(part[kind == own] for part in (found, chance, squares))) for own in kinds]
        spread = np.array(asked)[kind]
        second = chance + squares * spread
        shift = (chance**2 + 3 * squares * spread * chance + 2 * cubes * spread**2) / (6 * second)
    return np.where(np.isfinite(shift), shift, np.nan)


def ratio_shift(
    fit: Fit,
    left_out: np.ndarray,
    events: np.ndarray,
    time: np.ndarray,
    cells: np.ndarray,
    design: Design,
    cluster: np.ndarray,
) -> np.ndarray:
    """How far the middle of each coefficient of `piecewise_poisson`'s fit lies below the truth: add it.

    left_out: errors of the fit by `leave_one_out_error`, from which the spread is judged; the rest as for
    `piecewise_poisson`. NaN where the fit or the error has none, and where it comes out beyond MOST_OF_AN_ERROR.
    With a log link the information does not hang on the events, so the estimate is H⁻¹u − ½·H⁻¹Σμx(xᵀH⁻¹u)² to second
    order, u being the score: its mean, variance and third cumulant follow from those of u.
    """
    shift = np.full(fit.coef.size, np.nan)
    known = np.flatnonzero(np.isfinite(fit.coef) & np.isfinite(left_out))
    factors = known >= cells.shape[1]
    if not fit.converged or not factors.any():
        return shift
    model = Rows(np.asarray(events, dtype=float), np.asarray(time, dtype=float), np.asarray(cells, float), design)
    sums = _Sums(model, fit, known, np.asarray(cluster))
    wide = left_out[known] ** 2, np.diag(sums.inverse), (sums.means**2).sum(axis=0)
    spread = spread_beyond_chance(*(part[factors] for part in wide))
    found = sums.shift(spread)
    shift[known] = np.where(np.abs(found) <= MOST_OF_AN_ERROR * left_out[known], found, np.nan)
    return shift


class _Sums:
    """Sums over rows and cells of a fit, from which the cumulants of its coefficients follow.

    inverse: H⁻¹ of the known coefficients. means, squares: by cluster, Σμz and Σμz², z = xᵀH⁻¹ for each coefficient.
    """

    def __init__(self, model: Rows, fit: Fit, known: np.ndarray, cluster: np.ndarray) -> None:
        model.value(np.nan_to_num(fit.coef))
        self.model, self.known, own = model, known, model.cells.shape[1]
        self.inverse = np.linalg.inv(model.information()[np.ix_(known, known)])
        self.own, self.others = known[known < own], known[known >= own] - own
        self.cells = model.cells[:, self.own]
        self.means, self.squares = (np.zeros((fit.clusters, known.size)) for _ in range(2))
        self.cubes = np.zeros(known.size)
        for mean, block, rows in self._pieces():
            z, zc = self._lines(block, self.inverse)
            whole = mean.sum(axis=1)[:, None]
            first, second = mean @ zc, mean @ zc**2
            np.add.at(self.means, cluster[rows], whole * z + first)
            np.add.at(self.squares, cluster[rows], whole * z**2 + 2 * z * first + second)
            self.cubes += (whole * z**3 + 3 * z**2 * first + 3 * z * second + mean @ zc**3).sum(axis=0)

    def shift(self, spread: float) -> np.ndarray:
        """κ₃/(6κ₂) − bias of each known coefficient, at a spread of the clusters."""
        covariance = self.inverse + spread * self.means.T @ self.means
        curved, bent = self._second_order(covariance)
        third = self.cubes + 3 * spread * (self.means * self.squares).sum(axis=0)
        third += 2 * spread**2 * (self.means**3).sum(axis=0) - 3 * bent
        return third / (6 * np.diag(covariance)) + 0.5 * self.inverse @ curved

    def _second_order(self, covariance: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Σμ·x·(xᵀVx), from which the bias follows, and Σμ·z·(xᵀV)² for each coefficient."""
        curved, bent = np.zeros(self.known.size), np.zeros(self.known.size)
        own = self.own.size
        for mean, block, _ in self._pieces():
            z, zc = self._lines(block, self.inverse)
            y, yc = self._lines(block, covariance)
            lever = ((self.cells @ covariance[:own, :own]) * self.cells).sum(axis=1)
            lever = lever + 2 * y[:, :own] @ self.cells.T + (y[:, own:] * block).sum(axis=1)[:, None]
            weight = mean * lever
            curved += np.concatenate([weight.sum(axis=0) @ self.cells, weight.sum(axis=1) @ block])
            whole = mean.sum(axis=1)[:, None]
            line, square = mean @ yc, mean @ yc**2
            bent += (z * (y**2 * whole + 2 * y * line + square)).sum(axis=0)
            bent += (y**2 * (mean @ zc) + 2 * y * (mean @ (zc * yc)) + mean @ (zc * yc**2)).sum(axis=0)
        return curved, bent

    def _lines(self, block: np.ndarray, matrix: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """xᵀ·matrix, in its part from the row and its part from the cell, which add up."""
        own = self.own.size
        return block @ matrix[own:], self.cells @ matrix[:own]

    def _pieces(self):
        """Expected losses by row and cell, the known factor columns and the rows, a piece of rows at a time."""
        model = self.model
        for start in range(0, len(model.time), CHUNK):
            rows = slice(start, start + CHUNK)
            mean = model.time[rows] * (model.row_rate[rows, None] * model.cell_rate)
            yield mean, model.design.block(rows)[:, self.others], rows
