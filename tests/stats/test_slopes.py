import warnings

import numpy as np
import pytest
from scipy.optimize import minimize_scalar
from scipy.stats import multivariate_normal
from scipy.stats import t as student

from pipelines.stats.slopes import UnitSums, left_out_limits, random_slope, unit_slopes


def draw(feet=25, steps=6, sd_units=0.15, seed=4):
    """Unit, weeks and change of each reading of made-up feet that drift by -0.4 a week, some more than others."""
    rng = np.random.default_rng(seed)
    unit = np.repeat(np.arange(feet), rng.integers(1, steps + 1, feet))
    weeks = rng.choice([4.0, 5.0, 6.0, 8.0], unit.size)
    slope = rng.normal(-0.4, sd_units, feet)
    return unit, weeks, slope[unit] * weeks + rng.normal(0, 0.7, unit.size)


def sums(unit, t, y):
    return UnitSums(*(np.bincount(unit, part) for part in (np.ones_like(t), t * t, t * y, y * y)))


def restricted(unit, t, y, sd_units, sd_residual):
    """The restricted likelihood from the whole covariance matrix, and the slope by generalised least squares."""
    same = unit[:, None] == unit
    spread = sd_units**2 * same * np.outer(t, t) + sd_residual**2 * np.eye(t.size)
    weighted = np.linalg.solve(spread, t)
    slope = weighted @ y / (weighted @ t)
    value = multivariate_normal.logpdf(y, slope * t, spread)
    return value - 0.5 * np.log(weighted @ t) + 0.5 * np.log(2 * np.pi), slope, (weighted @ t) ** -0.5


def test_the_estimates_are_the_top_of_the_restricted_likelihood_of_the_whole_matrix():
    unit, t, y = draw()
    fit = random_slope(sums(unit, t, y))
    value, slope, error = restricted(unit, t, y, fit.sd_units, fit.sd_residual)
    assert (fit.log_likelihood, fit.slope, fit.error) == pytest.approx((value, slope, error), rel=1e-9)
    for step in (0.999, 1.001):
        assert restricted(unit, t, y, fit.sd_units * step, fit.sd_residual)[0] < value
        assert restricted(unit, t, y, fit.sd_units, fit.sd_residual * step)[0] < value


def test_the_estimates_are_those_of_statsmodels():
    from statsmodels.regression.mixed_linear_model import MixedLM

    unit, t, y = draw(feet=60)
    model = MixedLM(y, t[:, None], unit, exog_re=t[:, None])
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # its own deprecations; how far it got is compared first
        theirs = model.fit(reml=True, method="powell", xtol=1e-12, ftol=1e-14)
    ours = random_slope(sums(unit, t, y))
    assert ours.log_likelihood >= theirs.llf - 1e-6, "no optimiser stopped early"
    spread = float(np.sqrt(theirs.cov_re[0, 0]))
    found = (ours.log_likelihood, ours.slope, ours.sd_units, ours.sd_residual)
    assert found == pytest.approx((theirs.llf, theirs.fe_params[0], spread, theirs.scale**0.5), rel=1e-4)


def test_each_units_own_slope_is_the_mean_of_its_slope_given_its_readings():
    unit, t, y = draw(feet=6)
    data = sums(unit, t, y)
    fit = random_slope(data)
    own, _ = unit_slopes(data, fit)
    for number in range(6):
        mine = unit == number
        spread = fit.sd_units**2 * np.outer(t[mine], t[mine]) + fit.sd_residual**2 * np.eye(mine.sum())
        shift = fit.sd_units**2 * t[mine] @ np.linalg.solve(spread, y[mine] - fit.slope * t[mine])
        assert own[number] == pytest.approx(fit.slope + shift, rel=1e-9)


def test_the_error_of_an_own_slope_is_that_of_the_prediction_when_the_common_slope_is_estimated_too():
    # Henderson's mixed model equations, solved whole: variance of (slope + b - predicted) from their inverse.
    unit, t, y = draw(feet=4)
    data = sums(unit, t, y)
    fit = random_slope(data)
    z = (unit[:, None] == np.arange(4)) * t[:, None]
    design = np.column_stack([t, z])
    inverse = np.linalg.inv(design.T @ design / fit.sd_residual**2 + np.diag([0] + [fit.sd_units**-2] * 4))
    pick = np.column_stack([np.ones(4), np.eye(4)])
    expected = np.sqrt(np.einsum("ij,jk,ik->i", pick, inverse, pick))
    assert unit_slopes(data, fit)[1] == pytest.approx(expected, rel=1e-9)


def test_units_that_do_not_differ_give_the_plain_line_through_zero():
    unit = np.array([0, 0, 1, 1, 2, 2])
    t = np.array([1.0, 2, 1, 2, 1, 2])
    y = np.array([1.2, 1.8, 0.8, 2.2, 1.1, 1.9])
    fit = random_slope(sums(unit, t, y))
    assert fit.sd_units == 0
    assert fit.slope == pytest.approx(t @ y / (t @ t))
    assert fit.sd_residual == pytest.approx(np.sqrt(((y - fit.slope * t) ** 2).sum() / 5))


def test_the_ratio_of_spreads_is_the_best_of_a_plain_search():
    unit, t, y = draw(seed=9)
    data = sums(unit, t, y)
    fit = random_slope(data)

    def away(log_ratio):
        ratio = np.exp(log_ratio)
        same = unit[:, None] == unit
        spread = ratio * same * np.outer(t, t) + np.eye(t.size)
        weighted = np.linalg.solve(spread, t)
        slope = weighted @ y / (weighted @ t)
        rest = (y - slope * t) @ np.linalg.solve(spread, y - slope * t)
        return (t.size - 1) * np.log(rest) + np.linalg.slogdet(spread)[1] + np.log(weighted @ t)

    best = minimize_scalar(away, bounds=(-12, 4), method="bounded", options={"xatol": 1e-10})
    assert fit.ratio == pytest.approx(np.exp(best.x), rel=1e-5)


@pytest.mark.parametrize(
    ("unit", "t", "y"),
    {
        "one reading": ([0], [1.0], [2.0]),
        "no time between any two readings": ([0, 1], [0.0, 0.0], [1.0, 2.0]),
        "readings on straight lines": ([0, 0, 1, 1], [1.0, 2.0, 1.0, 2.0], [1.0, 2.0, 3.0, 6.0]),
    }.values(),
)
def test_there_is_no_estimate_where_nothing_can_be_told_apart(unit, t, y):
    assert random_slope(sums(np.array(unit), np.array(t), np.array(y))) is None


def test_where_the_likelihood_has_two_peaks_the_higher_one_is_taken():
    """Five feet, found by random search: a peak near λ = 0.13 and a higher one, by 1.3 in log-likelihood, near 11.5."""
    readings = {
        "a": [(0, 0.5), (0, 0.5), (6, 0.5)],
        "b": [(6, -4)],
        "c": [(1, -4)],
        "d": [(4, -4), (4, -4)],
        "e": [(6, -4), (0, 0.5)],
    }
    parts = [np.array(own, dtype=float).T for own in readings.values()]
    sums = [(t.size, t @ t, t @ y, y @ y) for t, y in parts]
    fit = random_slope(UnitSums(*np.array(sums, dtype=float).T))
    t, y = np.concatenate(parts, axis=1)
    unit = np.repeat(np.arange(len(parts)), [own[0].size for own in parts])
    alike = unit[:, None] == unit

    def away(ratio):
        spread = np.eye(t.size) + ratio * alike * np.outer(t, t)
        weighted = np.linalg.solve(spread, t)
        rest = y - (weighted @ y) / (weighted @ t) * t
        variance = rest @ np.linalg.solve(spread, rest) / (t.size - 1)
        return (t.size - 1) * np.log(variance) + np.linalg.slogdet(spread)[1] + np.log(weighted @ t)

    assert away(fit.ratio) <= min(away(ratio) for ratio in np.geomspace(1e-6, 1e6, 2000))
    assert 11 < fit.ratio < 12


def test_each_cluster_left_out_in_turn_moves_the_slope_as_the_whole_matrix_says():
    """Clusters of four units; the spread between units kept as it was fitted to all."""
    unit, t, y = draw(feet=24)
    fit = random_slope(sums(unit, t, y))
    cluster = np.arange(24) // 4
    slopes = [
        restricted(unit[kept], t[kept], y[kept], fit.sd_units, fit.sd_residual)[1]
        for kept in (cluster[unit] != one for one in range(6))
    ]
    half = student.ppf(0.975, 5) * np.sqrt(5 / 6 * ((np.array(slopes) - fit.slope) ** 2).sum())
    assert left_out_limits(sums(unit, t, y), fit, cluster) == pytest.approx(
        (fit.slope - half, fit.slope + half), rel=1e-8
    )


def test_one_cluster_or_one_that_holds_all_the_time_has_no_limits():
    unit, t, y = draw()
    fit = random_slope(sums(unit, t, y))
    assert np.isnan(left_out_limits(sums(unit, t, y), fit, np.zeros(25, dtype=int))).all()
    alone = sums(unit, np.where(unit == 3, t, 0.0), y)
    assert np.isnan(left_out_limits(alone, fit, np.arange(25))).all()
