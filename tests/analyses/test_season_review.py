from datetime import date, timedelta

import numpy as np
from hypothesis import given, settings

from pipelines.analyses import season_review as analysis
from schemas.derived import ShoeSpells, VisitIntervals
from schemas.exports import Feet, Visits
from tests.analyses import worlds
from tests.analyses.agreement import assert_agree
from tests.analyses.drawing import draw, fill
from tests.analyses.recorded import results_of

SEASON = (date(2025, 3, 1), date(2025, 5, 31))
SPELLS = """
    horse_id | foot | fitted_on  | ended_on   | end_reason
    ash      | LF   | 2025-02-19 | 2025-03-10 | lost
    ash      | RF   | 2025-05-22 | 2025-06-20 | lost
    bay      | LF   | 2025-03-15 | 2025-03-15 | lost
    bay      | RF   | 2025-01-01 | 2025-02-28 | lost
    cob      | LF   | 2025-06-01 | 2025-06-20 | renewed
"""
VISITS = """
    visit_id | horse_id | visit_date | visit_kind | minutes | travel_km
    v0       | ash      | 2025-02-28 | routine    | 60      |
    v1       | ash      | 2025-03-01 | routine    | 60      |
    v2       | bay      | 2025-03-15 | lost_shoe  | 25      | 9
    v3       | ash      | 2025-05-31 | lost_shoe  | 15      |
    v4       | ash      | 2025-06-01 | other      | 15      |
"""
FEET = """
    visit_id | foot | work
    v0       | LF   | fit_new
    v1       | LF   | fit_new
    v1       | RF   | trim
    v3       | RF   | reset
"""


def review(record, season=SEASON, **tables):
    return record(season=season, **tables).results(analysis)


def test_losses_are_those_dated_in_the_season_and_shoe_days_those_that_fall_in_it(record):
    row = review(record, shoe_spells=draw(ShoeSpells, SPELLS))["season_review"].row(0, named=True)
    # ash LF: 1 to 10 March; ash RF: 23 to 31 May; bay LF: lost on the day it was nailed.
    assert row["shoe_days"] == 10 + 9 + 0.5
    assert row["losses"] == 2


def test_visits_are_counted_from_the_first_to_the_last_day_and_lost_shoes_apart(record):
    found = review(record, visits=draw(Visits, VISITS), feet=draw(Feet, FEET))
    row = found["season_review"].row(0, named=True)
    assert (row["visits"], row["horses"], row["shoes_nailed"]) == (3, 2, 2)
    assert (row["lost_shoe_visits"], row["lost_shoe_minutes"], row["lost_shoe_km"]) == (2, 40, 9)
    assert (row["lost_shoe_timed"], row["lost_shoe_driven"]) == (2, 1)
    kinds = found["visit_kinds"].select("visit_kind", "visits").rows()
    assert kinds == [("lost_shoe", 2), ("routine", 1)]


def test_a_visit_after_the_as_of_date_is_not_in_the_season_yet(record):
    tables = {"visits": draw(Visits, VISITS), "feet": draw(Feet, FEET)}
    found = record(as_of=date(2025, 5, 30), season=SEASON, **tables).results(analysis)
    row = found["season_review"].row(0, named=True)
    assert (row["visits"], row["shoes_nailed"], row["lost_shoe_minutes"]) == (2, 1, 25)
    assert sorted(found["visit_kinds"].select("visit_kind", "visits").rows()) == [("lost_shoe", 1), ("routine", 1)]


def test_intervals_are_those_that_end_in_the_season(record):
    drawing = "from_date | to_date\n2025-01-20 | 2025-03-01\n2025-04-01 | 2025-05-31\n2025-05-01 | 2025-06-05"
    row = review(record, visit_intervals=draw(VisitIntervals, drawing))["season_review"].row(0, named=True)
    assert (row["intervals"], row["median_days"]) == (2, 50)


def test_a_season_without_any_record_has_zeros_and_no_rate(record):
    row = review(record)["season_review"].row(0, named=True)
    assert (row["visits"], row["losses"], row["shoe_days"], row["per_1000_days"]) == (0, 0, 0, None)
    assert (row["low"], row["median_days"], row["lost_shoe_minutes"]) == (None, None, 0)


def test_without_a_season_there_is_no_review(record):
    assert review(record, season=None)["season_review"].is_empty()


YEAR = [date(2025, 1, 1) + timedelta(days) for days in range(365)]


def by_hand(visits, feet, spells, intervals):
    """Walks each shoe through its days and looks at each visit, the season being the year 2025."""
    inside = [visit for visit in visits if visit["visit_date"] in YEAR]
    called = [visit for visit in inside if visit["visit_kind"] == "lost_shoe"]
    names = {visit["visit_id"] for visit in inside}
    losses = sum(spell["end_reason"] == "lost" and spell["ended_on"] in YEAR for spell in spells)
    days = sum(map(days_in_season, spells))
    lengths = [row["days"] for row in intervals if row["to_date"] in YEAR]
    return {
        "visits": len(inside),
        "horses": len({visit["horse_id"] for visit in inside}),
        "shoes_nailed": sum(foot["work"] in ("fit_new", "reset") and foot["visit_id"] in names for foot in feet),
        "losses": losses,
        "shoe_days": days,
        "per_1000_days": 1000 * losses / days if days else None,
        "low": None,  # of three horses no range is told
        "high": None,
        "lost_shoe_visits": len(called),
        "lost_shoe_minutes": total(called, "minutes"),
        "lost_shoe_km": total(called, "travel_km"),
        "intervals": len(lengths),
        "median_days": float(np.median(lengths)) if lengths else None,
    }


def days_in_season(spell):
    if spell["days_on"] == 0:
        return 0.5 if spell["fitted_on"] in YEAR else 0
    return sum(spell["fitted_on"] + timedelta(day) in YEAR for day in range(1, spell["days_on"] + 1))


def total(visits, name):
    known = [visit[name] for visit in visits if visit[name] is not None]
    return sum(known) if known or not visits else None


@settings(deadline=None, max_examples=30)
@given(worlds.visits_and_feet(), worlds.spells_about_new_year(), worlds.intervals())
def test_the_review_agrees_with_a_walk_through_the_year(world, spells, intervals):
    visits, feet = world
    tables = {
        "visits": fill(Visits, visits),
        "feet": fill(Feet, feet),
        "shoe_spells": worlds.frame("shoe_spells", spells),
        "visit_intervals": worlds.frame("visit_intervals", intervals),
    }
    found = results_of(analysis, **tables)["season_review"].row(0, named=True)
    assert_agree(found, by_hand(visits, feet, spells, intervals))
