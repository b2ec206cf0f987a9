import numpy as np
import pytest
from scipy.stats import norm

from pipelines.stats.clustered_proportion import clustered_proportion_limits, clustered_ratio_limits

DRAW = np.random.default_rng(8)
TRIALS = DRAW.integers(1, 12, 30).astype(float)
HITS = DRAW.binomial(TRIALS.astype(int), DRAW.beta(2, 4, 30)).astype(float)
LOWER_TRIALS = DRAW.integers(0, 12, 30).astype(float)
LOWER_HITS = DRAW.binomial(LOWER_TRIALS.astype(int), 0.15).astype(float)
Z = np.array([-1, 1]) * norm.ppf(0.975)


def sums(hits, trials):
    return len(hits), hits.sum(), trials.sum(), (hits**2).sum(), (hits * trials).sum(), (trials**2).sum()


def test_limits_of_a_proportion_are_those_of_a_logit_model_with_a_sandwich_over_clusters():
    from statsmodels.genmod.families import Binomial
    from statsmodels.genmod.generalized_linear_model import GLM

    model = GLM(np.column_stack([HITS, TRIALS - HITS]), np.ones(30), Binomial())
    fit = model.fit(tol=1e-12, cov_type="cluster", cov_kwds={"groups": np.arange(30), "use_correction": False})
    logits = fit.params[0] + Z * fit.bse[0] * np.sqrt(30 / 29)
    assert clustered_proportion_limits(*sums(HITS, TRIALS)) == pytest.approx(1 / (1 + np.exp(-logits)), rel=1e-8)


def totals(parts):
    return parts.sum(axis=0), parts.T @ parts


def test_limits_of_a_ratio_are_those_of_the_formula_by_hand():
    parts = np.column_stack([HITS, TRIALS, LOWER_HITS, LOWER_TRIALS])
    x, n, y, m = parts.sum(axis=0)
    ratio = (x / n) / (y / m)
    shares = [h / x - t / n - lh / y + lt / m for h, t, lh, lt in parts]
    error = np.sqrt(30 / 29 * sum(share**2 for share in shares))
    found = clustered_ratio_limits(30, *totals(parts))
    assert found == pytest.approx(tuple(ratio * np.exp(Z * error)), rel=1e-9)


def test_limits_of_a_ratio_are_those_of_a_poisson_model_with_a_sandwich_over_clusters():
    # The log link on binomial shares has the same scores as Poisson counts with the trials as exposure.
    from statsmodels.genmod.families import Poisson
    from statsmodels.genmod.generalized_linear_model import GLM

    seen = LOWER_TRIALS > 0
    hits, trials = np.append(HITS, LOWER_HITS[seen]), np.append(TRIALS, LOWER_TRIALS[seen])
    upper = np.append(np.ones(30), np.zeros(seen.sum()))
    horse = np.append(np.arange(30), np.arange(30)[seen])
    model = GLM(hits, np.column_stack([np.ones_like(upper), upper]), Poisson(), offset=np.log(trials))
    fit = model.fit(tol=1e-12, cov_type="cluster", cov_kwds={"groups": horse, "use_correction": False})
    theirs = np.exp(fit.params[1] + Z * fit.bse[1] * np.sqrt(30 / 29))
    ours = clustered_ratio_limits(30, *totals(np.column_stack([HITS, TRIALS, LOWER_HITS, LOWER_TRIALS])))
    assert ours == pytest.approx(tuple(theirs), rel=1e-8)


@pytest.mark.parametrize(
    ("hits", "trials"),
    {"one cluster": ([2.0], [5.0]), "none at all": ([0.0, 0.0], [3.0, 4.0]), "all": ([3.0, 4.0], [3.0, 4.0])}.values(),
)
def test_a_proportion_without_spread_to_see_has_no_limits(hits, trials):
    assert np.isnan(clustered_proportion_limits(*sums(np.array(hits), np.array(trials)))).all()


def test_a_ratio_over_nothing_has_no_limits():
    parts = np.array([[1.0, 2.0, 0.0, 3.0], [1.0, 4.0, 0.0, 2.0]])
    assert np.isnan(clustered_ratio_limits(2, *totals(parts))).all()
