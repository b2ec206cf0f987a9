from collections import defaultdict
from datetime import date, timedelta

from hypothesis import given, settings

from pipelines.analyses import workload as analysis
from schemas.exports import Feet, Visits
from tests.analyses import worlds
from tests.analyses.agreement import assert_agree
from tests.analyses.drawing import draw, fill
from tests.analyses.recorded import results_of

VISITS = """
    visit_id | horse_id | visit_date | farrier | visit_kind | minutes | fee | travel_km
    v1       | ash      | 2025-03-31 | Ada     | routine    | 60      | 90  | 12
    v2       | bay      | 2025-04-01 | Ada     | routine    | 45      |     |
    v3       | bay      | 2025-04-06 | Ada     | lost_shoe  | 20      |     | 8
    v4       | ash      | 2025-04-07 |         | lost_shoe  |         |     |
"""
FEET = """
    visit_id | foot | work
    v1       | LF   | fit_new
    v1       | RF   | reset
    v1       | LH   | trim
    v2       | LF   | trim
    v3       | LF   | reset
    v3       | RF   | none
"""


def work(record):
    tables = {"visits": draw(Visits, VISITS), "feet": draw(Feet, FEET)}
    table = record(**tables).results(analysis)["workload"]
    return {(row["period"], str(row["starts_on"]), row["farrier"]): row for row in table.to_dicts()}


def test_a_week_starts_on_monday_and_runs_over_the_end_of_a_month(record):
    week = work(record)["week", "2025-03-31", "Ada"]
    assert (week["visits"], week["horses"], week["shoes_nailed"], week["feet_trimmed"]) == (3, 2, 3, 2)
    assert (week["minutes"], week["fee"], week["travel_km"]) == (125, 90, 20)
    assert work(record)["month", "2025-03-01", "Ada"]["visits"] == 1


def test_a_visit_after_the_as_of_date_is_no_work_yet(record):
    table = record(as_of=date(2025, 4, 1), visits=draw(Visits, VISITS)).results(analysis)["workload"]
    weeks = table.filter(period="week").select("starts_on", "farrier", "visits").rows()
    assert weeks == [(date(2025, 3, 31), "Ada", 2)]


def test_the_minutes_and_the_way_of_lost_shoes_stand_apart(record):
    april = work(record)["month", "2025-04-01", "Ada"]
    assert (april["lost_shoe_visits"], april["lost_shoe_minutes"], april["lost_shoe_km"]) == (1, 20, 8)
    march = work(record)["month", "2025-03-01", "Ada"]
    assert (march["lost_shoe_visits"], march["lost_shoe_minutes"], march["lost_shoe_km"]) == (0, 0, 0)


def test_minutes_that_were_never_written_down_are_blank_and_not_0(record):
    unnamed = work(record)["week", "2025-04-07", "not recorded"]
    assert (unnamed["visits"], unnamed["minutes"], unnamed["lost_shoe_minutes"]) == (1, None, None)


def test_weeks_come_before_months_and_early_before_late(record):
    order = list(work(record))
    assert order == sorted(order, key=lambda key: (key[0] == "month", key[1:]))


def by_hand(visits, feet):
    """Every visit up to the as-of date of 2026-01-01, put into its week and its month one by one."""
    rows = defaultdict(list)
    for visit in visits:
        day = visit["visit_date"]
        if day > date(2026, 1, 1):
            continue
        farrier = visit["farrier"] or "not recorded"
        rows["week", day - timedelta(day.weekday()), farrier].append(visit)
        rows["month", day.replace(day=1), farrier].append(visit)
    return {key: _added(members, feet) for key, members in rows.items()}


def _added(visits, feet):
    called = [visit for visit in visits if visit["visit_kind"] == "lost_shoe"]
    done = [foot["work"] for visit in visits for foot in feet if foot["visit_id"] == visit["visit_id"]]
    return {
        "visits": len(visits),
        "horses": len({visit["horse_id"] for visit in visits}),
        "feet_trimmed": done.count("trim"),
        "shoes_nailed": done.count("fit_new") + done.count("reset"),
        "minutes": _total(visits, "minutes"),
        "fee": _total(visits, "fee"),
        "travel_km": _total(visits, "travel_km"),
        "lost_shoe_visits": len(called),
        "lost_shoe_minutes": _total(called, "minutes") if called else 0,
        "lost_shoe_km": _total(called, "travel_km") if called else 0,
    }


def _total(visits, name):
    known = [visit[name] for visit in visits if visit[name] is not None]
    return sum(known) if known else None


@settings(deadline=None, max_examples=30)
@given(worlds.visits_and_feet())
def test_every_week_and_month_agrees_with_adding_up_by_hand(world):
    visits, feet = world
    table = results_of(analysis, visits=fill(Visits, visits), feet=fill(Feet, feet))["workload"]
    found = {(row["period"], row["starts_on"], row["farrier"]): row for row in table.to_dicts()}
    expected = by_hand(visits, feet)
    assert found.keys() == expected.keys()
    for key, row in expected.items():
        assert_agree(found[key], row, key)
