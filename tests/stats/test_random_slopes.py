import numpy as np
import pytest

from pipelines.stats.random_slopes import LineSums, clustered_slope_error, random_slopes, unit_slopes, unread_slopes


def readings(seed=3, units=40, spread=((4.0, -0.6), (-0.6, 0.5)), error=1.0):
    """Units with 1 to 7 readings at uneven times; what each array holds: unit, time, reading."""
    rng = np.random.default_rng(seed)
    unit = np.repeat(np.arange(units), rng.integers(1, 8, units))
    time = rng.uniform(0, 3, unit.size)
    own = rng.multivariate_normal([0, 0], spread, units)
    return unit, time, 52 + own[unit, 0] + (-0.4 + own[unit, 1]) * time + rng.normal(0, error, unit.size)


def sums(unit, time, reading):
    return LineSums(
        *(np.bincount(unit, part) for part in (time**0, time, time**2, reading, time * reading, reading**2))
    )


def dense(unit, time, fit):
    """X, Z and V = ZGZ′ + σ²I written out in full."""
    fixed = np.column_stack([np.ones_like(time), time])
    design = np.zeros((time.size, 2 * (unit.max() + 1)))
    design[np.arange(time.size), 2 * unit] = 1
    design[np.arange(time.size), 2 * unit + 1] = time
    between = np.kron(np.eye(unit.max() + 1), fit.spread)
    return fixed, design, between, design @ between @ design.T + fit.sd_residual**2 * np.eye(time.size)


def test_the_likelihood_from_sums_is_the_one_written_out_in_full():
    unit, time, reading = readings()
    fit = random_slopes(sums(unit, time, reading))
    fixed, _, _, covariance = dense(unit, time, fit)
    inverse = np.linalg.inv(covariance)
    information = fixed.T @ inverse @ fixed
    beta = np.linalg.solve(information, fixed.T @ inverse @ reading)
    rest = reading - fixed @ beta
    log_dets = np.linalg.slogdet(covariance)[1] + np.linalg.slogdet(information)[1]
    by_hand = -0.5 * (log_dets + rest @ inverse @ rest + (reading.size - 2) * np.log(2 * np.pi))
    assert (fit.start, fit.slope) == pytest.approx(tuple(beta), rel=1e-9)
    assert fit.fixed == pytest.approx(np.linalg.inv(information), rel=1e-7)
    assert fit.log_likelihood == pytest.approx(by_hand, rel=1e-10)
    assert not fit.at_edge


@pytest.mark.parametrize("restricted", [True, False], ids=["REML", "ML"])
def test_no_better_fit_is_found_by_a_library(restricted):
    from statsmodels.regression.mixed_linear_model import MixedLM

    unit, time, reading = readings(units=150)
    design = np.column_stack([np.ones_like(time), time])
    theirs = MixedLM(reading, design, unit, exog_re=design).fit(reml=restricted, method="powell")
    ours = random_slopes(sums(unit, time, reading), restricted)
    assert ours.log_likelihood >= theirs.llf - 1e-8
    assert ours.log_likelihood == pytest.approx(theirs.llf, abs=0.1), "theirs stops a little early"
    assert (ours.start, ours.slope) == pytest.approx(tuple(theirs.fe_params), rel=2e-2)
    assert ours.sd_residual**2 == pytest.approx(theirs.scale, rel=2e-2)


def test_a_units_own_slope_and_its_error_are_those_of_the_mixed_model_equations():
    unit, time, reading = readings()
    fit = random_slopes(sums(unit, time, reading))
    fixed, design, between, _ = dense(unit, time, fit)
    both = np.column_stack([fixed, design]) / fit.sd_residual
    equations = both.T @ both
    equations[2:, 2:] += np.linalg.inv(between)
    inverse = np.linalg.inv(equations)
    solved = inverse @ both.T @ (reading / fit.sd_residual)
    picks = [np.eye(len(solved))[1] + np.eye(len(solved))[3 + 2 * one] for one in range(unit.max() + 1)]
    slopes, errors = unit_slopes(sums(unit, time, reading), fit)
    assert slopes == pytest.approx([pick @ solved for pick in picks], rel=1e-8)
    assert errors == pytest.approx([np.sqrt(pick @ inverse @ pick) for pick in picks], rel=1e-6)


def test_what_a_units_readings_leave_open_of_its_slope_is_the_covariance_of_error_and_deviation():
    """The error of a unit's predicted slope goes with its deviation b as -Cov = the open part times the spread."""
    unit, time, reading = readings()
    fit = random_slopes(sums(unit, time, reading))
    _, design, between, covariance = dense(unit, time, fit)
    share = between @ design.T @ np.linalg.inv(covariance) @ design  # what the prediction takes of (b0, b1) of all
    own = np.diag(share)[1::2]
    assert unread_slopes(sums(unit, time, reading), fit) == pytest.approx((1 - own) * np.sqrt(fit.spread[1, 1]))


def test_clusters_of_one_unit_each_give_the_sandwich_over_units():
    unit, time, reading = readings()
    fit = random_slopes(sums(unit, time, reading))
    fixed, _, _, covariance = dense(unit, time, fit)
    inverse = np.linalg.inv(covariance)
    weighted = (fixed.T @ inverse) * (reading - fixed @ [fit.start, fit.slope])
    per_unit = np.array([weighted[:, unit == one].sum(axis=1) for one in range(40)])
    meat = per_unit.T @ per_unit * 40 / 39
    error = clustered_slope_error(sums(unit, time, reading), fit, np.arange(40))
    assert error == pytest.approx(np.sqrt((fit.fixed @ meat @ fit.fixed)[1, 1]), rel=1e-7)
    assert np.isnan(clustered_slope_error(sums(unit, time, reading), fit, np.zeros(40, dtype=int)))


def test_moving_time_and_changing_its_unit_moves_the_line_and_nothing_else():
    unit, time, reading = readings()
    here = random_slopes(sums(unit, time, reading))
    there = random_slopes(sums(unit, (time + 2000) * 365.25, reading))
    assert there.slope * 365.25 == pytest.approx(here.slope, rel=1e-5)
    assert there.slope_error * 365.25 == pytest.approx(here.slope_error, rel=1e-5)
    assert there.sd_residual == pytest.approx(here.sd_residual, rel=1e-5)


def test_units_that_differ_in_start_alone_are_at_the_edge_and_their_spread_of_slopes_is_0():
    time = np.tile([0.0, 1.0, 2.0, 3.0], 6)
    reading = np.tile([10.0, 12.0, 11.0, 13.0], 6) + np.repeat([0, 3, 1, 7, 4, 5], 4)
    units = sums(np.repeat(np.arange(6), 4), time, reading)
    fit = random_slopes(units)
    assert fit.at_edge
    assert fit.spread[1, 1] == pytest.approx(0, abs=1e-9)
    assert fit.slope == pytest.approx(0.8)
    assert unit_slopes(units, fit)[0] == pytest.approx(np.full(6, 0.8))


def test_units_that_do_not_differ_at_all_give_the_ordinary_least_squares_line():
    time = np.tile([0.0, 1.0, 2.0, 3.0], 6)
    reading = np.tile([10.0, 12.0, 11.0, 13.0], 6) + np.repeat([0, 1e-9, 0, 1e-9, 0, 1e-9], 4)
    fit = random_slopes(sums(np.repeat(np.arange(6), 4), time, reading))
    slope, start = np.polyfit(time, reading, 1)
    assert (fit.start, fit.slope) == pytest.approx((start, slope), rel=1e-8)
    assert fit.at_edge
    assert fit.spread == pytest.approx(np.zeros((2, 2)), abs=1e-9)


@pytest.mark.parametrize(
    ("unit", "time", "reading"),
    [
        pytest.param([0, 0, 0], [0, 1, 2], [50, 51, 50], id="one unit"),
        pytest.param([0, 1, 2], [0, 1, 2], [50, 51, 50], id="one reading a unit"),
        pytest.param([0, 0, 1, 1], [0, 1, 0, 1], [50, 51, 50, 49], id="no unit has more readings than its line takes"),
        pytest.param([0, 0, 1, 1], [2, 2, 2, 2], [50, 51, 50, 49], id="all at one time"),
        pytest.param([0, 0, 0, 1, 1, 1], [0, 1, 2, 0, 1, 2], [50, 51, 52, 40, 39, 38], id="all on their lines"),
    ],
)
def test_there_is_no_estimate_from(unit, time, reading):
    assert random_slopes(sums(np.array(unit), np.array(time, float), np.array(reading, float))) is None
