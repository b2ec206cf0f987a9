"""Two-state chains beside R 4.2.2 (counts; optim), which agrees with msm 1.7 to 2e-8.

ohio_wheeze: wheeze of children at ages 7 to 10. Ware et al 1984, Am Rev Respir Dis 129:366; Fitzmaurice & Laird 1993,
Biometrika 80:141. Pairs are independent, limits are Wilson's, rates are per year.
"""

from pathlib import Path

import polars as pl
import pytest

from pipelines.stats.two_state import Steps, chance_after, transition_chances, transition_rates

FILE = Path(__file__).parent / "data" / "ohio_wheeze.csv"
CHANCES = ("p01", "p01_low", "p01_high", "p10", "p10_low", "p10_high", "share_in_1", "log_likelihood")
R_CHANCES = {
    "all": (0.0867952522255193, 0.0729157638334643, 0.103023106267605, 0.536121673003802, 0.475764423078693,
            0.59543890523457, 0.139336801923573, -579.351439662169),
    "mother did not smoke": (0.0773542600896861, 0.0615788601621987, 0.0967543554130409, 0.556962025316456,
                             0.479067198205139, 0.632152758233479, 0.121949036891206, -351.345196887652),
}  # fmt: skip
R_RATES = {
    "all": (0.135893757698546, 0.839396013017057, 0.119524273387522, 1 - 0.738284084856977),
    "mother did not smoke": (0.122679083348384, 0.883307395253423, 0.105641453982754, 1 - 0.760633964661263),
}


def steps(group):
    looks = pl.read_csv(FILE).filter((pl.col("smoke") == 0) | (group == "all")).sort("id", "age")
    pairs = looks.with_columns(next=pl.col("wheeze").shift(-1).over("id")).drop_nulls()
    return Steps(*(pairs.filter(wheeze=before, next=after).height for before in (0, 1) for after in (0, 1)))


@pytest.mark.parametrize("group", R_CHANCES)
def test_pooled_chances_and_their_limits(group):
    ours = transition_chances(steps(group))
    assert ours._asdict() == pytest.approx(dict(zip(CHANCES, R_CHANCES[group], strict=True)), rel=1e-9)


@pytest.mark.parametrize("group", R_RATES)
def test_rates_and_the_chances_two_years_on(group):
    rates = transition_rates([1], Steps(*([count] for count in steps(group))))
    assert (rates.q01, rates.q10, *chance_after(rates, 2)) == pytest.approx(R_RATES[group], rel=1e-6)
