"""The one-step jackknife against whole refits, each horse really left out."""

import numpy as np
import pytest

from pipelines.stats import leave_one_out
from pipelines.stats.leave_one_out import leave_one_out_error
from pipelines.stats.piecewise_poisson import Design, piecewise_poisson


def practice(seed, horses, rows=40):
    rng = np.random.default_rng(seed)
    horse = np.sort(rng.integers(horses, size=horses * rows))
    level, measure = rng.integers(2, size=horse.size), rng.integers(5, size=horse.size)
    time = rng.uniform(10, 60, (horse.size, 2))
    theta = rng.gamma(2, 0.5, horses)
    rate = 0.004 * theta[horse] * np.exp(0.5 * level - 0.1 * measure)
    events = rng.poisson(time * rate[:, None])
    tables = [np.array([[0.0], [1.0]]), np.arange(5.0)[:, None]]
    return events, time, np.eye(2), Design([level, measure], tables), horse


def without(data, left):
    events, time, cells, design, horse = data
    kept = horse != left
    codes = [part[kept] for part in design.codes]
    return events[kept], time[kept], cells, Design(codes, design.tables), horse[kept] - (horse[kept] > left)


def test_with_many_horses_one_step_is_as_good_as_a_whole_refit():
    data = practice(3, 120)
    fit = piecewise_poisson(*data)
    refits = np.array([piecewise_poisson(*without(data, left)).coef for left in range(120)])
    expected = np.sqrt(119 / 120 * ((refits - fit.coef) ** 2).sum(axis=0))
    assert leave_one_out_error(fit, *data) == pytest.approx(expected, rel=0.01)


def test_for_a_single_rate_it_is_known_in_closed_form():
    """One rate d/T: leaving horse h out moves its log by about (d_h − rate·T_h)/(d − rate·T_h), the Newton step."""
    rng = np.random.default_rng(5)
    events, time = rng.poisson(3, (9, 1)), rng.uniform(50, 400, (9, 1))
    data = (events, time, np.eye(1), Design([], []), np.arange(9))
    fit = piecewise_poisson(*data)
    rate = events.sum() / time.sum()
    moves = (events - rate * time) / (events.sum() - rate * time)
    assert leave_one_out_error(fit, *data)[0] == pytest.approx(np.sqrt(8 / 9 * (moves**2).sum()), rel=1e-9)


def test_it_is_wider_than_the_sandwich_for_a_level_of_few_horses_and_the_same_with_many():
    events, time, cells, design, horse = practice(7, 40)
    data = (events, time, cells, Design([(horse < 3).astype(int), design.codes[1]], design.tables), horse)
    fit = piecewise_poisson(*data)
    assert leave_one_out_error(fit, *data)[2] > 1.15 * fit.error[2]
    many = practice(7, 600, rows=12)
    fit = piecewise_poisson(*many)
    assert leave_one_out_error(fit, *many) == pytest.approx(fit.error, rel=0.02)


def test_rows_in_any_order_give_the_same():
    events, time, cells, design, horse = data = practice(9, 30)
    order = np.random.default_rng(1).permutation(horse.size)
    mixed = (
        events[order], time[order], cells, Design([part[order] for part in design.codes], design.tables), horse[order],
    )  # fmt: skip
    found = [leave_one_out_error(piecewise_poisson(*part), *part) for part in (data, mixed)]
    assert found[0] == pytest.approx(found[1], rel=1e-8)


def test_it_is_blank_where_there_is_no_fit_or_horses_are_very_many(monkeypatch):
    data = practice(3, 20)
    fit = piecewise_poisson(*data)
    assert np.isnan(leave_one_out_error(fit._replace(converged=False), *data)).all()
    monkeypatch.setattr(leave_one_out, "MOST_CLUSTERS", 19)
    assert np.isnan(leave_one_out_error(fit, *data)).all()


def test_a_level_of_one_horse_alone_leaves_the_other_estimates_known():
    events, time, cells, design, horse = practice(11, 30)
    codes = [(horse == 4).astype(int), design.codes[1]]
    data = (events, time, cells, Design(codes, design.tables), horse)
    fit = piecewise_poisson(*data)
    error = leave_one_out_error(fit, *data)
    assert np.isfinite(error).all()
    assert error[3] == pytest.approx(fit.error[3], rel=0.5)
