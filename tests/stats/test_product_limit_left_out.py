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
    assert low[42] >= np.exp(-np.exp(whole + wide)), "at least the lower limit of any later day"
    assert low[42] == pytest.approx(max(low[42:][np.isfinite(low[42:])]))
    assert (np.diff(low[np.isfinite(low)]) <= 0).all()
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


def test_the_two_limits_are_known_on_the_same_days():
    """On the day of the first loss one horse has all of them: no range there, though later days have one."""
    day, lost, horse = shoes(np.random.default_rng(3), 12, 30)
    low, high = left_out_limits(day, lost, 1 - lost, horse)
    first = day[lost == 1].min()
    assert np.isnan(low[first])
    assert np.isfinite(low[42])
    assert (np.isnan(low) == np.isnan(high)).all()


def test_no_limits_with_few_horses_or_where_one_has_most_of_the_losses():
    day, horse = np.full(24, 9), np.arange(24) % 6
    few, most, fine = (
        np.isin(np.arange(24), places).astype(int) for places in ([0, 1], [0, 6, 12, 18, 1, 0], [0, 6, 1])
    )
    assert np.isnan(left_out_limits(day, few, 1 - few, horse % 4)[0]).all()
    assert np.isfinite(left_out_limits(day, most, 1 - most, horse)[0][9]), "4 of 5 is not more than 80 %"
    most[1] = 0
    assert np.isnan(left_out_limits(day, most, 1 - most, horse)[0]).all()
    assert np.isfinite(left_out_limits(day, fine, 1 - fine, horse)[0][9])
