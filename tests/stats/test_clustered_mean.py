import numpy as np
import pytest

from pipelines.stats.clustered_mean import clustered_mean_limits


def limits(*values):
    """Limits from the values of each cluster."""
    totals, units = np.array([sum(own) for own in values], float), np.array([len(own) for own in values], float)
    squares = ((totals**2).sum(), (totals * units).sum(), (units**2).sum())
    return clustered_mean_limits(len(values), totals.sum(), units.sum(), *squares)


def test_clusters_of_one_value_each_give_the_usual_limits_of_a_mean():
    values = np.array([2.0, 3.0, 5.0, 7.0, 11.0])
    error = values.std(ddof=1) / np.sqrt(5)
    found = limits(*([value] for value in values))
    assert found == pytest.approx((values.mean() - 1.959964 * error, values.mean() + 1.959964 * error), rel=1e-6)


def test_limits_are_those_of_a_library_that_clusters_a_mean():
    from statsmodels.regression.linear_model import OLS

    values = ([1.0, 2.0], [4.0], [3.0, 3.5, 5.0], [0.5])
    groups = np.repeat(range(4), [len(own) for own in values])
    fit = OLS(np.concatenate(values), np.ones(7)).fit(
        cov_type="cluster", cov_kwds={"groups": groups, "use_correction": False}
    )
    error = fit.bse[0] * np.sqrt(4 / 3)
    mean = fit.params[0]
    assert limits(*values) == pytest.approx((mean - 1.959964 * error, mean + 1.959964 * error), rel=1e-6)


def test_one_cluster_has_no_limits():
    assert np.isnan(limits([1.0, 2.0])).all()
