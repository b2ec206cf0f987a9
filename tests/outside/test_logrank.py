"""Log-rank tests of open data sets, against R 4.2.2 with survival 3.5-3, `survdiff(Surv(time, status) ~ group)`."""

from pathlib import Path

import numpy as np
import polars as pl
import pytest

from pipelines.stats.logrank import logrank

DATA = Path(__file__).parent / "data"
CASES = {
    "leukaemia, Gehan 1965, Biometrika 52:203": (
        "gehan_6mp.csv", "treat", 16.7929409892165, 4.16880910933453e-05,
        {"6-MP": (9, 19.2505009480311), "control": (21, 10.7494990519689)},
    ),
    "leukaemia, Miller 1981, Survival Analysis": (
        "aml.csv", "group", 3.3963886989776, 0.0653393220405051,
        {"Maintained": (7, 10.6893359923007), "Nonmaintained": (11, 7.31066400769928)},
    ),
    "lung cancer by sex, Loprinzi et al 1994, J Clin Oncol 12:601": (
        "lung.csv", "sex", 10.3267419548856, 0.00131116452035549,
        {1: (112, 91.5817390295728), 2: (53, 73.4182609704272)},
    ),
    "lung cancer by cell type, Kalbfleisch & Prentice 1980": (
        "veteran.csv", "celltype", 25.4037003457854, 1.27124593900607e-05,
        {"adeno": (26, 15.6937646143605), "large": (26, 34.5494783863493),
         "smallcell": (45, 30.1020793268148), "squamous": (31, 47.6546776724754)},
    ),
}  # fmt: skip


@pytest.mark.parametrize(("file", "group", "chi2", "p_value", "groups"), CASES.values(), ids=CASES)
def test_chi_square_and_expected_events_are_those_of_survdiff(file, group, chi2, p_value, groups):
    rows = pl.read_csv(DATA / file)
    event = pl.col("status") == rows["status"].max()
    days = (
        rows.group_by("time", group)
        .agg(event.sum().alias("lost"), (~event).sum().alias("left"))
        .pivot(group, index="time", values=["lost", "left"])
        .fill_null(0)
        .sort("time")
    )
    lost, left = (days.select([f"{part}_{name}" for name in groups]).to_numpy() for part in ("lost", "left"))
    found = logrank(lost, left)
    assert found.chi2 == pytest.approx(chi2, rel=1e-9)
    assert found.p_value == pytest.approx(p_value, rel=1e-9)
    assert found.df == len(groups) - 1
    assert np.column_stack([found.found, found.expected]) == pytest.approx(np.array(list(groups.values())), rel=1e-9)
