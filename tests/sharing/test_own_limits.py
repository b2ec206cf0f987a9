"""A horse's own figures carry their ranges wherever they stand."""

import polars as pl
import pytest

from pipelines.sharing.own_limits import with_own_limits

# Exact Poisson limits of 0, 3 and 10 events, Wilson limits of 29/94: computed in R, beside the methods.
EXACT = {0: (0, 3.689), 3: (0.619, 8.767), 10: (4.795, 18.390)}


def horse(losses=0, shoe_days=2000.0, bruised=0, looks=0) -> dict:
    row = {"losses": losses, "shoe_days": float(shoe_days), "bruised": bruised, "looks": looks}
    return with_own_limits(pl.DataFrame([row])).to_dicts()[0]


@pytest.mark.parametrize("losses", EXACT)
def test_a_horses_loss_rate_stands_between_exact_limits(losses):
    row, (low, high) = horse(losses), EXACT[losses]
    found = [row[name] for name in ("per_1000_days", "per_1000_low", "per_1000_high")]
    assert found == pytest.approx([losses / 2, low / 2, high / 2], abs=5e-4)


def test_a_horses_share_of_bruised_looks_stands_between_score_limits():
    row = horse(bruised=29, looks=94)
    assert [row["bruised_share"], row["bruised_low"], row["bruised_high"]] == pytest.approx(
        [29 / 94, 0.2242, 0.4079], abs=5e-5
    )
    assert horse(bruised=0, looks=20)["bruised_low"] == 0
    assert horse(bruised=0, looks=20)["bruised_high"] > 0.1


def test_a_horse_without_shoe_days_or_looks_has_no_figure_and_no_range():
    row = horse(shoe_days=0)
    assert {row[name] for name in row if name.startswith(("per_1000", "bruised_"))} == {None}
