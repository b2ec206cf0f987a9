"""Mean cumulative functions with robust variance, beside R 4.2.2, survival 3.5-3 (survfit with id=).

valve_seat: Nelson & Doganaksoy 1989; Nelson 1995, Technometrics 37:147; Meeker & Escobar 1998, table C.8.
five_systems: the worked example of the package reliability, MCF_nonparametric.
bladder1: Byar 1980; Wei, Lin & Weissfeld 1989, JASA 84:1065; recurrences only, deaths end follow-up.
Units are independent and log limits go with z, as in R.
"""

from pathlib import Path

import numpy as np
import polars as pl
import pytest

from pipelines.stats.mean_cumulative import Events, Followed, mean_cumulative

DATA = Path(__file__).parent / "data"
COLUMNS = ("time", "followed", "mean", "error", "low", "high")
R = {
    ("valve_seat", "all"): [
        (61, 41, 0.024390243902439, 0.0240909657719412, 0.00351932347445231, 0.169033623063888),
        (326, 41, 0.51219512195122, 0.109739571761355, 0.336560055829274, 0.779485974068483),
        (404, 40, 0.683536585365854, 0.135938957260981, 0.46289052050748, 1.00935802924065),
        (653, 9, 1.54268751355703, 0.311656074750563, 1.03828585071169, 2.29212866847167),
    ],
    ("five_systems", "all"): [
        (5, 5, 0.2, 0.178885438199983, 0.0346491185068608, 1.15443052301835),
        (25, 2, 3.66666666666667, 0.381031737766272, 2.99100048952916, 4.49496564494406),
    ],
    ("bladder1", "placebo"): [
        (6, 45, 0.393740363860623, 0.084464999868503, 0.258589316854136, 0.599527760926586),
        (24, 34, 1.46040001328853, 0.244232302023643, 1.05225208316337, 2.02686051464154),
        (48, 9, 2.46224450097467, 0.42191237738733, 1.7598491679431, 3.44498158877215),
    ],
    ("bladder1", "pyridoxine"): [
        (6, 27, 0.440971155487284, 0.126050325098975, 0.251823752776796, 0.772189111740172),
        (48, 6, 2.9239398894151, 0.793176013092984, 1.7181589368068, 4.97592178102096),
    ],
    ("bladder1", "thiotepa"): [
        (12, 33, 0.475838437448345, 0.156506075824601, 0.24974356095503, 0.906618844095256),
        (48, 6, 1.85604011968738, 0.474287475633129, 1.12479562352131, 3.06267632434815),
    ],
}


def read(name, group):
    rows = pl.read_csv(DATA / f"{name}.csv")
    unit = {"valve_seat": "id", "five_systems": "system", "bladder1": "id"}[name]
    if name == "bladder1":
        rows = rows.filter(pl.col("treatment") == group)
    else:
        rows = rows.with_columns(stop="time", start=pl.lit(0))
    rows = rows.with_columns(unit=pl.col(unit).rank("dense").cast(pl.Int64) - 1)
    whole = rows.group_by("unit").agg(pl.col("start").min(), pl.col("stop").max())
    events = rows.filter(pl.col("status") == 1)
    return Followed(*(whole[part].to_numpy() for part in Followed._fields)), Events(
        events["unit"].to_numpy(), events["stop"].to_numpy()
    )


@pytest.mark.parametrize(("key", "rows"), R.items(), ids=[" ".join(key) for key in R])
def test_the_curve_its_error_and_its_limits_are_those_of_r(key, rows):
    expected = dict(zip(COLUMNS, np.array(rows).T, strict=True))
    burden = mean_cumulative(*read(*key), expected.pop("time"))
    assert burden._asdict() == {name: pytest.approx(values, rel=1e-9) for name, values in expected.items()}
