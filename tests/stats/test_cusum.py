import numpy as np
import pytest
from scipy.stats import poisson

from pipelines.stats.cusum import control_limits, cusum, run_length, threshold_for


def test_the_sum_worked_by_hand_never_falls_below_zero_and_starts_anew_after_a_signal():
    watch = cusum([0, 4, 5, 1], [2, 2, 2, 2], threshold=2)
    two = np.log(2)
    assert watch.cusum == pytest.approx([0, 4 * two - 2, 9 * two - 4, 0])
    assert watch.signal.tolist() == [False, False, True, False]


def test_a_threshold_that_any_loss_reaches_runs_as_long_as_the_wait_for_a_loss():
    # With the threshold below log 2 − 0.1 the first loss signals: the wait is geometric.
    assert run_length(0.5, 0.1) == pytest.approx(1 / (1 - np.exp(-0.1)), rel=1e-9)


def test_the_mean_run_is_that_of_made_up_months():
    draw = np.random.default_rng(11)
    lengths = [np.argmax(cusum(draw.poisson(3, 4000), np.full(4000, 3.0), 2.5).signal) + 1 for _ in range(600)]
    assert run_length(2.5, 3.0) == pytest.approx(np.mean(lengths), rel=0.1)


@pytest.mark.parametrize("expected", [0.3, 2.0, 15.0])
def test_the_threshold_is_the_smallest_with_the_run_asked_for(expected):
    threshold = threshold_for(120, expected)
    assert run_length(threshold, expected) >= 120
    assert run_length(threshold - 0.002, expected) < 120


def test_a_doubling_is_found_far_sooner_than_a_false_alarm():
    assert run_length(threshold_for(120, 5.0), 5.0, true_ratio=2) < 6


@pytest.mark.parametrize("expected", [0.5, 4.0, 60.0])
def test_control_limits_are_the_exact_points_of_a_library(expected):
    low, high = control_limits(np.array([expected]))
    assert (low[0], high[0]) == (poisson.ppf(0.025, expected), poisson.ppf(0.975, expected))
