from collections import defaultdict
from math import exp, sqrt

import polars as pl
import pytest
from hypothesis import given, settings
from scipy.special import chdtri

from pipelines.analyses import loss_rates as analysis
from schemas.derived import ShoeSpells
from tests.analyses import worlds
from tests.analyses.agreement import assert_agree
from tests.analyses.drawing import draw
from tests.analyses.recorded import results_of

SPELLS = """
    horse_id | foot | discipline | farrier | fitted_on  | ended_on   | end_reason
    ash      | LF   | trail      | Ada     | 2025-01-01 | 2025-01-21 | lost
    ash      | RF   | trail      |         | 2025-01-01 | 2025-01-01 | lost
    bay      | LH   | polo       | Ada     | 2025-01-01 | 2025-02-10 | renewed
    bay      | RH   | polo       | Ada     | 2025-01-01 | 2025-02-10 | running
"""


def rates(record, drawing):
    table = record(shoe_spells=draw(ShoeSpells, drawing)).results(analysis)["loss_rates"]
    return {(row["dimension"], row["level"]): row for row in table.to_dicts()}


def test_a_shoe_still_on_adds_its_days_but_no_loss(record):
    polo = rates(record, SPELLS)["discipline", "polo"]
    assert (polo["horses"], polo["shoes"], polo["losses"], polo["shoe_days"]) == (1, 2, 0, 80)
    assert polo["per_1000_days"] == 0


def test_a_shoe_lost_on_the_day_it_was_nailed_counts_half_a_day(record):
    trail = rates(record, SPELLS)["discipline", "trail"]
    assert trail["shoe_days"] == 20.5
    assert trail["per_1000_days"] == pytest.approx(2 / 20.5 * 1000)
    assert trail["per_100_shoes"] == 100


def test_a_blank_level_is_called_not_recorded_and_comes_last(record):
    levels = [level for dimension, level in rates(record, SPELLS) if dimension == "farrier"]
    assert levels == ["Ada", "not recorded"]


def test_limits_by_horse_are_blank_with_a_reason_below_two_losses_or_two_horses(record):
    found = rates(record, SPELLS)
    assert found["discipline", "polo"]["low_clustered"] is None
    assert found["discipline", "polo"]["note"].startswith("fewer than 2 losses")
    assert found["discipline", "trail"]["high_clustered"] is None
    assert found["discipline", "trail"]["note"].startswith("one horse only")
    assert found["all", "all"]["low_clustered"] > 0
    assert found["all", "all"]["note"] == "fewer than 5 horses, or one has most of the losses: no range"
    assert found["all", "all"]["low_left_out"] is None


SIX_HORSES = """
    horse_id | foot | discipline | farrier | fitted_on  | ended_on   | end_reason
    ash      | LF   | trail      | Ada     | 2025-01-01 | 2025-02-10 | lost
    bay      | LF   | trail      | Ada     | 2025-01-01 | 2025-02-10 | lost
    cob      | LF   | trail      | Ada     | 2025-01-01 | 2025-02-10 | lost
    dun      | LF   | trail      | Ada     | 2025-01-01 | 2025-02-10 | lost
    elm      | LF   | trail      | Ada     | 2025-01-01 | 2025-02-10 | lost
    fox      | LF   | polo       | Ada     | 2025-01-01 | 2025-02-10 | renewed
"""


def test_five_horses_that_are_alike_have_a_sixth_of_a_loss_added_to_set_their_rate_to_the_middle(record):
    """Kenne Pagui, Salvan & Sartori 2017: y + 1/6 for a Poisson count; here exp(1/30) for five losses, 5.17."""
    found = rates(record, SIX_HORSES)
    trail, polo = found["discipline", "trail"], found["discipline", "polo"]
    assert trail["per_1000_median_unbiased"] == pytest.approx(trail["per_1000_days"] * exp(1 / 30))
    assert polo["per_1000_median_unbiased"] is None  # no loss, and one horse
    assert rates(record, SPELLS)["all", "all"]["per_1000_median_unbiased"] is None  # two horses


DIMENSIONS = ("discipline", "pace", "foot", "end", "farrier", "yard", "season", "shoe_style")


def by_hand(rows):
    """Loops and dicts: each level's horses, each with losses and days."""
    levels = defaultdict(lambda: defaultdict(lambda: [0, 0, 0.0]))
    for row in rows:
        for dimension in ("all", *DIMENSIONS):
            level = "all" if dimension == "all" else row[dimension] or "not recorded"
            horse = levels[dimension, level][row["horse_id"]]
            horse[0] += 1
            horse[1] += row["end_reason"] == "lost"
            horse[2] += row["days_on"] or 0.5
    return {key: _rate(list(horses.values())) for key, horses in levels.items()}


def _rate(horses):
    losses, days = sum(horse[1] for horse in horses), sum(horse[2] for horse in horses)
    rate, n = losses / days, len(horses)
    row = {"horses": n, "shoes": sum(horse[0] for horse in horses), "losses": losses, "shoe_days": days}
    row["low"] = 1000 * (chdtri(2 * losses, 0.975) / 2 / days if losses else 0)
    row["high"] = 1000 * chdtri(2 * losses + 2, 0.025) / 2 / days
    if losses >= 2 and n >= 2:
        error = sqrt(n / (n - 1) * sum((d - rate * t) ** 2 for _, d, t in horses)) / losses
        row["low_clustered"] = 1000 * rate * exp(-1.959964 * error)
        row["high_clustered"] = 1000 * rate * exp(1.959964 * error)
    else:
        row["low_clustered"] = row["high_clustered"] = None
    return row


@settings(deadline=None, max_examples=30)
@given(worlds.spells())
def test_every_level_agrees_with_a_count_by_hand(rows):
    table = results_of(analysis, shoe_spells=worlds.frame("shoe_spells", rows))["loss_rates"]
    found = {(row["dimension"], row["level"]): row for row in table.to_dicts()}
    expected = by_hand(rows)
    assert found.keys() == expected.keys()
    for key, row in expected.items():
        assert_agree(found[key], row, key)


def test_levels_stand_in_the_order_of_the_dimensions(record):
    table = record(shoe_spells=draw(ShoeSpells, SPELLS)).results(analysis)["loss_rates"]
    assert table["dimension"].unique(maintain_order=True).to_list() == ["all", *DIMENSIONS]
    assert table["per_1000_days"].dtype == pl.Float64
