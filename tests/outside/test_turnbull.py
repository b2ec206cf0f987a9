"""Breast cosmesis: Beadle et al 1984, in Finkelstein & Wolfe 1985, Biometrics 41:933.

Masses: R 4.2.2, EM run to a gradient of 1e-14 on the intervals of npsurv 0.5-0; to four decimals they are those of
Fay & Shaw 2010, J Stat Softw 36(2) (from memory).
"""

from pathlib import Path

import numpy as np
import polars as pl
import pytest

from pipelines.stats.turnbull import turnbull

DATA = Path(__file__).parent / "data"
MASSES = {
    "RT": {
        (4, 5): 0.046346773992893,
        (6, 7): 0.0333633709346462,
        (7, 8): 0.0886673680627047,
        (11, 12): 0.0707529217923648,
        (24, 25): 0.092645836585013,
        (33, 34): 0.0817857649025475,
        (38, 40): 0.120879827353834,
        (46, 48): 0.465558136375997,
    },
    "RCT": {
        (4, 5): 0.0432826277003544,
        (5, 8): 0.0432826277003545,
        (11, 12): 0.0692055833568841,
        (16, 17): 0.145397715251815,
        (18, 19): 0.141094897746789,
        (19, 20): 0.115745925713891,
        (24, 25): 0.0998653107399417,
        (30, 31): 0.0708813765447713,
        (35, 36): 0.160831107449818,
        (44, 48): 0.0552064138976905,
        (48, 60): 0.0552064138976904,
    },
}
LOG_LIKELIHOOD = {"RT": -58.060021953991, "RCT": -65.6369649076862}
INTERVALS = {"RT": 14, "RCT": 18}


def curve(group):
    rows = pl.read_csv(DATA / "breast_cosmesis.csv").filter(pl.col("group") == group)
    right = rows["right"].cast(pl.Float64).fill_null(np.inf)
    return turnbull(rows["left"].to_numpy(), right.to_numpy(), np.ones(rows.height))


@pytest.mark.parametrize("group", ["RT", "RCT"])
def test_masses_are_those_published(group):
    found = curve(group)
    masses = {(left, right): m for left, right, m in zip(found.left, found.right, found.mass, strict=True) if m > 1e-9}
    assert found.left.size == INTERVALS[group]
    assert masses == pytest.approx(MASSES[group], rel=1e-8)


@pytest.mark.parametrize("group", ["RT", "RCT"])
def test_the_log_likelihood_is_that_of_the_maximum_and_the_gradient_says_so(group):
    found = curve(group)
    assert found.log_likelihood == pytest.approx(LOG_LIKELIHOOD[group], abs=1e-9)
    assert found.converged
    assert found.gap <= 1e-10
