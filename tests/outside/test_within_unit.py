"""Conditional Poisson against a library's model with a rate of its own for every horse, which it equals.

Hausman, Hall & Griliches 1984, Econometrica 52:909.
"""

from pathlib import Path

import numpy as np
import polars as pl
import pytest

from pipelines.stats.piecewise_poisson import Design
from pipelines.stats.within_unit import within_unit

DATA = Path(__file__).parent / "data"


def test_it_equals_a_model_with_a_rate_for_every_patient_of_the_diabetic_eyes():
    import statsmodels.api as sm

    rows = pl.read_csv(DATA / "diabetic_eyes.csv")
    kept = rows.filter(pl.col("status").sum().over("id") > 0)
    design = Design([rows["trt"].to_numpy()], [np.array([[0.0], [1.0]])])
    unit = np.unique(rows["id"].to_numpy(), return_inverse=True)[1]
    ours = within_unit(rows["status"].to_numpy()[:, None], rows["time"].to_numpy()[:, None], np.eye(1), design, unit)

    patient = np.unique(kept["id"].to_numpy(), return_inverse=True)[1]
    columns = np.hstack([np.eye(patient.max() + 1)[patient], kept["trt"].to_numpy()[:, None]])
    theirs = sm.GLM(
        kept["status"].to_numpy(), columns, family=sm.families.Poisson(), offset=np.log(kept["time"].to_numpy())
    ).fit(tol=1e-13, maxiter=200)
    clusters = patient.max() + 1
    rest = kept["trt"].to_numpy() * (kept["status"].to_numpy() - theirs.mu)
    score = np.bincount(patient, rest)
    error = np.sqrt((score**2).sum() * clusters / (clusters - 1)) * theirs.bse[-1] ** 2
    assert ours.coef[-1] == pytest.approx(theirs.params[-1], rel=1e-6)
    assert ours.naive[-1] == pytest.approx(theirs.bse[-1], rel=1e-6)
    assert ours.error[-1] == pytest.approx(error, rel=1e-6)
