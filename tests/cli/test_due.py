"""The due list beside the pages: a calendar that a second publish updates, a sheet, and days over a chosen load."""

import re
from datetime import date

import pytest
from icalendar import Calendar


@pytest.fixture
def places(tmp_path):
    return ["--store", tmp_path / "practice.duckdb", "--site", tmp_path / "site"]


def events(site):
    """Summary → (UID, day) of each event."""
    calendar = Calendar.from_ical((site / "due.ics").read_bytes())
    return {str(event["summary"]): (str(event["uid"]), event["dtstart"].dt) for event in calendar.walk("VEVENT")}


def test_only_pages_are_counted_as_pages(shoeing, export, places):
    said = shoeing("publish", export, *places)
    site = places[-1]
    assert (site / "due.csv").is_file()
    assert (site / "due.ics").is_file()
    assert f"{len(list(site.glob('*.html')))} pages written" in said.out


def test_a_corrected_plan_moves_an_event_and_doubles_none(shoeing, export, places):
    shoeing("publish", export, *places)
    first = events(places[-1])
    # Ash's round of 12 February and Bay's of 2 January, 6 weeks on; Bay's call-out for a lost shoe moves no day
    assert {name: day for name, (_, day) in first.items()} == {
        "Due: Made Up Ash": date(2025, 3, 26),
        "Due: Made Up Bay": date(2025, 2, 13),
    }
    visits = (export / "visits.csv").read_text(encoding="utf-8")
    longer = visits.replace("2025-02-12,A,routine,60,6", "2025-02-12,A,routine,60,8")
    (export / "visits.csv").write_text(longer, encoding="utf-8")
    shoeing("publish", export, *places)
    second = events(places[-1])
    assert second["Due: Made Up Ash"] == (first["Due: Made Up Ash"][0], date(2025, 4, 9))
    assert second["Due: Made Up Bay"] == first["Due: Made Up Bay"]


def test_nothing_private_gets_into_either_file(shoeing, export, places):
    shoeing("publish", export, *places)
    written = b"".join((places[-1] / name).read_bytes() for name in ("due.csv", "due.ics"))
    assert b"Made Up Ash" in written
    for secret in (b"Private Person", b"secret@example.org", b"very private note"):
        assert secret not in written


def test_days_over_the_load_asked_for_are_counted(shoeing, export, places):
    shoeing("publish", export, *places, "--day-load", 1)
    page = (places[-1] / "season.html").read_text(encoding="utf-8")
    # four visits on four days
    assert "None of 4 days held more than 1 horse." in page
    refused = shoeing("publish", export, *places, "--day-load", 0)
    assert refused.code == 2
    assert re.search("day-load", refused.err)
