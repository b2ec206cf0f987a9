import numpy as np
import pytest
from scipy import stats

from pipelines.stats.poisson import (
    by_cluster_limits,
    chance_of_as_many,
    clustered_rate_limits,
    exact_limits,
    left_out_rate_limits,
)


def test_the_limits_of_a_count_are_the_means_at_which_it_is_just_too_large_or_too_small():
    counts = np.array([1, 2, 3, 10, 250])
    low, high = exact_limits(counts)
    assert stats.poisson.sf(counts - 1, low) == pytest.approx(0.025)
    assert stats.poisson.cdf(counts, high) == pytest.approx(0.025)


def test_no_events_have_a_lower_limit_of_exactly_0():
    low, high = exact_limits(np.array([0]))
    assert low[0] == 0
    assert stats.poisson.pmf(0, high[0]) == pytest.approx(0.025)


def test_the_chance_of_as_many_adds_up_the_poisson_terms_from_the_count_on():
    counts, expected = np.array([0, 1, 4, 30]), np.array([0.5, 0.01, 2.0, 12.5])
    assert chance_of_as_many(counts, expected) == pytest.approx(stats.poisson.sf(counts - 1, expected), rel=1e-9)


def sums(events, time):
    return (events**2).sum(), (events * time).sum(), (time**2).sum()


def test_clustered_limits_are_blank_below_two_events_or_two_clusters():
    one = clustered_rate_limits(2, 1, 10.0, 1, 5.0, 50.0)
    alone = clustered_rate_limits(1, 4, 10.0, 16, 40.0, 100.0)
    assert np.isnan([*one, *alone]).all()


def test_clusters_that_all_have_the_same_rate_leave_no_width():
    events, time = np.array([2.0, 4.0, 6.0]), np.array([1.0, 2.0, 3.0])
    assert clustered_rate_limits(3, 12, 6.0, *sums(events, time)) == pytest.approx((2, 2))


def test_clustered_limits_are_those_of_a_poisson_model_with_a_sandwich_over_clusters():
    # The linearised ratio on the log is the cluster sandwich of a Poisson model with a mean alone, times G/(G - 1).
    from statsmodels.genmod.families import Poisson
    from statsmodels.genmod.generalized_linear_model import GLM

    draw = np.random.default_rng(5)
    time = draw.uniform(1, 30, 40)
    events = draw.poisson(time * draw.gamma(1.5, 0.1, 40)).astype(float)
    model = GLM(events, np.ones(40), Poisson(), offset=np.log(time))
    options = {"groups": np.arange(40), "use_correction": False}
    fit = model.fit(tol=1e-12, cov_type="cluster", cov_kwds=options)
    error = fit.bse[0] * np.sqrt(40 / 39)
    theirs = np.exp(fit.params[0] + np.array([-1, 1]) * stats.norm.ppf(0.975) * error)
    ours = clustered_rate_limits(40, events.sum(), time.sum(), *sums(events, time))
    assert ours == pytest.approx(tuple(theirs), rel=1e-8)


def test_limits_of_leaving_each_horse_out_are_those_of_a_plain_loop():
    """scipy.stats.t gives the quantile."""
    from scipy.stats import t

    events, time = [3, 0, 1, 5, 2, 2, 0], [300.0, 80.5, 200.0, 310.0, 90.0, 150.0, 40.0]
    group = [0, 0, 0, 0, 1, 1, 2]
    low, high = left_out_rate_limits(np.array(events), np.array(time), np.array(group), 3)
    for place in (0, 1):
        own = [(d, days) for d, days, g in zip(events, time, group, strict=True) if g == place]
        d, days, n = sum(part[0] for part in own), sum(part[1] for part in own), len(own)
        moves = [np.log((d - one) / (days - its)) - np.log(d / days) for one, its in own]
        error = t.ppf(0.975, n - 1) * np.sqrt((n - 1) / n * sum(move**2 for move in moves))
        assert low[place] == pytest.approx(d / days * np.exp(-error), rel=1e-9)
        assert high[place] == pytest.approx(d / days * np.exp(error), rel=1e-9)
    assert np.isnan([low[2], high[2]]).all()


def test_a_horse_that_has_all_the_losses_leaves_no_limits():
    low, high = left_out_rate_limits(np.array([4, 0]), np.array([100.0, 100.0]), np.array([0, 0]), 1)
    assert np.isnan([low[0], high[0]]).all()


def test_limits_by_cluster_are_never_narrower_than_by_event_and_none_with_few_clusters():
    group = np.repeat([0, 1, 2, 3], [6, 6, 4, 6])
    events = np.array([5, 3, 1, 0, 0, 0, 1, 1, 1, 1, 1, 1, 2, 2, 2, 2, 9, 1, 0, 0, 0, 0])
    time = np.full(22, 70.0)
    low, high = by_cluster_limits(events, time, group, 4)
    apart = left_out_rate_limits(events, time, group, 4)
    assert (low[0], high[0]) == pytest.approx((apart[0][0], apart[1][0]))
    exact = [limit / 420 for limit in exact_limits(np.array([6.0]))]
    assert (low[1], high[1]) == pytest.approx((exact[0][0], exact[1][0]))
    assert np.isnan([low[2], high[2], low[3], high[3]]).all(), "four clusters; one with nine of ten events"
    one = by_cluster_limits(np.array([1.0]), np.array([70.0]), np.array([0]), 1)
    assert one[1][0] == pytest.approx(5.5716 / 70, rel=1e-4)
