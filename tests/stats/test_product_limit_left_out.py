import numpy as np
import pytest
from scipy import stats

from pipelines.stats.product_limit import left_out_limits, product_limit


def shoes(rng, horses, each):
    horse = np.repeat(np.arange(horses), each)
    rate = rng.gamma(0.5, 2.0, horses)[horse] / 800
    off, on = np.ceil(rng.exponential(1 / rate)).astype(int), rng.integers(35, 60, horse.size)
    return np.minimum(off, on), (off <= on).astype(int), horse


def kept(day, lost, at):
    ended = np.bincount(day, minlength=at + 1), np.bincount(day, lost, at + 1)
    return product_limit(ended[1], ended[0] - ended[1]).kept[at]


def test_the_limits_are_those_of_refitting_without_each_horse():
    day, lost, horse = shoes(np.random.default_rng(3), 12, 30)
    low, high = left_out_limits(day, lost, 1 - lost, horse)
    scale = [np.log(-np.log(kept(day[horse != out], lost[horse != out], 42))) for out in range(12)]
    whole = np.log(-np.log(kept(day, lost, 42)))
    error = np.sqrt(11 / 12 * np.sum((np.array(scale) - whole) ** 2))
    wide = stats.t.ppf(0.975, 11) * error
    assert low[42] == pytest.approx(np.exp(-np.exp(whole + wide)))
    assert high[42] == pytest.approx(np.exp(-np.exp(whole - wide)))


def test_the_limits_hold_the_truth_where_horses_differ_and_greenwood_s_do_not():
    """Of 300 made-up practices of 40 horses; the share kept at 6 weeks is the mixture's, E exp(−θ·42/800)."""
    rng = np.random.default_rng(4)
    truth, ours, theirs = (1 + 42 / 800 / 0.5) ** -0.5, 0, 0
    for _ in range(300):
        day, lost, horse = shoes(rng, 40, 40)
        low, high = left_out_limits(day, lost, 1 - lost, horse)
        by_shoe = product_limit(np.bincount(day, lost), np.bincount(day, 1 - lost))
        ours += low[42] <= truth <= high[42]
        theirs += by_shoe.low[42] <= truth <= by_shoe.high[42]
    assert ours >= 270
    assert theirs < 240


def test_no_limits_where_one_horse_has_all_the_losses_or_there_is_but_one():
    day, lost, horse = np.array([5, 9, 9, 9]), np.array([1, 1, 0, 0]), np.array([0, 0, 1, 2])
    assert np.isnan(left_out_limits(day, lost, 1 - lost, horse)[0]).all()
    assert np.isnan(left_out_limits(day, lost, 1 - lost, np.zeros(4, dtype=int))[0]).all()
