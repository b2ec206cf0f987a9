from math import exp, log, sqrt

import pytest
from hypothesis import given, settings

from pipelines.analyses import retention as analysis
from schemas.derived import ShoeSpells
from tests.analyses import worlds
from tests.analyses.agreement import assert_agree
from tests.analyses.drawing import draw, fill
from tests.analyses.recorded import results_of

SPELLS = """
    horse_id | foot | fitted_on  | ended_on   | end_reason
    ash      | LF   | 2025-01-01 | 2025-01-03 | lost
    ash      | RF   | 2025-01-01 | 2025-01-03 | renewed
    bay      | LH   | 2025-01-01 | 2025-01-05 | renewed
    bay      | RH   | 2025-01-01 | 2025-01-05 | lost
"""


def curve(record, drawing, level="all"):
    table = record(shoe_spells=draw(ShoeSpells, drawing)).results(analysis)["retention"]
    return [row for row in table.to_dicts() if row["level"] == level]


def test_a_shoe_renewed_on_the_day_of_a_loss_was_still_at_risk_for_it(record):
    days = curve(record, SPELLS)
    assert [row["at_risk"] for row in days] == [4, 4, 4, 2, 2]
    assert [row["kept"] for row in days] == [1, 1, 0.75, 0.75, 0.375]


def test_every_day_has_a_row_up_to_the_last_on_which_a_shoe_ended(record):
    assert [row["day"] for row in curve(record, SPELLS)] == [0, 1, 2, 3, 4]
    assert [row["day"] for row in curve(record, SPELLS, "front")] == [0, 1, 2]


def test_limits_are_blank_while_nothing_is_lost_and_once_all_are(record):
    all_lost = """
    fitted_on  | ended_on   | end_reason
    2025-01-01 | 2025-01-02 | lost
    2025-01-01 | 2025-01-03 | lost
    """
    days = curve(record, all_lost)
    assert [row["kept"] for row in days] == [1, 0.5, 0]
    assert [row["kept_low"] is None for row in days] == [True, False, True]
    assert [row["kept_high"] is None for row in days] == [True, False, True]


def weeks(record, spells):
    table = record(shoe_spells=fill(ShoeSpells, spells)).results(analysis)["share_lost_by_weeks"]
    return {row["weeks"]: row for row in table.to_dicts() if row["dimension"] == "all"}


def test_the_share_lost_by_a_booking_interval_is_read_off_the_curve(record):
    lost = [{"days_on": 30, "end_reason": "lost"}] * 5
    kept = [{"days_on": 49, "end_reason": "renewed"}] * 15
    found = weeks(record, lost + kept)
    assert sorted(found) == [4, 5, 6, 7, 8, 9, 10]
    assert (found[4]["share_lost"], found[4]["low"]) == (0, None)
    assert found[4]["note"] == "no shoe was lost by then, so no limits can be drawn"
    assert (found[5]["share_lost"], found[5]["at_risk"]) == (0.25, 15)
    assert found[5]["low"] < 0.25 < found[5]["high"]
    assert found[7]["at_risk"] == 15
    assert (found[8]["share_lost"], found[8]["at_risk"]) == (None, 0)


def test_fewer_than_ten_shoes_at_risk_give_no_share_but_a_reason(record):
    found = weeks(record, [{"days_on": 60, "end_reason": "lost"}] * 9)
    assert found[8] == {
        "dimension": "all",
        "level": "all",
        "weeks": 8,
        "at_risk": 9,
        "share_lost": None,
        "low": None,
        "high": None,
        "low_left_out": None,
        "high_left_out": None,
        "note": "fewer than 10 shoes were followed so long",
    }


def test_ten_shoes_at_risk_are_enough(record):
    found = weeks(record, [{"days_on": 60, "end_reason": "renewed"}] * 9 + [{"days_on": 56, "end_reason": "lost"}])
    assert found[8]["at_risk"] == 10
    assert found[8]["share_lost"] == pytest.approx(0.1)


def test_a_range_from_horses_needs_five_of_them_and_losses_of_more_than_one(record):
    def found(horses, *lost):
        kept = [{"horse_id": horse, "days_on": 60, "end_reason": "renewed"} for horse in horses] * 4
        return weeks(record, [*kept, *({"horse_id": horse, "days_on": 50, "end_reason": "lost"} for horse in lost)])[8]

    none = "fewer than 5 horses, or one has most of the losses by then: no range"
    for row in (found("abcd", *"ab"), found("abcdef", *"aaaaab")):
        assert (row["low_left_out"], row["note"]) == (None, none)
    row = found("abcdef", *"aab")
    assert row["low_left_out"] <= row["low"] < row["share_lost"] < row["high"] < row["high_left_out"]
    assert row["note"] is None


def by_hand(rows):
    """Day by day over the spells themselves."""
    days, kept, variance = [], 1.0, 0.0
    for day in range(max((row["days_on"] for row in rows), default=-1) + 1):
        at_risk = sum(row["days_on"] >= day for row in rows)
        lost = sum(row["days_on"] == day and row["end_reason"] == "lost" for row in rows)
        left = sum(row["days_on"] == day and row["end_reason"] != "lost" for row in rows)
        kept *= 1 - lost / at_risk
        variance += lost / (at_risk * (at_risk - lost)) if at_risk > lost else 0
        low = high = None
        if 0 < kept < 1:
            spread = 1.959964 * sqrt(variance) / -log(kept)
            low, high = kept ** exp(spread), kept ** exp(-spread)
        days.append([day, at_risk, lost, left, kept, low, high])
    return days


@settings(deadline=None, max_examples=30)
@given(worlds.spells())
def test_every_curve_agrees_with_a_count_by_hand(rows):
    table = results_of(analysis, shoe_spells=worlds.frame("shoe_spells", rows))["retention"]
    kinds = {(dimension, row[dimension]) for row in rows for dimension in ("discipline", "end")}
    expected = {("all", "all"): rows} if rows else {}
    expected |= {(name, level): [row for row in rows if row[name] == level] for name, level in kinds}
    found = {key: [list(row[2:9]) for row in part.rows()] for key, part in _levels(table)}
    assert found.keys() == expected.keys()
    for key, part in expected.items():
        for mine, theirs in zip(found[key], by_hand(part), strict=True):
            assert_agree(mine, theirs, key)


def _levels(table):
    return table.group_by("dimension", "level", maintain_order=True)
