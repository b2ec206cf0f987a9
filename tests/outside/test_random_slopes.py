"""Random intercept and slope on two published sets, beside lme4 1.1-31 (R 4.2.2, lmer with bobyqa).

sleepstudy: Belenky et al 2003, J Sleep Res 12:1; reaction time on days of too little sleep, 18 people.
dietox: Lauridsen et al 1999, J Anim Sci 77:906; weight of 72 pigs on weeks.
R call: lmer(y ~ t + (1 + t | unit), REML = TRUE or FALSE).
"""

from pathlib import Path

import numpy as np
import polars as pl
import pytest

from pipelines.stats.random_slopes import LineSums, random_slopes, unit_slopes

DATA = Path(__file__).parent / "data"
SETS = {"sleepstudy": ("Subject", "Days", "Reaction"), "dietox": ("Pig", "Time", "Weight")}
NAMES = (
    "log_likelihood",
    "sd_residual",
    "start",
    "start_error",
    "slope",
    "slope_error",
    "sd_start",
    "sd_slope",
    "corr",
)
LME4 = [
    ("sleepstudy", True, (-871.814135979246, 25.5918158926241, 251.405104848486, 6.82455577627583, 10.467285959596,
                          1.54578893242985, 24.7404476166998, 5.92213325957914, 0.0655513428534642)),
    ("sleepstudy", False, (-875.969672231599, 25.5918158320228, 251.405104848484, 6.63227642115722, 10.4672859595955,
                           1.50223679277189, 23.7805649857756, 5.71683457988983, 0.0813199745870965)),
    ("dietox", True, (-2217.04745914548, 2.45712236651108, 15.7386502189011, 0.55012521790801, 6.93901412440548,
                      0.0798253899139473, 4.41513878187108, 0.645028613806546, 0.103175313420617)),
    ("dietox", False, (-2215.7527930565, 2.45712029225252, 15.7386264630323, 0.546293035490557, 6.93901960652798,
                       0.0792695288140213, 4.38074634946214, 0.640074171289756, 0.104696116131743)),
]  # fmt: skip
SLEEPERS = {"308": 9.19897190422548, "309": -8.61970318296016, "335": -10.7521590858258, "372": 1.28402974532639}


def read(name):
    unit, t, y = (pl.col(column) for column in SETS[name])
    grouped = pl.read_csv(DATA / f"{name}.csv").group_by(unit, maintain_order=True)
    table = grouped.agg(n=pl.len(), t=t.sum(), tt=(t**2).sum(), y=y.sum(), ty=(t * y).sum(), yy=(y**2).sum())
    return table[SETS[name][0]].cast(pl.String), LineSums(*(table[part].to_numpy() for part in LineSums._fields))


@pytest.mark.parametrize(
    ("name", "restricted", "theirs"), LME4, ids=[f"{n} {'REML' if r else 'ML'}" for n, r, _ in LME4]
)
def test_estimates_are_those_of_lme4(name, restricted, theirs):
    fit = random_slopes(read(name)[1], restricted)
    start_error, slope_error = np.sqrt(np.diag(fit.fixed))
    sd_start, sd_slope = np.sqrt(np.diag(fit.spread))
    corr = fit.spread[0, 1] / (sd_start * sd_slope)
    line = (fit.start, start_error, fit.slope, slope_error)
    ours = (fit.log_likelihood, fit.sd_residual, *line, sd_start, sd_slope, corr)
    assert dict(zip(NAMES, ours, strict=True)) == pytest.approx(dict(zip(NAMES, theirs, strict=True)), rel=1e-4)
    assert fit.log_likelihood == pytest.approx(theirs[0], rel=1e-9), "no optimiser stopped early"
    assert not fit.at_edge


def test_each_sleepers_own_slope_is_that_of_lme4():
    people, sleep = read("sleepstudy")
    fit = random_slopes(sleep)
    slopes = dict(zip(people, unit_slopes(sleep, fit)[0] - fit.slope, strict=True))
    assert {person: slopes[person] for person in SLEEPERS} == pytest.approx(SLEEPERS, rel=1e-4)
