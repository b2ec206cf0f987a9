import numpy as np
import pytest

from pipelines.stats.poisson_binomial import points, poisson_binomial


def test_two_trials_by_hand():
    assert list(poisson_binomial([0.5, 0.2])) == pytest.approx([0.4, 0.5, 0.1])


def test_equal_chances_give_the_binomial():
    from scipy.stats import binom

    found = poisson_binomial(np.full(12, 0.3))
    assert list(found) == pytest.approx(list(binom.pmf(range(13), 12, 0.3)))
    assert points(found) == (binom.ppf(0.025, 12, 0.3), binom.ppf(0.975, 12, 0.3))


def test_no_trials_have_no_success():
    assert list(poisson_binomial([])) == [1]
    assert points(poisson_binomial([])) == (0, 0)
