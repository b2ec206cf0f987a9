import math

import pytest

from pipelines.analyses import lateness as analysis
from schemas.derived import BruiseSteps, FootSteps, ShoeSpells, VisitIntervals
from schemas.exports import Horses, Visits
from tests.analyses.drawing import draw, fill

HORSES = fill(Horses, [{"horse_id": name, "horse_name": name.title()} for name in ("ash", "bay", "cob", "dun", "elm")])
INTERVALS = """
    horse_id | from_visit_id | to_visit_id | days | days_late
    ash      | a1            | a2          | 42   | 7
    ash      | a2            | a3          | 50   | 8
    bay      | b1            | b2          | 72   | 30
    bay      | b2            | b3          | 30   | -12
    cob      | c1            | c2          | 50   |
"""
# Shoes of 42 days' plan: ash's second lost on day 45, bay's first lost on day 50 and the other kept 72 days.
SPELLS = """
    horse_id | foot | fitted_visit_id | fitted_on  | ended_on   | end_reason
    ash      | LF   | a1              | 2025-01-01 | 2025-02-12 | renewed
    ash      | LF   | a2              | 2025-01-01 | 2025-02-15 | lost
    bay      | LF   | b1              | 2025-01-01 | 2025-02-20 | lost
    bay      | RF   | b1              | 2025-01-01 | 2025-03-14 | renewed
    bay      | LF   | b2              | 2025-01-01 | 2025-01-01 | lost
    cob      | LF   | c1              | 2025-01-01 | 2025-02-20 | lost
    ash      | RF   | called          | 2025-01-01 | 2025-01-31 | lost
"""
VISITS = [{"visit_id": name, "horse_id": "ash", "planned_weeks": 6} for name in ("a1", "a2", "b1", "b2")]
VISITS += [{"visit_id": name, "horse_id": "ash"} for name in ("c1", "called")]


def results(record, **tables):
    drawn = {"horses": HORSES, "visit_intervals": draw(VisitIntervals, INTERVALS), "visits": fill(Visits, VISITS)}
    return record(**drawn | tables).results(analysis)


def levels(record, **tables):
    return {(row["dimension"], row["level"]): row for row in results(record, **tables)["lateness"].to_dicts()}


def test_an_interval_is_late_by_the_days_past_its_plan_and_7_is_not_late(record):
    found = results(record)["lateness"].select("level", "intervals", "horses").rows()
    assert found == [
        ("more than 7 days early", 1, 1),
        ("within 7 days", 1, 1),
        ("8 to 14 days late", 1, 1),
        ("over 28 days late", 1, 1),
    ]


def test_shoes_belong_to_the_interval_that_begins_where_they_were_nailed_on(record):
    found = levels(record, shoe_spells=draw(ShoeSpells, SPELLS))
    rows = {
        level: (row["shoes"], row["losses"], row["shoe_days"])
        for (kind, level), row in found.items()
        if kind == "interval"
    }
    assert rows == {
        "more than 7 days early": (1, 1, 0.5),
        "within 7 days": (1, 0, 42),
        "8 to 14 days late": (1, 1, 45),
        "over 28 days late": (2, 1, 50 + 72),
    }


def test_a_shoes_days_and_its_loss_fall_where_it_stood_against_its_plan_on_the_day(record):
    found = levels(record, shoe_spells=draw(ShoeSpells, SPELLS))
    past = {
        level: (row["shoes"], row["losses"], row["shoe_days"])
        for (kind, level), row in found.items()
        if kind != "interval"
    }
    assert past == {
        "before it was due": (5, 1, 4 * 42 + 0.5),
        "1 to 7 days past": (3, 1, 3 + 7 + 7),
        "8 to 14 days past": (2, 1, 1 + 7),
        "15 to 28 days past": (1, 0, 14),
        "over 28 days past": (1, 0, 2),
        "on any day past it": (3, 2, 41),
        "no day agreed": (2, 2, 50 + 30),
    }
    before = found["days_past_plan", "before it was due"]
    assert before["per_1000_days"] == pytest.approx(1000 / 168.5)
    assert before["high"] == pytest.approx(1000 * 5.571643 / 168.5, rel=1e-6), "Garwood 1936: one event, up to 5.5716"
    assert before["note"] == "fewer than 2 losses: the rate means little"


def test_angle_and_bruises_are_of_steps_between_the_very_visits_of_the_interval(record):
    angles = """
        horse_id | foot | from_visit_id | to_visit_id | angle_change_deg
        bay      | LF   | b1            | b2          | -4.0
        bay      | RF   | b1            | b2          | -5.0
        bay      | LH   | b1            | called      | 9.0
        bay      | RH   | b1            | b2          |
    """
    bruises = """
        horse_id | foot | from_visit_id | to_visit_id | bruise_from | bruise_to
        bay      | LF   | b1            | b2          | 1           | 2
        bay      | RF   | b1            | b2          | 2           | 0
        bay      | LH   | b1            | b2          | 0           | 1
        bay      | RH   | b1            | called      | 1           | 1
    """
    found = levels(record, foot_steps=draw(FootSteps, angles), bruise_steps=draw(BruiseSteps, bruises))
    late = found["interval", "over 28 days late"]
    assert (late["steps"], late["mean_change_deg"], late["change_low"]) == (2, -4.5, None)
    assert (late["steps_bruised"], late["bruised_to_bruised"], late["chance_again"]) == (2, 1, 0.5)
    assert (late["steps_clear"], late["chance_new"]) == (1, 1.0)
    assert (late["horses_clear"], late["horses_bruised"], late["new_low"]) == (1, 1, None)
    assert found["interval", "within 7 days"]["steps"] is None


def test_limits_of_the_angle_have_horses_as_the_sampling_units(record):
    intervals = (
        "horse_id | from_visit_id | to_visit_id | days_late\n ash | a | A | 9\n bay | b | B | 9\n cob | c | C | 9"
    )
    angles = """
        horse_id | from_visit_id | to_visit_id | angle_change_deg
        ash      | a             | A           | -2
        bay      | b             | B           | -3
        cob      | c             | C           | -4
    """
    found = levels(record, visit_intervals=draw(VisitIntervals, intervals), foot_steps=draw(FootSteps, angles))[
        "interval", "8 to 14 days late"
    ]
    half = 1.959964 / 3**0.5
    assert (found["change_low"], found["change_high"]) == pytest.approx((-3 - half, -3 + half), rel=1e-6)


def test_limits_of_both_bruise_chances_have_horses_as_the_sampling_units(record):
    """Each of three horses has two clear feet and two bruised: 1, 0, 1 new and 2, 1, 0 again."""
    intervals = (
        "horse_id | from_visit_id | to_visit_id | days_late\n ash | a | A | 9\n bay | b | B | 9\n cob | c | C | 9"
    )
    seen = {"ash": ((0, 1), (0, 0), (1, 1), (1, 1)), "bay": ((0, 0), (0, 0), (1, 1), (1, 0)),
            "cob": ((0, 2), (0, 0), (1, 0), (1, 0))}  # fmt: skip
    steps = [
        {"horse_id": horse, "foot": foot, "from_visit_id": horse[0], "to_visit_id": horse[0].upper(),
         "bruise_from": before, "bruise_to": after}
        for horse, feet in seen.items() for foot, (before, after) in zip(("LF", "RF", "LH", "RH"), feet, strict=True)
    ]  # fmt: skip
    found = levels(record, visit_intervals=draw(VisitIntervals, intervals), bruise_steps=fill(BruiseSteps, steps))
    row = found["interval", "8 to 14 days late"]
    assert (row["horses_clear"], row["horses_bruised"], row["chance_new"], row["chance_again"]) == (3, 3, 1 / 3, 0.5)
    for name, hits in (("new", (1, 0, 1)), ("again", (2, 1, 0))):
        share = sum(hits) / 6
        error = (1.5 * sum((hit - 2 * share) ** 2 for hit in hits)) ** 0.5 / 6 / (share * (1 - share))
        logit = math.log(share / (1 - share))
        limits = [1 / (1 + math.exp(-logit - sign * 1.959964 * error)) for sign in (-1, 1)]
        assert [row[f"{name}_low"], row[f"{name}_high"]] == pytest.approx(limits, rel=1e-6)


def slipping(record, late):
    rows = [
        {
            "horse_id": horse,
            "from_visit_id": f"{horse}{place}",
            "from_date": f"202{place}-01-01",
            "to_date": f"202{place}-02-01",
            "days_late": days,
        }
        for horse, each in late.items()
        for place, days in enumerate(each)
    ]
    found = results(record, visit_intervals=fill(VisitIntervals, rows))["lateness_trend"]
    return {row["horse_id"]: row for row in found.to_dicts()}


def test_a_horse_that_is_seen_later_each_year_is_slipping_and_others_are_not(record):
    late = {
        "ash": (0, 10, 21, 29, 40),
        "bay": (1, 0, 2, 1, 0),
        "cob": (3, 3, 2, 4, 3),
        "dun": (0, -1, 1, 0, 0),
        "elm": (5, 6),
    }
    found = slipping(record, late)
    assert found["ash"]["days_later_per_year"] == pytest.approx(10, abs=0.3)
    assert {horse: row["slipping"] for horse, row in found.items()} == {
        "ash": True, "bay": False, "cob": False, "dun": False, "elm": None,
    }  # fmt: skip
    assert (found["ash"]["mean_days_late"], found["ash"]["horse_name"]) == (20, "Ash")
    assert found["elm"]["note"] == "fewer than 4 intervals with a plan"


def test_too_few_horses_have_no_trend_to_be_drawn_to(record):
    found = slipping(record, {"ash": (0, 10, 21, 29), "bay": (1, 0, 2, 1)})
    assert (found["ash"]["days_later_per_year"], found["ash"]["note"]) == (
        None,
        "too little to fit a trend to all horses",
    )


def test_an_empty_record_gives_empty_tables(record):
    assert {frame.height for frame in record().results(analysis).values()} == {0}
