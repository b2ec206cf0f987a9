"""A line whose start and slope differ from unit to unit: correlated random intercept and slope, REML or ML.

y = (β₀ + b₀) + (β₁ + b₁)·t + e, with (b₀, b₁) normal between units (covariance σ²D, D = ΛΛ′) and e normal (variance
σ²). All that the likelihood needs of a unit is n, Σt, Σt², Σy, Σty and Σy²; β and σ² have a closed form given D, so
three numbers, those of the triangular Λ, are left to search, whatever the number of readings.
Source: Laird & Ware 1982, Biometrics 38:963; the profiled criterion as in Bates et al 2015, J Stat Softw 67(1).
"""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

# Λ in units of a reading's own scatter: units that differ as much as readings do, or a tenth of it.
STARTS = ((1.0, 0.0, 1.0), (0.1, 0.0, 0.1))
# A spread below this part of the readings' own is nothing: a search for 0 ends at such numbers.
NOTHING = 1e-4
MOST_STEPS, SHORTEST, SLIGHT = 200, 1e-6, 1e-12


class LineSums(NamedTuple):
    """Sums over the readings of each unit: arrays with one value a unit."""

    n: np.ndarray
    t: np.ndarray
    tt: np.ndarray
    y: np.ndarray
    ty: np.ndarray
    yy: np.ndarray


class Lines(NamedTuple):
    """The common line, the spread of the units' own lines about it, and of a reading about its unit's line.

    start, slope: at time 0 and for each unit of time. fixed: 2×2 covariance of those two, σ²(X′V⁻¹X)⁻¹, the square
    roots of whose diagonal are their standard errors. spread: 2×2 covariance σ²D between units. sd_residual: σ.
    at_edge: the best spread has no more than one dimension (a variance of 0 or a correlation of ±1).
    """

    start: float
    slope: float
    fixed: np.ndarray
    spread: np.ndarray
    sd_residual: float
    log_likelihood: float
    at_edge: bool

    @property
    def slope_error(self) -> float:
        """Standard error of the common slope."""
        return float(np.sqrt(self.fixed[1, 1]))


class _Reduced(NamedTuple):
    """For each unit Z′V⁻¹Z (g00, g01, g11), Z′V⁻¹y (r0, r1), y′V⁻¹y and log|V|, with V = I + ZDZ′ and Z = (1, t)."""

    g00: np.ndarray
    g01: np.ndarray
    g11: np.ndarray
    r0: np.ndarray
    r1: np.ndarray
    yy: np.ndarray
    log_det: np.ndarray


class _Fit(NamedTuple):
    beta: np.ndarray
    information: np.ndarray
    variance: float
    deviance: float
    gradient: np.ndarray


def random_slopes(units: LineSums, restricted: bool = True) -> Lines | None:
    """REML (or, not restricted, ML) estimate of a line with a random start and slope by unit.

    None where there is no estimate: one unit, no unit with more readings than its own line uses up, all readings at
    one time, or readings that lie exactly on their units' lines.
    """
    units = LineSums(*(np.asarray(part, dtype=float) for part in units))
    if units.n.size < 2 or not _estimable(units):
        return None
    centre, scale = _middle_of_time(units)
    moved, level = _moved(units, centre, scale)
    relative, at_edge = _best_spread(moved, restricted)
    fit = _profile(moved, relative, restricted)
    back = np.array([[1.0, -centre / scale], [0.0, 1 / scale]])
    beta = back @ fit.beta
    freedom = units.n.sum() - 2 * restricted
    constant = freedom * (1 + np.log(2 * np.pi)) + 2 * restricted * np.log(scale)
    return Lines(
        start=float(beta[0] + level),
        slope=float(beta[1]),
        fixed=fit.variance * back @ np.linalg.inv(fit.information) @ back.T,
        spread=fit.variance * back @ relative @ back.T,
        sd_residual=float(np.sqrt(fit.variance)),
        log_likelihood=float(-0.5 * (fit.deviance + constant)),
        at_edge=at_edge,
    )


def unit_slopes(units: LineSums, fit: Lines) -> tuple[np.ndarray, np.ndarray]:
    """Each unit's own slope, drawn to the common one by how little is known of it, and its standard error.

    Best linear unbiased prediction; the error counts the common line's own. Source: Henderson 1975, Biometrics 31:423.
    """
    units = LineSums(*(np.asarray(part, dtype=float) for part in units))
    relative = fit.spread / fit.sd_residual**2
    own = _reduced(units, relative)
    score = _scores(own, np.array([fit.start, fit.slope]))
    kept = _kept(own, relative)
    error = kept @ fit.spread + kept @ fit.fixed @ kept.transpose(0, 2, 1)
    return fit.slope + score @ relative[1], np.sqrt(np.maximum(error[:, 1, 1], 0.0))


def unread_slopes(units: LineSums, fit: Lines) -> np.ndarray:
    """The part of the spread between units' slopes that each unit's own readings leave open, in the slope's unit.

    Where one unit has two lines with one deviation of the slope, the product of the two is what their errors share.
    """
    units = LineSums(*(np.asarray(part, dtype=float) for part in units))
    relative = fit.spread / fit.sd_residual**2
    return _kept(_reduced(units, relative), relative)[:, 1, 1] * np.sqrt(max(fit.spread[1, 1], 0.0))


def clustered_slope_error(units: LineSums, fit: Lines, clusters: np.ndarray) -> float:
    """Standard error of the common slope with clusters of units as the sampling units; NaN below 2 clusters.

    clusters: the cluster of each unit, as whole numbers from 0. Sandwich about the mixed model's own weights,
    times G/(G − 1). Source: Liang & Zeger 1986, Biometrika 73:13.
    """
    units = LineSums(*(np.asarray(part, dtype=float) for part in units))
    own = _reduced(units, fit.spread / fit.sd_residual**2)
    score = _scores(own, np.array([fit.start, fit.slope]))
    sums = np.column_stack([np.bincount(clusters, weights=score[:, part]) for part in (0, 1)])
    groups = np.unique(clusters).size
    if groups < 2:
        return float("nan")
    bread = fit.fixed / fit.sd_residual**2
    return float(np.sqrt(max((bread @ (sums.T @ sums) @ bread)[1, 1], 0.0) * groups / (groups - 1)))


def _kept(own: _Reduced, relative: np.ndarray) -> np.ndarray:
    """I − D·Z′V⁻¹Z of each unit, shape (units, 2, 2): how much of its deviation its own readings do not tell."""
    own_information = np.stack([own.g00, own.g01, own.g01, own.g11], axis=-1).reshape(-1, 2, 2)
    return np.eye(2) - relative @ own_information


def _estimable(units: LineSums) -> bool:
    """Whether readings are left over once each unit has its own line, and do not all lie on it."""
    time = units.tt - units.t**2 / units.n
    timed = time > 1e-9 * np.maximum(units.tt, 1e-300)
    if not (units.n - 1 - timed).sum() or not _spread_of_time(units):
        return False
    about_mean = units.yy - units.y**2 / units.n
    along = (units.ty - units.t * units.y / units.n) ** 2
    residual = about_mean - np.divide(along, time, out=np.zeros_like(time), where=timed)
    return bool(residual.sum() > 1e-11 * units.yy.sum())


def _spread_of_time(units: LineSums) -> float:
    readings = units.n.sum()
    spread = units.tt.sum() / readings - (units.t.sum() / readings) ** 2
    return float(np.sqrt(spread)) if spread > 1e-12 * units.tt.sum() / readings else 0.0


def _middle_of_time(units: LineSums) -> tuple[float, float]:
    return float(units.t.sum() / units.n.sum()), _spread_of_time(units)


def _moved(units: LineSums, centre: float, scale: float) -> tuple[LineSums, float]:
    """The sums as if time ran from its middle in units of its spread, and y from its mean: a rounder hill to climb."""
    level = float(units.y.sum() / units.n.sum())
    t = (units.t - centre * units.n) / scale
    tt = (units.tt - 2 * centre * units.t + centre**2 * units.n) / scale**2
    y = units.y - level * units.n
    ty = (units.ty - centre * units.y - level * (units.t - centre * units.n)) / scale
    yy = units.yy - 2 * level * units.y + level**2 * units.n
    return LineSums(units.n, t, tt, y, ty, yy), level


def _best_spread(units: LineSums, restricted: bool) -> tuple[np.ndarray, bool]:
    """D of least deviance, and whether it has no more than one dimension."""

    def deviance(three: np.ndarray) -> tuple[float, np.ndarray]:
        root = np.array([[three[0], 0.0], [three[1], three[2]]])
        fit = _profile(units, root @ root.T, restricted)
        return fit.deviance, 2 * (fit.gradient @ root)[[0, 1, 1], [0, 0, 1]]

    found = min((_descend(deviance, np.array(start)) for start in STARTS), key=lambda point: deviance(point)[0])
    root = np.array([[found[0], 0.0], [found[1], found[2]]])
    values, vectors = np.linalg.eigh(root @ root.T)
    kept = np.where(values > NOTHING**2, values, 0.0)
    return vectors * kept @ vectors.T, bool((kept == 0).any())


def _descend(deviance: Callable[[np.ndarray], tuple[float, np.ndarray]], point: np.ndarray) -> np.ndarray:
    """Downhill by quasi-Newton steps (BFGS: Nocedal & Wright 2006, Numerical Optimization, ch. 6).

    The signs of Λ are free, D being the same, so that a variance of 0 lies inside the field and not on a fence.
    """
    value, gradient = deviance(point)
    inverse = np.eye(point.size) / np.linalg.norm(gradient)
    for _ in range(MOST_STEPS):
        step = -inverse @ gradient
        if gradient @ step > -SLIGHT * max(1.0, abs(value)):
            break
        length = 1.0
        new_value, new_gradient = deviance(point + step)
        while not new_value <= value + 1e-4 * length * (gradient @ step) and length > SHORTEST:
            length /= 2
            new_value, new_gradient = deviance(point + length * step)
        if length <= SHORTEST:
            break
        point = point + length * step
        inverse = _curvature(inverse, length * step, new_gradient - gradient)
        value, gradient = new_value, new_gradient
    return point


def _curvature(inverse: np.ndarray, step: np.ndarray, change: np.ndarray) -> np.ndarray:
    """The inverse second derivative once a step has shown how the gradient changes."""
    along = step @ change
    if along <= 0:
        return inverse
    turned = np.eye(step.size) - np.outer(step, change) / along
    return turned @ inverse @ turned.T + np.outer(step, step) / along


def _reduced(units: LineSums, relative: np.ndarray) -> _Reduced:
    """Everything the likelihood needs of each unit, given D, by the closed inverse of a 2×2 matrix.

    With A = Z′Z: (A⁻¹ + D)⁻¹ = (A + |A|·adj D)/|I + AD| and (I + AD)⁻¹ = (I + adj D·adj A)/|I + AD|, which hold for
    a unit with one reading too.
    """
    n, t, tt, y, ty, yy = units
    d00, d01, d11 = relative[0, 0], relative[0, 1], relative[1, 1]
    size = np.maximum(n * tt - t**2, 0.0)
    whole = 1 + n * d00 + 2 * t * d01 + tt * d11 + size * max(d00 * d11 - d01**2, 0.0)
    left, right = tt * y - t * ty, n * ty - t * y
    r0 = (y + d11 * left - d01 * right) / whole
    r1 = (ty - d01 * left + d00 * right) / whole
    rest = yy - y * (d00 * r0 + d01 * r1) - ty * (d01 * r0 + d11 * r1)
    return _Reduced(
        (n + size * d11) / whole, (t - size * d01) / whole, (tt + size * d00) / whole, r0, r1, rest, np.log(whole)
    )


def _scores(own: _Reduced, beta: np.ndarray) -> np.ndarray:
    """Z′V⁻¹(y − Xβ) of each unit, shape (units, 2)."""
    return np.column_stack(
        [own.r0 - own.g00 * beta[0] - own.g01 * beta[1], own.r1 - own.g01 * beta[0] - own.g11 * beta[1]]
    )


def _profile(units: LineSums, relative: np.ndarray, restricted: bool) -> _Fit:
    """β, σ², −2 log likelihood without constants and its 2×2 gradient by D, for a given D."""
    own = _reduced(units, relative)
    information = np.array([[own.g00.sum(), own.g01.sum()], [own.g01.sum(), own.g11.sum()]])
    cross = np.array([own.r0.sum(), own.r1.sum()])
    beta = np.linalg.solve(information, cross)
    freedom = units.n.sum() - 2 * restricted
    variance = max(own.yy.sum() - cross @ beta, np.finfo(float).tiny) / freedom
    score = _scores(own, beta)
    deviance = freedom * np.log(variance) + own.log_det.sum()
    gradient = information - score.T @ score / variance
    if restricted:
        deviance += np.log(np.linalg.det(information))
        gradient = gradient - _sandwiched(own, np.linalg.inv(information))
    return _Fit(beta, information, float(variance), float(deviance), gradient)


def _sandwiched(own: _Reduced, inner: np.ndarray) -> np.ndarray:
    """Sum over units of G·inner·G, G being Z′V⁻¹Z."""
    i00, i01, i11 = inner[0, 0], inner[0, 1], inner[1, 1]
    a0, a1 = own.g00 * i00 + own.g01 * i01, own.g00 * i01 + own.g01 * i11
    b0, b1 = own.g01 * i00 + own.g11 * i01, own.g01 * i01 + own.g11 * i11
    off = float((a0 * own.g01 + a1 * own.g11).sum())
    return np.array([[(a0 * own.g00 + a1 * own.g01).sum(), off], [off, (b0 * own.g01 + b1 * own.g11).sum()]])
