import numpy as np
import pytest

from pipelines.stats.piecewise_poisson import Design
from pipelines.stats.within_unit import within_unit

YES_NO = np.array([[0.0], [1.0]])


def fit(rows):
    """rows: (horse, code of each factor …, losses, days)."""
    columns = np.array(rows, dtype=float).T
    codes = [column.astype(int) for column in columns[1:-2]]
    design = Design(codes, [YES_NO] * len(codes))
    return within_unit(columns[-2][:, None], columns[-1][:, None], np.eye(1), design, columns[0].astype(int))


def test_each_horse_is_compared_with_itself_so_a_bad_horse_does_not_count_against_its_shoes():
    # Both horses lose twice as many of the second kind, and the second horse ten times as many of either.
    found = fit([(0, 0, 1, 100), (0, 1, 2, 100), (1, 0, 10, 100), (1, 1, 20, 100), (2, 1, 0, 100)])
    assert np.exp(found.coef[1]) == pytest.approx(2)
    assert found.naive[1] == pytest.approx(np.sqrt(1 / 11 + 1 / 22))
    assert found.clusters == 2


def test_the_level_of_the_rate_and_what_never_changes_in_a_horse_are_blank():
    found = fit([(0, 0, 0, 1, 100), (0, 1, 0, 2, 100), (1, 0, 1, 9, 100), (1, 1, 1, 20, 100)])
    assert np.isnan(found.coef[0])
    assert np.isfinite(found.coef[1])
    assert np.isnan(found.coef[2])


def test_horses_without_losses_say_nothing():
    assert not fit([(0, 0, 0, 100), (0, 1, 0, 100), (1, 0, 0, 100)]).converged


def test_a_level_on_which_a_horse_lost_all_it_lost_is_blank_and_the_others_stand():
    # Of the third horse's shoes only the second factor says anything, and its ratio would be infinite.
    pairs = [(0, 0, 0, 1, 100), (0, 1, 0, 2, 100), (1, 0, 0, 9, 100), (1, 1, 0, 20, 100)]
    found = fit([*pairs, (2, 0, 0, 0, 100), (2, 0, 1, 3, 100)])
    alone = fit(pairs)
    assert np.isnan(found.coef[2])
    assert found.coef[1] == pytest.approx(alone.coef[1])
    assert np.isfinite(found.error[1])
