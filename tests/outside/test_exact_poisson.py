"""Exact limits of a Poisson count against published tables and R 4.2.2, `poisson.test(events, exposure)$conf.int`.

garwood: Garwood 1936, Biometrika 28:437. fifteen_in_400: a case of the statsmodels tests, values there from R packages.
diet: heart disease by energy eaten, Clayton & Hills 1993, Statistical Models in Epidemiology; persons' years added up.
pumps: Gaver & O'Muircheartaigh 1987, Technometrics 29:1.
"""

from pathlib import Path

import polars as pl
import pytest

from pipelines.analyses import loss_rates
from pipelines.stats.poisson import exact_limits
from schemas.derived import ShoeSpells
from tests.analyses.drawing import fill
from tests.analyses.recorded import results_of

R = pl.read_csv(Path(__file__).parent / "data" / "exact_poisson_r.csv", schema_overrides={"case": pl.String})
# Three decimals, computed in R; those of tables in print agree (from memory).
PRINTED = {
    0: (0, 3.689), 1: (0.025, 5.572), 3: (0.619, 8.767), 5: (1.623, 11.668), 7: (2.814, 14.423), 10: (4.795, 18.390),
    16: (9.145, 25.983), 25: (16.179, 36.905), 50: (37.111, 65.919),
}  # fmt: skip


@pytest.mark.parametrize("name", R["set"].unique(maintain_order=True))
def test_limits_of_a_rate_are_those_of_r(name):
    rows = R.filter(set=name)
    low, high = (limit / rows["exposure"].to_numpy() for limit in exact_limits(rows["events"].to_numpy()))
    assert low == pytest.approx(rows["lower"].to_numpy(), rel=1e-9)
    assert high == pytest.approx(rows["upper"].to_numpy(), rel=1e-9)


@pytest.mark.parametrize(("events", "limits"), PRINTED.items())
def test_limits_of_a_count_are_the_printed_ones(events, limits):
    assert tuple(float(limit) for limit in exact_limits(events)) == pytest.approx(limits, abs=5e-4)


def test_fifteen_losses_in_400_shoe_days_have_those_limits_in_the_table_of_rates():
    spells = [{"days_on": 25, "end_reason": "lost" if number < 15 else "renewed"} for number in range(16)]
    row = results_of(loss_rates, shoe_spells=fill(ShoeSpells, spells))["loss_rates"].row(0, named=True)
    assert (row["dimension"], row["losses"], row["shoe_days"]) == ("all", 15, 400)
    assert (row["low"], row["high"]) == pytest.approx((20.9884653319583, 61.8505471787146), rel=1e-9)
