import math

import pytest

from pipelines.stats.rate_ratio import exact_ratio_limits, left_out_ratio_limits


def test_heart_disease_by_energy_eaten_as_r_has_it():
    # Clayton & Hills 1993, Statistical Models in Epidemiology; data Epi::diet 2.47, limits by R 4.2.2 poisson.test.
    found = exact_ratio_limits(28, 2059.43052703628, 18, 2544.23819301848)
    assert found == pytest.approx((1.02617328700703, 3.68890382372941), rel=1e-9)


def test_turned_round_the_limits_are_one_over():
    low, high = exact_ratio_limits(7, 100, 4, 90)
    other_low, other_high = exact_ratio_limits(4, 90, 7, 100)
    assert (1 / other_high, 1 / other_low) == pytest.approx((low, high))


def test_no_events_on_one_side_leave_that_side_open():
    assert exact_ratio_limits(0, 100, 4, 90)[0] == 0
    assert math.isinf(exact_ratio_limits(4, 100, 0, 90)[1])
    assert math.isnan(exact_ratio_limits(0, 100, 0, 90)[0])


def test_one_cluster_or_one_with_all_events_of_a_side_leaves_no_limits():
    assert math.isnan(left_out_ratio_limits([3], [100], [2], [90])[0])
    assert math.isnan(left_out_ratio_limits([3, 0, 0], [50, 50, 50], [1, 1, 1], [40, 40, 40])[0])
    assert math.isnan(left_out_ratio_limits([1, 1, 1], [50, 50, 50], [0, 0, 2], [40, 40, 40])[0])


def test_clusters_with_the_same_ratio_as_all_leave_no_doubt():
    low, high = left_out_ratio_limits([2, 4, 6], [100, 200, 300], [1, 2, 3], [100, 200, 300])
    assert (low, high) == pytest.approx((2, 2))
