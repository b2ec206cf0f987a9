"""Piecewise-exponential models of open sets, against R 4.2.2 `glm(family = poisson, offset = log(time))`.

Limits by cluster: sandwich × G/(G − 1), as `sandwich::vcovCL(type = "HC0", cadjust = TRUE)`. Diabetic eyes: Huster,
Brookmeyer & Self 1989, Biometrics 45:145. Leukaemia: Gehan 1965, Biometrika 52:203.
"""

from pathlib import Path

import numpy as np
import polars as pl
import pytest

from pipelines.stats.piecewise_poisson import Design, piecewise_poisson

DATA = Path(__file__).parent / "data"
EYES = ("diabetic_eyes.csv", "trt", "id")
PAIRS = ("gehan_6mp_x.csv", "control", "pair")
# file columns, cuts, side closed; log rate ratio, its error by cluster, its naive error
CASES = {
    "eyes in five bands": (
        EYES, [6.5, 12.25, 24.25, 36.5], "right", -0.783156174271333, 0.148986166351837, 0.168767331188715,
    ),
    "eyes, one rate": (EYES, [], "right", -0.811691697493262, 0.154235418610708, 0.168580866700608),
    "events on the cuts, bands closed on the right": (
        PAIRS, [5, 8, 12], "right", 1.59940979361817, 0.395252938725496, 0.413789207585039,
    ),
    "events on the cuts, bands closed on the left": (
        PAIRS, [5, 8, 12], "left", 1.19689659453585, 0.399051075064006, 0.454512069632523,
    ),
}  # fmt: skip


def split(time, lost, cuts, closed):
    low, high = np.r_[0, cuts], np.r_[cuts, np.inf]
    at = time[:, None]
    within = np.maximum(np.minimum(at, high) - low, 0)
    here = (at > low) & (at <= high) if closed == "right" else (at >= low) & (at < high)
    return here * lost[:, None] * (within > 0), within


@pytest.mark.parametrize(("columns", "cuts", "closed", "coef", "error", "naive"), CASES.values(), ids=CASES)
def test_rate_ratio_and_both_errors_are_those_of_r(columns, cuts, closed, coef, error, naive):
    file, factor, cluster = columns
    rows = pl.read_csv(DATA / file)
    events, time = split(rows["time"].to_numpy().astype(float), rows["status"].to_numpy(), cuts, closed)
    design = Design([rows[factor].to_numpy()], [np.array([[0.0], [1.0]])])
    horse = np.unique(rows[cluster].to_numpy(), return_inverse=True)[1]
    fit = piecewise_poisson(events, time, np.eye(len(cuts) + 1), design, horse)
    assert fit.converged
    assert [fit.coef[-1], fit.error[-1], fit.naive[-1]] == pytest.approx([coef, error, naive], rel=1e-8)


def test_it_agrees_with_a_library_on_many_factors_and_gaps_between_clusters(many):
    import statsmodels.api as sm

    events, time, codes, measure, horse = many
    design = Design([codes, measure], [np.eye(4)[:, 1:], np.linspace(-2, 2, 9)[:, None]])
    ours = piecewise_poisson(events, time, np.eye(3), design, horse)
    block = np.repeat(design.block(slice(None)), 3, axis=0)
    bands = np.tile(np.eye(3), (len(horse), 1))
    keep = time.ravel() > 0
    theirs = sm.GLM(
        events.ravel()[keep],
        np.hstack([bands, block])[keep],
        family=sm.families.Poisson(),
        offset=np.log(time.ravel()[keep]),
    ).fit(cov_type="cluster", cov_kwds={"groups": np.repeat(horse, 3)[keep], "use_correction": False}, tol=1e-12)
    clusters = len(np.unique(horse))
    assert ours.coef == pytest.approx(theirs.params, rel=1e-6, abs=1e-8)
    assert ours.error == pytest.approx(theirs.bse * np.sqrt(clusters / (clusters - 1)), rel=1e-6)


@pytest.fixture
def many():
    draw = np.random.default_rng(7)
    rows = 600
    horse = draw.integers(0, 60, rows)
    codes, measure = draw.integers(0, 4, rows), draw.integers(0, 9, rows)
    time = np.maximum(np.minimum(draw.integers(1, 60, rows)[:, None], [14, 28, 99]) - np.array([0, 14, 28]), 0.0)
    frailty = draw.gamma(2, 0.5, 60)[horse]
    events = draw.poisson(time * (0.02 * frailty * np.exp(0.2 * (codes == 2) - 0.05 * measure))[:, None])
    return events, time, codes, measure, horse
