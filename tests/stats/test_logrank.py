import numpy as np
import pytest

from pipelines.stats.logrank import logrank


def test_two_groups_worked_by_hand():
    # day 1: one of A's 2 and none of B's 2 lost; day 2: A's last and B's first lost; day 3: B's last leaves unlost.
    found = logrank([[1, 0], [1, 1], [0, 0]], [[0, 0], [0, 0], [0, 1]])
    expected = 1 * 2 / 4 + 2 * 1 / 3
    variance = 1 / 4 + 2 * (1 / 3) * (2 / 3) * (1 / 2)
    assert found.expected[0] == pytest.approx(expected)
    assert found.chi2 == pytest.approx((2 - expected) ** 2 / variance)
    assert found.df == 1


def test_groups_alike_give_no_difference():
    found = logrank([[3, 3], [2, 2]], [[0, 0], [5, 5]])
    assert found.chi2 == pytest.approx(0, abs=1e-12)
    assert found.p_value == pytest.approx(1)


def test_a_group_of_which_none_was_ever_due_takes_no_degree_of_freedom():
    with_an_early_leaver = logrank([[0, 0, 0], [1, 0, 0], [1, 1, 0]], [[0, 0, 4], [0, 0, 0], [0, 1, 0]])
    without = logrank([[1, 0], [1, 1]], [[0, 0], [0, 1]])
    assert with_an_early_leaver.df == 1
    assert with_an_early_leaver.chi2 == pytest.approx(without.chi2)


@pytest.mark.parametrize("groups", [0, 1], ids=["no group", "one group"])
def test_nothing_to_compare_gives_no_test(groups):
    found = logrank(np.ones((2, groups)), np.ones((2, groups)))
    assert found.df == 0
    assert np.isnan(found.chi2)


def test_no_losses_give_no_test():
    assert np.isnan(logrank([[0, 0]], [[3, 4]]).p_value)
