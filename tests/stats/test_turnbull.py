import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipelines.stats.product_limit import product_limit
from pipelines.stats.turnbull import turnbull

STILL_ON = np.inf


def masses(rows):
    """rows: (after, by) or (after, by, weight)."""
    after, by, weight = zip(*[(*row, 1)[:3] for row in rows], strict=True)
    found = turnbull(np.array(after), np.array(by), np.array(weight))
    return {(a, b): round(m, 9) for a, b, m in zip(found.left, found.right, found.mass, strict=True) if m > 1e-9}


def test_a_shoe_seen_on_at_day_5_was_not_lost_on_day_5():
    assert masses([(0, 5), (5, 9)]) == {(0, 5): 0.5, (5, 9): 0.5}


def test_intervals_that_overlap_put_all_their_mass_where_they_overlap():
    assert masses([(0, 7), (5, 9)]) == {(5, 7): 1}


def test_an_exact_day_lies_in_the_interval_it_ends_and_not_in_the_one_it_opens():
    assert masses([(3, 5), (5, 5)]) == {(5, 5): 1}
    assert masses([(5, 8), (5, 5)]) == {(5, 5): 0.5, (5, 8): 0.5}


def test_a_shoe_still_on_at_the_end_keeps_its_mass_without_an_end():
    assert masses([(0, 5), (9, STILL_ON)]) == {(0, 5): 0.5, (9, STILL_ON): 0.5}


def test_a_row_of_weight_three_is_three_rows():
    rows = [(0, 7), (5, 9), (3, STILL_ON), (6, 6)]
    weighted = [(*row, 3) for row in rows[:2]] + [(*row, 1) for row in rows[2:]]
    assert masses(weighted) == pytest.approx(masses(rows[:2] * 3 + rows[2:]), abs=1e-8)


@pytest.mark.parametrize("kept", [1000, 100_000])
def test_one_loss_among_very_many_shoes_keeps_its_mass(kept):
    """Without it the mean log-likelihood would fall by less than it rises for the others, in a computer's numbers."""
    assert masses([(10, 11), (20, STILL_ON, kept)]) == {
        (10, 11): round(1 / (kept + 1), 9),
        (20, STILL_ON): round(kept / (kept + 1), 9),
    }


def test_no_rows_give_no_intervals():
    found = turnbull(np.array([]), np.array([]), np.array([]))
    assert found.mass.size == 0
    assert found.converged


exact_or_on = st.tuples(st.integers(1, 5), st.booleans())


@given(st.lists(exact_or_on, min_size=1, max_size=12))
def test_with_every_day_known_it_is_the_product_limit_curve(rows):
    found = turnbull(
        np.array([day for day, _ in rows]),
        np.array([day if lost else np.inf for day, lost in rows]),
        np.ones(len(rows)),
    )
    lost = np.bincount([day for day, off in rows if off], minlength=6)
    left = np.bincount([day for day, off in rows if not off], minlength=6)
    last = max(day for day, _ in rows)
    kept = product_limit(lost[: last + 1], left[: last + 1]).kept
    ours = [1 - found.mass[found.right <= day].sum() for day in range(last + 1)]
    assert ours == pytest.approx(list(kept), abs=1e-7)


intervals = st.tuples(st.integers(0, 5), st.sampled_from([0, 1, 2, 5, np.inf]))


@settings(max_examples=200)
@given(st.lists(intervals, min_size=1, max_size=15))
def test_it_always_reaches_the_maximum_and_plain_em_finds_nothing_better(rows):
    after = np.array([row[0] for row in rows], dtype=float)
    by = after + np.array([row[1] for row in rows])
    found = turnbull(after, by, np.ones(len(rows)))
    assert found.converged
    assert found.mass.sum() == pytest.approx(1)
    assert found.log_likelihood >= plain_em(after, by, found.left, found.right) - 1e-7


def test_the_last_steps_are_taken_though_the_likelihood_no_longer_shows_their_gain():
    found = turnbull(np.array([0, 1, 0, 0]), np.array([1, 2, 0, 2]), np.array([1, 7, 1, 1]))
    assert found.converged
    assert found.mass == pytest.approx([0.1, 0.9 / 8, 0.9 * 7 / 8])


def plain_em(after, by, left, right):
    """Second version: which intervals each row holds, told one by one, and 300 turns of expectation-maximisation."""
    holds = np.array(
        [[within(a, b, lo, hi) for lo, hi in zip(left, right, strict=True)] for a, b in zip(after, by, strict=True)]
    )
    mass = np.full(left.size, 1 / left.size)
    for _ in range(300):
        mass = (holds * mass / (holds @ mass)[:, None]).mean(axis=0)
    return np.log(holds @ mass).sum()


def within(after, by, low, high):
    if after == by:
        return float(low == high == by)
    return float(high <= by and (low > after if low == high else low >= after))
