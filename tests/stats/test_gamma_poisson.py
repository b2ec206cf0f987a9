import numpy as np
import pytest

from pipelines.stats.gamma_poisson import Spread, gamma_poisson, shrunk


def test_horses_alike_beyond_chance_share_one_ratio():
    fitted = gamma_poisson([2, 2, 2, 3], [2, 2, 2, 2])
    found = shrunk(fitted, np.array([2, 2, 2, 3]), np.array([2, 2, 2, 2]))
    assert np.isinf(fitted.shape)
    assert found.mean == pytest.approx(np.full(4, 9 / 8))
    assert found.above_double == pytest.approx(np.zeros(4))


def test_nothing_lost_at_all_has_no_spread_to_fit():
    assert gamma_poisson([0, 0], [1, 2]) is None


def test_a_ratio_is_drawn_in_the_more_the_less_is_known_of_the_horse():
    found = shrunk(Spread(2, 2, 1, 0), np.array([3, 30]), np.array([1, 10]))
    assert found.mean == pytest.approx([5 / 3, 32 / 12])
    assert found.above_double[0] < found.above_double[1]


def test_the_chance_of_more_than_double_of_one_unknown_horse_is_that_of_an_exponential():
    found = shrunk(Spread(1, 1, 1, 0), np.array([0]), np.array([0]))
    assert found.above_double == pytest.approx(np.exp(-2))
    assert (found.low, found.high) == pytest.approx((-np.log(0.975), -np.log(0.025)))


@pytest.mark.parametrize("shape", [0.3, 1.0, 8.0])
def test_a_known_spread_is_found_again(shape):
    draw = np.random.default_rng(3)
    expected = draw.uniform(0.2, 8, 20_000)
    found = draw.poisson(expected * draw.gamma(shape, 1 / shape, expected.size))
    fitted = gamma_poisson(found, expected)
    assert fitted.shape == pytest.approx(shape, rel=0.08)
    assert fitted.mean == pytest.approx(1, rel=0.05)
