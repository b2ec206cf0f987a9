import math

import numpy as np
import pytest
from scipy.optimize import minimize

from pipelines.stats.two_state import Steps, chance_after, transition_chances, transition_rates, wilson_limits

#      n00 n01 n10 n11
BRUISES = Steps(60, 15, 10, 20)


def uneven(seed=5, q01=0.02, q10=0.05, pairs=4000):
    """Pairs of looks 10 to 100 days apart, drawn from the chain, as counts by gap."""
    rng = np.random.default_rng(seed)
    gap = rng.integers(10, 101, pairs)
    before = rng.random(pairs) < 0.4
    rates = type("Truth", (), {"q01": q01, "q10": q10})
    chances = np.array([chance_after(rates, each)[int(state)] for each, state in zip(gap, before, strict=True)])
    after = rng.random(pairs) < chances
    gaps = np.unique(gap)
    cells = [[np.sum((gap == each) & (before == b) & (after == a)) for each in gaps] for b in (0, 1) for a in (0, 1)]
    return gaps, Steps(*map(np.array, cells))


def test_chances_are_moves_over_looks_whatever_the_gap():
    chances = transition_chances(Steps([40, 20], [5, 10], [4, 6], [20, 0]))
    assert chances == transition_chances(BRUISES)
    assert (chances.p01, chances.p10) == (0.2, pytest.approx(1 / 3))
    assert chances.share_in_1 == pytest.approx(0.2 / (0.2 + 1 / 3))
    log_likelihood = 60 * math.log(0.8) + 15 * math.log(0.2) + 10 * math.log(1 / 3) + 20 * math.log(2 / 3)
    assert chances.log_likelihood == pytest.approx(log_likelihood)


def test_a_chance_without_looks_is_not_a_number_and_does_not_spoil_the_other():
    chances = transition_chances(Steps(8, 2, 0, 0))
    assert chances.p01 == 0.2
    assert math.isnan(chances.p10)
    assert math.isnan(chances.p10_high)


def test_wilson_limits_reach_0_and_1_exactly_and_need_trials():
    low, high = wilson_limits([0, 10, 0], [10, 10, 0])
    assert (low[0], high[1]) == (0, 1)
    assert (high[0], low[1]) == (pytest.approx(0.2775328), pytest.approx(0.7224672))
    assert np.isnan([low[2], high[2]]).all()


def test_with_one_gap_the_rates_give_the_chances_back():
    rates = transition_rates([42], Steps(*([count] for count in BRUISES)))
    assert chance_after(rates, 42) == pytest.approx((0.2, 2 / 3))
    assert rates.q01 + rates.q10 == pytest.approx(-math.log(1 - 0.2 - 1 / 3) / 42)
    assert rates.log_likelihood == pytest.approx(transition_chances(BRUISES).log_likelihood)


def test_with_uneven_gaps_no_search_finds_better_rates():
    gaps, steps = uneven()

    def loss(logs):
        q01, q10 = np.exp(logs)
        gone = 1 - np.exp(-(q01 + q10) * gaps)
        p01, p10 = q01 / (q01 + q10) * gone, q10 / (q01 + q10) * gone
        kept = steps.n00 * np.log(1 - p01) + steps.n11 * np.log(1 - p10)
        return -(kept + steps.n01 * np.log(p01) + steps.n10 * np.log(p10)).sum()

    rates = transition_rates(gaps, steps)
    found = minimize(loss, np.log([0.03, 0.03]), method="Nelder-Mead", options={"xatol": 1e-10, "fatol": 1e-12})
    assert (rates.q01, rates.q10) == pytest.approx(tuple(np.exp(found.x)), rel=1e-6)
    assert rates.log_likelihood == pytest.approx(-found.fun, rel=1e-12)
    assert abs(math.log(rates.q01 / 0.02)) < 3 * rates.log_error_01
    assert abs(math.log(rates.q10 / 0.05)) < 3 * rates.log_error_10


@pytest.mark.parametrize(
    "steps",
    [
        pytest.param(Steps(0, 0, 0, 0), id="no looks"),
        pytest.param(Steps(9, 0, 3, 4), id="no moves out of 0"),
        pytest.param(Steps(9, 2, 0, 4), id="no moves out of 1"),
        pytest.param(Steps(4, 6, 6, 4), id="nothing of the earlier state is left to see"),
    ],
)
def test_there_are_no_rates_from(steps):
    assert transition_rates([42], Steps(*([count] for count in steps))) is None
