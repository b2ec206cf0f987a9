"""Entries of the calendar: those to come, those a later load ended, a revision that grows only with what changed."""

from datetime import UTC, date, datetime, timedelta

import pytest

from pipelines.analyses import calendar_entries as analysis
from tests.store.drawn import records, world

HORSES = """
    horse_id | horse_name | discipline
    ash      | Ash        | trail
    bay      | Bay        | trail
"""
# Bay goes by its own median of three intervals, 42 days.
FIRST = """
    visit_id | horse_id | visit_date | visit_kind | planned_weeks
    a1       | ash      | 2025-01-06 | routine    | 6
    b0       | bay      | 2024-09-02 | routine    |
    b1       | bay      | 2024-10-14 | routine    |
    b2       | bay      | 2024-11-25 | routine    |
    b3       | bay      | 2025-01-06 | routine    |
"""
SEEN = "a2 | ash | 2025-02-20 | routine | 8"
BAY_SEEN = "b4 | bay | 2025-02-21 | routine | "
OPENED = datetime(2025, 1, 7, 20, 0, tzinfo=UTC)
PUBLISHED = date(2025, 1, 7)
AS_OF_FIRST_LOAD = datetime(2025, 1, 7, 0, 0, 1, tzinfo=UTC).replace(tzinfo=None)


@pytest.fixture
def publish(store):
    """publish(visits, day) → the entries after the load of these visits; without visits the store as it stands."""
    loads = []

    def run(visits: str | None, as_of: date = PUBLISHED) -> list[dict]:
        if visits:
            loads.append(OPENED + timedelta(minutes=len(loads)))
            store.take_in(records(world(horses=HORSES, visits=visits), as_of), loads[-1])
        store.derive(as_of)
        if visits:
            store.finish_load(loads[-1])
        counts = {name: store.sql(query) for name, query in analysis.COUNTS.items()}
        return analysis.calendar_entries(counts)["calendar_entries"].to_dicts()

    return run


def days(entries):
    return {entry["round_visit_id"]: (entry["due_on"], entry["seen_again_on"]) for entry in entries}


def revisions(entries):
    return {entry["round_visit_id"]: (entry["revision"], entry["revised_at"]) for entry in entries}


def and_also(*lines: str) -> str:
    return "\n".join([FIRST.rstrip(), *lines])


def test_an_entry_is_on_the_day_the_horse_is_due_and_is_revised_as_of_its_load(publish):
    entries = publish(FIRST)
    assert days(entries) == {"a1": (date(2025, 2, 17), None), "b3": (date(2025, 2, 17), None)}
    assert {entry["revised_at"] for entry in entries} == {AS_OF_FIRST_LOAD}


def test_a_plan_corrected_on_the_same_day_raises_the_revision_of_that_horse_only(publish):
    before = revisions(publish(FIRST))
    after = revisions(publish(FIRST.replace("2025-01-06 | routine    | 6", "2025-01-06 | routine    | 5")))
    assert after["a1"][0] > before["a1"][0]
    assert after["a1"][1] == AS_OF_FIRST_LOAD + timedelta(seconds=1)
    assert after["b3"] == before["b3"]


def test_the_same_export_again_and_the_store_as_it_stands_change_no_entry(publish):
    first = publish(FIRST)
    assert publish(FIRST) == first
    assert publish(None) == first


def test_a_horse_seen_by_a_later_load_leaves_its_old_entry_to_be_cancelled(publish):
    before = revisions(publish(FIRST))
    entries = publish(and_also(SEEN), date(2025, 2, 20))
    assert days(entries) == {
        "b3": (date(2025, 2, 17), None),
        "a2": (date(2025, 4, 17), None),
        "a1": (date(2025, 2, 17), date(2025, 2, 20)),
    }
    after = revisions(entries)
    assert after["a1"][0] > after["a2"][0] > before["a1"][0]


def test_a_day_reckoned_by_the_own_median_is_cancelled_on_the_day_it_was(publish):
    publish(FIRST)
    entries = publish(and_also(BAY_SEEN), date(2025, 2, 21))
    # its four intervals are now 42, 42, 42 and 46 days; the old entry was reckoned from three
    assert days(entries)["b3"] == (date(2025, 2, 17), date(2025, 2, 21))


def test_visits_that_came_with_one_load_were_in_no_calendar_and_cancel_nothing(publish):
    entries = publish(and_also(SEEN), date(2025, 2, 20))
    assert set(days(entries)) == {"a2", "b3"}


def test_a_visit_corrected_in_the_load_that_ends_its_entry_was_in_a_calendar_all_the_same(publish):
    publish(FIRST)
    corrected = and_also(SEEN).replace("2025-01-06 | routine    | 6", "2025-01-06 | routine    | 7")
    assert days(publish(corrected, date(2025, 2, 20)))["a1"] == (date(2025, 2, 24), date(2025, 2, 20))


def test_a_cancelled_entry_is_left_out_once_60_days_have_passed(publish):
    publish(FIRST)
    publish(and_also(SEEN), date(2025, 2, 20))
    last = date(2025, 2, 20) + timedelta(days=60)
    assert "a1" in days(publish(None, last))
    assert "a1" not in days(publish(None, last + timedelta(days=1)))


def test_a_visit_found_to_be_no_round_brings_the_old_entry_back_with_a_higher_revision(publish):
    publish(FIRST)
    cancelled = revisions(publish(and_also(SEEN), date(2025, 2, 20)))
    entries = publish(and_also(SEEN.replace("routine", "lost_shoe")), date(2025, 2, 20))
    assert days(entries)["a1"] == (date(2025, 2, 17), None)
    assert revisions(entries)["a1"][0] > cancelled["a1"][0]


def test_a_horse_not_seen_for_half_a_year_has_no_entry(publish):
    publish(FIRST)
    assert publish(None, PUBLISHED + timedelta(days=182)) == []
