"""Set to the middle: closed forms, the shifts of one rate and of a ratio by hand, and many draws with a known truth."""

import numpy as np
import pytest
from scipy import stats

from pipelines.stats.leave_one_out import leave_one_out_error
from pipelines.stats.median_unbiased import rate_shift, ratio_shift, spread_beyond_chance
from pipelines.stats.piecewise_poisson import Design, piecewise_poisson

YES_NO = np.array([[0.0], [1.0]])
ONE_GROUP, ONE_KIND = 1, np.array([0])


def one_rate(events, time):
    events, time = np.asarray(events, dtype=float), np.asarray(time, dtype=float)
    return rate_shift(events, time, np.zeros(len(events), dtype=int), ONE_GROUP, ONE_KIND)[0]


@pytest.mark.parametrize("count", [3, 8, 20])
def test_horses_that_are_alike_have_a_sixth_of_a_loss_added(count):
    """Kenne Pagui, Salvan & Sartori 2017: the median-unbiased mean of a Poisson count y is y + 1/6, to second order.

    Against the exact one: the mean at which half of all counts lie above y, y itself split evenly.
    """
    evenly = np.full(12, count / 12)
    shifted = count * np.exp(one_rate(evenly, np.full(12, 100.0)))
    assert shifted == pytest.approx(count + 1 / 6, abs=0.01)

    def above(mean):
        return stats.poisson.sf(count, mean) + stats.poisson.pmf(count, mean) / 2

    assert above(shifted) == pytest.approx(0.5, abs=0.01)


@pytest.mark.parametrize(("horses", "shape"), [(10, 0.9), (10, 2.0), (30, 0.5)])
def test_many_losses_of_unlike_horses_have_the_median_of_a_gamma(horses, shape):
    """With very many losses the rate is the mean of the horses' own gammas: a gamma of shape horses · shape."""
    squares = cubes = 1 / horses
    spread = 1 / shape
    second, third = squares * spread, 2 * cubes / horses * spread**2
    exact = -np.log(stats.gamma.ppf(0.5, horses * shape) / (horses * shape))
    assert third / (6 * second) == pytest.approx(exact, rel=0.06)
    losses, days = own_losses(horses, shape)
    assert one_rate(losses, days) == pytest.approx(third / (6 * second), rel=1e-3)


def own_losses(horses, shape):
    """Horses of which leaving each out finds just that spread: half of them one step above the rate, half below."""
    step = 1.0
    for _ in range(60):
        rates = np.where(np.arange(horses) % 2, 1 + step, 1 - step) * 1e7
        moves = np.log((rates.sum() - rates) / (horses - 1)) - np.log(rates.mean())
        step *= np.sqrt((1 / (horses * shape)) / ((horses - 1) / horses * (moves**2).sum()))
    return rates, np.full(horses, 1000.0)


def test_a_rate_without_losses_has_no_middle_and_one_horse_takes_the_spread_of_its_kind():
    events = np.array([0.0, 0, 9, 1, 5, 2, 12, 4])
    group = np.array([0, 0, 1, 1, 1, 1, 1, 2])
    shift = rate_shift(events, np.full(8, 500.0), group, 3, np.zeros(3, dtype=int))
    assert np.isnan(shift[0])
    assert shift[2] > shift[1] > 0
    alone = rate_shift(np.array([4.0]), np.array([500.0]), np.array([0]), 1, ONE_KIND)
    assert np.isnan(alone[0])


def test_groups_of_one_kind_share_a_spread_and_those_of_another_have_their_own():
    rng = np.random.default_rng(8)
    group = np.repeat(np.arange(6), 7)
    time = rng.uniform(300, 900, group.size)
    unlike = np.where(group < 3, rng.gamma(0.4, 2.5, group.size), 1.0)
    events = rng.poisson(0.02 * time * unlike).astype(float)
    kind = np.array([0, 0, 0, 1, 1, 1])
    both = rate_shift(events, time, group, 6, kind)
    for own in (0, 1):
        mine = kind[group] == own
        alone = rate_shift(events[mine], time[mine], group[mine] - 3 * own, 3, np.zeros(3, dtype=int))
        assert both[kind == own] == pytest.approx(alone)
    assert both[:3].min() > 2 * both[3:].max()


def test_the_spread_is_the_middle_of_what_is_asked_for_and_never_below_none():
    asked = spread_beyond_chance(np.array([0.5, 0.3, np.nan]), np.array([0.1, 0.1, 0.1]), np.array([0.2, 0.2, 0.2]))
    assert asked == pytest.approx(1.5)
    assert spread_beyond_chance(np.array([0.1]), np.array([0.2]), np.array([1.0])) == 0
    assert np.isnan(spread_beyond_chance(np.array([np.nan]), np.array([0.2]), np.array([1.0])))


def drawn(rng, horses=(8, 16), shape=0.9, ratio=2.0):
    """Rows of a practice: 8 horses with a level and 16 without, each with its own multiplier; 12 shoes a horse."""
    count = sum(horses)
    level, horse = np.repeat([1, 0], horses), np.repeat(np.arange(count), 12)
    theta = rng.gamma(shape, 1 / shape, count)
    time = rng.uniform(20, 50, (horse.size, 2))
    events = rng.poisson(0.006 * time * (theta * ratio**level)[horse][:, None])
    return events, time, np.eye(2), Design([level[horse]], [YES_NO]), horse


def test_of_one_ratio_the_shift_is_that_of_two_rates_by_hand():
    """log ratio = log rate of one group less that of the other: bias and κ₃ subtract, κ₂ adds up."""
    events, time, _, design, horse = drawn(np.random.default_rng(4))
    data = (events.sum(axis=1, keepdims=True), time.sum(axis=1, keepdims=True), np.eye(1), design, horse)
    fit = piecewise_poisson(*data)
    left_out = leave_one_out_error(fit, *data)
    found, days = (np.bincount(horse, part[:, 0]) for part in data[:2])
    level = np.repeat([1, 0], [8, 16])
    lost = [found[level == side].sum() for side in (0, 1)]
    share = [days[level == side] / days[level == side].sum() for side in (0, 1)]
    own = sum((part**2).sum() for part in share)
    spread = (left_out[1] ** 2 - 1 / lost[0] - 1 / lost[1]) / own
    second = [1 / d + (s**2).sum() * spread for d, s in zip(lost, share, strict=True)]
    linear = [
        1 / d**2 + 3 * (s**2).sum() * spread / d + 2 * (s**3).sum() * spread**2
        for d, s in zip(lost, share, strict=True)
    ]
    third = [part - 3 * variance**2 for part, variance in zip(linear, second, strict=True)]
    bias = [-variance / 2 for variance in second]
    by_hand = (third[1] - third[0]) / (6 * sum(second)) - (bias[1] - bias[0])
    assert ratio_shift(fit, left_out, *data)[1] == pytest.approx(by_hand, rel=1e-9)


def test_rows_cut_finer_or_in_another_order_give_the_same_whatever_the_size_of_a_piece(monkeypatch):
    events, time, cells, design, horse = data = drawn(np.random.default_rng(6))
    fit = piecewise_poisson(*data)
    left_out = leave_one_out_error(fit, *data)
    plain = ratio_shift(fit, left_out, *data)
    order = np.random.default_rng(1).permutation(np.tile(np.arange(len(horse)), 2))
    first = np.concatenate([np.ones(len(horse)), np.zeros(len(horse))])[:, None]
    again = (np.tile(events, (2, 1)) * first, np.tile(time, (2, 1)) / 2)
    mixed = tuple(part[np.argsort(order, kind="stable")] for part in again)
    codes, horses = (np.tile(part, 2)[np.argsort(order, kind="stable")] for part in (design.codes[0], horse))
    monkeypatch.setattr("pipelines.stats.median_unbiased.CHUNK", 50)
    cut = ratio_shift(fit, left_out, *mixed, cells, Design([codes], design.tables), horses)
    assert np.isfinite(plain).all()
    assert cut == pytest.approx(plain, rel=1e-9)


def with_levels(rng, few=6, levels=5, many=30, shape=0.9):
    """Practices of one factor: five levels of six horses, each at twice the rate of the thirty horses beside them."""
    level = np.repeat(np.concatenate([np.repeat(np.arange(1, levels + 1), few), np.zeros(many, dtype=int)]), 12)
    horse = np.repeat(np.arange(few * levels + many), 12)
    theta = rng.gamma(shape, 1 / shape, few * levels + many)
    time = rng.uniform(20, 50, (horse.size, 1))
    events = rng.poisson(0.01 * time * (theta[horse] * np.where(level > 0, 2.0, 1.0))[:, None])
    return events, time, np.eye(1), Design([level], [np.vstack([np.zeros(levels), np.eye(levels)])]), horse


def test_over_many_practices_half_of_the_shifted_ratios_lie_above_the_truth_and_fewer_of_the_plain_ones():
    """400 practices drawn from a truth of 2, five ratios each: the error of a share is under 1.5 points."""
    rng, above = np.random.default_rng(3), []
    for _ in range(400):
        data = with_levels(rng)
        fit = piecewise_poisson(*data)
        shift = ratio_shift(fit, leave_one_out_error(fit, *data), *data)[1:]
        assert np.isfinite(shift).all()
        above.append((fit.coef[1:] > np.log(2), fit.coef[1:] + shift > np.log(2)))
    plain, shifted = np.mean(above, axis=(0, 2))
    assert plain < 0.47
    assert abs(shifted - 0.5) < 0.02


def test_where_the_fit_or_its_errors_are_unknown_there_is_none():
    data = drawn(np.random.default_rng(4))
    fit = piecewise_poisson(*data)
    left_out = leave_one_out_error(fit, *data)
    assert np.isnan(ratio_shift(fit._replace(converged=False), left_out, *data)).all()
    assert np.isnan(ratio_shift(fit, np.full(3, np.nan), *data)).all()


@pytest.mark.parametrize(("errors", "is_known"), [(0.45, True), (0.55, False), (1.5, False)])
def test_a_shift_of_over_half_an_error_is_none(monkeypatch, errors, is_known):
    """The spread is judged from the middle of all five levels, so the first one's own error hardly moves its shift."""
    data = with_levels(np.random.default_rng(4))
    fit = piecewise_poisson(*data)
    left_out = np.array([0.2, 0.3, 2.0, 2.0, 2.0, 2.0])
    with monkeypatch.context() as context:
        context.setattr("pipelines.stats.median_unbiased.MOST_OF_AN_ERROR", np.inf)
        shift = ratio_shift(fit, left_out, *data)
    left_out[1] = abs(shift[1]) / errors
    found = ratio_shift(fit, left_out, *data)
    assert np.isfinite(found[1]) == is_known
    assert np.isfinite(found[2:]).all()
