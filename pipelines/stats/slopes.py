"""A line through zero whose slope differs from unit to unit: random slope by restricted maximum likelihood (REML).

y = (slope + b)·t + e, with b normal between units (variance λσ²) and e normal (variance σ²). All that the likelihood
needs of a unit is n, Σt², Σty and Σy², and but for λ everything has a closed form, so one root in λ is all there is
to find. Source: Laird & Ware 1982, Biometrics 38:963; Harville 1977, JASA 72:320.
"""

from typing import NamedTuple

import numpy as np
from scipy.special import stdtrit

from pipelines.stats.poisson import TAIL95

# λ·(mean Σt²) is looked for between these: below, units do not differ; above, readings scatter about no line at all.
LOWEST, HIGHEST, GRID = 1e-6, 1e8, 43


class UnitSums(NamedTuple):
    """Sums over the readings of each unit: arrays with one value a unit."""

    n: np.ndarray
    tt: np.ndarray
    ty: np.ndarray
    yy: np.ndarray


class Slopes(NamedTuple):
    """Common slope with its standard error, spread of the units' slopes, spread of one reading about its unit's line.

    log_likelihood is the restricted one, constants included. ratio is λ.
    """

    slope: float
    error: float
    sd_units: float
    sd_residual: float
    ratio: float
    log_likelihood: float


class _Profile(NamedTuple):
    slope: float
    information: float
    variance: float
    deviance: float
    score: float


def random_slope(units: UnitSums) -> Slopes | None:
    """REML estimate of a random slope through zero.

    None where it has no estimate: fewer than 2 readings, no time between them, or readings that lie exactly on their
    units' lines. The error of the slope is (X′V⁻¹X)^−½ at the estimates.
    """
    units = UnitSums(*(np.asarray(part, dtype=float) for part in units))
    if units.n.sum() < 2 or not units.tt.any() or _on_their_lines(units):
        return None
    ratio = _best_ratio(units)
    best = _profile(units, ratio)
    if best.variance <= 0:
        return None
    constant = (units.n.sum() - 1) * (1 + np.log(2 * np.pi))
    return Slopes(
        slope=best.slope,
        error=float(np.sqrt(best.variance / best.information)),
        sd_units=float(np.sqrt(ratio * best.variance)),
        sd_residual=float(np.sqrt(best.variance)),
        ratio=ratio,
        log_likelihood=-0.5 * (best.deviance + constant),
    )


def unit_slopes(units: UnitSums, fit: Slopes) -> tuple[np.ndarray, np.ndarray]:
    """Each unit's own slope, drawn to the common one by how little is known of it, and its standard error.

    Best linear unbiased prediction; the error counts the common slope's own. Source: Henderson 1975, Biometrics 31:423.
    """
    weight = 1 / (1 + fit.ratio * units.tt)
    own = weight * (fit.slope + fit.ratio * units.ty)
    return own, np.sqrt(fit.sd_units**2 * weight + (weight * fit.error) ** 2)


def left_out_limits(units: UnitSums, fit: Slopes, clusters: np.ndarray) -> tuple[float, float]:
    """95 % limits of the common slope from leaving each cluster of units out in turn; NaN below 2 clusters.

    clusters: the cluster of each unit, as whole numbers from 0. λ is kept, so that each slope has a closed form; the
    error is √((G − 1)/G · Σ move²), the limits Student's with G − 1 degrees of freedom. NaN too where all time is one
    cluster's. Source: jackknife, for linear models the estimator CR3 of Bell & McCaffrey 2002, Survey Methodology
    28:169.
    """
    weight = 1 / (1 + fit.ratio * units.tt)
    information, cross = (np.bincount(clusters, weights=part * weight) for part in (units.tt, units.ty))
    left = information.sum() - information
    groups = information.size
    if groups < 2 or (left <= 1e-12 * information.sum()).any():
        return float("nan"), float("nan")
    moves = (cross.sum() - cross) / left - fit.slope
    half = stdtrit(groups - 1, 1 - TAIL95) * float(np.sqrt((groups - 1) / groups * (moves**2).sum()))
    return fit.slope - half, fit.slope + half


def _on_their_lines(units: UnitSums) -> bool:
    fitted = np.divide(units.ty**2, units.tt, out=np.zeros_like(units.tt), where=units.tt > 0)
    return bool((units.yy - fitted).sum() <= 1e-12 * units.yy.sum())


def _best_ratio(units: UnitSums) -> float:
    scale = units.n.size / units.tt.sum()
    grid = np.concatenate([[0.0], np.geomspace(LOWEST, HIGHEST, GRID) * scale])
    profiles = [_profile(units, ratio) for ratio in grid]
    best = int(np.argmin([profile.deviance for profile in profiles]))
    # With few units there can be two peaks; how the likelihood leans at the best point says on which side its own is.
    other = best - 1 if profiles[best].score > 0 else best + 1
    if not 0 <= other < len(grid) or (profiles[best].score > 0) == (profiles[other].score > 0):
        return float(grid[best])
    low, high = sorted((best, other))
    return _root_of_score(units, grid[low], grid[high], LOWEST * scale)


def _root_of_score(units: UnitSums, low: float, high: float, floor: float) -> float:
    """λ at which the score is 0, between low and high: regula falsi on log(λ + floor), Illinois variant."""
    ends = [np.log(low + floor), np.log(high + floor)]
    scores = [_profile(units, low).score, _profile(units, high).score]
    if scores[0] >= 0 or scores[1] <= 0:
        return float(low if scores[0] >= 0 else high)
    ratio, kept = high, -1
    for _ in range(100):
        middle = (ends[0] * scores[1] - ends[1] * scores[0]) / (scores[1] - scores[0])
        ratio, before = np.exp(middle) - floor, ratio
        score = _profile(units, ratio).score
        side = int(score > 0)
        scores[1 - side] *= 0.5 if side == kept else 1.0
        ends[side], scores[side], kept = middle, score, side
        if abs(ratio - before) <= 1e-12 * ratio or score == 0:
            break
    return float(ratio)


def _profile(units: UnitSums, ratio: float) -> _Profile:
    """Slope, variance, −2 log restricted likelihood (without constants) and its derivative, for a given λ."""
    weight = 1 / (1 + ratio * units.tt)
    weighted_tt, weighted_ty = units.tt * weight, units.ty * weight
    information, cross = weighted_tt.sum(), weighted_ty.sum()
    slope = cross / information
    rest = units.yy.sum() - ratio * (units.ty * weighted_ty).sum() - slope * cross
    freedom = units.n.sum() - 1
    rest = max(rest, np.finfo(float).tiny)
    deviance = freedom * np.log(rest / freedom) - np.log(weight).sum() + np.log(information)
    rest_moves = -((weighted_ty - slope * weighted_tt) ** 2).sum()
    score = freedom * rest_moves / rest + weighted_tt.sum() - (weighted_tt**2).sum() / information
    return _Profile(float(slope), float(information), float(rest / freedom), float(deviance), float(score))
