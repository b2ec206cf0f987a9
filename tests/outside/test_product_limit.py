"""Retention on open survival data, each subject a shoe, through SQL and all, against R 4.2.2 with survival 3.5-3,
`survfit(Surv(time, status) ~ group, conf.type = "log-log")`.

gehan_6mp: Freireich et al 1963, Blood 21:699; Gehan 1965, Biometrika 52:203. aml: Miller 1981, Survival Analysis.
ovarian: Edmunson et al 1979, Cancer Treat Rep 63:241, by residual disease. R writes limits of 1 while all are kept;
ours are blank there, since nothing can be said of them yet.
"""

from pathlib import Path

import numpy as np
import polars as pl
import pytest

from pipelines.analyses import retention
from schemas.derived import ShoeSpells
from tests.analyses.drawing import fill
from tests.analyses.recorded import results_of

DATA = Path(__file__).parent / "data"
R = pl.read_csv(DATA / "product_limit_r.csv", schema_overrides={"low": pl.Float64, "high": pl.Float64})
FILES = {"gehan_6mp": ("gehan_6mp.csv", "treat"), "aml": ("aml.csv", "group"), "ovarian": ("ovarian.csv", "resid_ds")}
GROUPS = R.select("set", "group").unique(maintain_order=True).rows()
# The first day on which half or fewer are kept, as R gives it; none for ovarian, group 1.
MEDIANS = {
    ("gehan_6mp", "6-MP"): 23, ("gehan_6mp", "control"): 8, ("aml", "Maintained"): 31, ("aml", "Nonmaintained"): 23,
    ("ovarian", "1"): None, ("ovarian", "2"): 464,
}  # fmt: skip


def curve(name, group):
    """The curve of all shoes, made of the subjects of one group."""
    file, column = FILES[name]
    subjects = pl.read_csv(DATA / file, schema_overrides={column: pl.String}).filter(pl.col(column) == group)
    shoes = [
        {"days_on": row["time"], "end_reason": "lost" if row["status"] else "running"} for row in subjects.to_dicts()
    ]
    return results_of(retention, shoe_spells=fill(ShoeSpells, shoes))["retention"].filter(dimension="all")


@pytest.mark.parametrize(("name", "group"), GROUPS, ids=lambda part: part)
def test_the_curve_its_error_and_its_limits_are_those_of_r(name, group):
    theirs = R.filter(set=name, group=group)
    ours = theirs.select("day").join(curve(name, group), on="day", how="left", maintain_order="left")
    assert ours["at_risk"].to_list() == theirs["at_risk"].to_list()
    assert ours["kept"].to_numpy() == pytest.approx(theirs["kept"].to_numpy(), rel=1e-9, abs=1e-12)
    some = (theirs["kept"] > 0) & (theirs["kept"] < 1)
    for limit in ("low", "high"):
        assert ours[f"kept_{limit}"].is_null().to_list() == (~some).to_list()
        assert ours[f"kept_{limit}"].filter(some).to_numpy() == pytest.approx(theirs[limit].filter(some).to_numpy())
    kept, low, high, error = (
        frame[column].filter(some).to_numpy()
        for frame, column in ((ours, "kept"), (ours, "kept_low"), (ours, "kept_high"), (theirs, "error"))
    )
    width = np.log(np.log(low) / np.log(high)) / 2 / 1.959963984540054
    assert width * kept * -np.log(kept) == pytest.approx(error, rel=1e-9)


@pytest.mark.parametrize(("which", "median"), MEDIANS.items(), ids=lambda part: str(part))
def test_the_first_day_on_which_half_are_gone_is_the_median_of_r(which, median):
    half = curve(*which).filter(pl.col("kept") <= 0.5)
    assert (half["day"].min()) == median


def test_limits_are_blank_while_all_are_kept_and_once_none_is():
    control = curve("gehan_6mp", "control")
    blank = control.filter(pl.col("kept_low").is_null())
    assert blank["day"].to_list() == [0, 23]
    assert blank["kept"].to_list() == [1, 0]
