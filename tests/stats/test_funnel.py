import numpy as np
import pytest
from scipy.stats import nbinom, poisson

from pipelines.stats.funnel import chance_above, dispersion, funnel_edges, funnel_place, spread_edges


def test_chance_above_is_the_probability_of_each_place_summed():
    expected = np.array([0.3, 2.0, 2.7, 14.0])
    inner = sum(poisson.sf(poisson.ppf(0.975, mean), mean) for mean in expected)
    outer = sum(poisson.sf(poisson.ppf(0.999, mean), mean) for mean in expected)
    assert chance_above(expected) == pytest.approx((inner, outer))


def test_chance_puts_as_many_above_as_it_says():
    rng = np.random.default_rng(8)
    expected = rng.gamma(1, 3, 400)
    found = rng.poisson(expected, (500, 400))
    above = np.isin(funnel_place(found, np.broadcast_to(expected, found.shape)), ["above_95", "above_998"]).sum(axis=1)
    assert above.mean() == pytest.approx(chance_above(expected)[0], abs=4 * above.std() / np.sqrt(500))


def test_between_the_edges_of_the_spread_lie_95_percent_of_units_that_differ_so():
    rng = np.random.default_rng(9)
    expected = np.repeat([1.0, 4.0, 20.0], 20_000)
    found = rng.poisson(expected * rng.gamma(0.8, 1 / 0.7, expected.size))
    edges = spread_edges(expected, 0.8, 0.7)
    within = (found / expected >= edges["low_95_spread"]) & (found / expected <= edges["high_95_spread"])
    assert 0.95 <= within.mean() < 0.985
    assert edges["high_95_spread"][-1] == nbinom.ppf(0.975, 0.8, 0.7 / 20.7) / 20


def test_without_spread_the_edges_are_those_of_chance():
    expected = np.array([0.5, 3.0])
    assert spread_edges(expected, np.inf, np.inf)["high_95_spread"] == pytest.approx(funnel_edges(expected)["high_95"])


def test_dispersion_is_about_1_by_chance_and_more_where_units_differ():
    rng = np.random.default_rng(10)
    expected = np.full(5000, 9.0)
    assert dispersion(rng.poisson(np.full(5000, 400.0)), np.full(5000, 400.0)) == pytest.approx(1, abs=0.08)
    assert 0.9 < dispersion(rng.poisson(expected), expected) < 1.2
    assert dispersion(rng.poisson(expected * rng.gamma(2, 0.5, 5000)), expected) > 3


def test_one_unit_far_out_does_not_make_dispersion():
    expected = np.full(100, 4.0)
    found = np.full(100, 4.0)
    found[0] = 400
    assert dispersion(found, expected) == 0
