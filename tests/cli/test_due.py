"""The due list beside the pages: a calendar that a second publish updates, a sheet, and days over a chosen load."""

import re
from datetime import date

import pytest
from icalendar import Calendar


@pytest.fixture
def places(tmp_path):
    return ["--store", tmp_path / "practice.duckdb", "--site", tmp_path / "site"]


def told(site):
    """The events of the calendar."""
    return Calendar.from_ical((site / "due.ics").read_bytes()).walk("VEVENT")


def events(site):
    """Summary → (UID, day) of each event."""
    return {str(event["summary"]): (str(event["uid"]), event["dtstart"].dt) for event in told(site)}


def sequences(site):
    """UID → (SEQUENCE, STATUS) of each event."""
    return {str(event["uid"]): (event["sequence"], str(event.get("status", ""))) for event in told(site)}


def test_only_pages_are_counted_as_pages(shoeing, export, places):
    said = shoeing("publish", export, *places)
    site = places[-1]
    assert (site / "due.csv").is_file()
    assert (site / "due.ics").is_file()
    assert f"{len(list(site.glob('*.html')))} pages written" in said.out


def test_a_corrected_plan_moves_an_event_and_doubles_none(shoeing, export, places):
    shoeing("publish", export, *places)
    first, before = events(places[-1]), sequences(places[-1])
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
    # the last day on record is the same, and yet a client must see that Ash's event is a newer one and Bay's is not
    after = sequences(places[-1])
    ash, bay = (first[name][0] for name in ("Due: Made Up Ash", "Due: Made Up Bay"))
    assert after[ash][0] > before[ash][0]
    assert after[bay] == before[bay]


def test_publishing_again_what_has_not_changed_changes_no_byte_of_the_calendar(shoeing, export, places):
    shoeing("publish", export, *places)
    calendar = (places[-1] / "due.ics").read_bytes()
    shoeing("publish", export, *places)
    assert (places[-1] / "due.ics").read_bytes() == calendar
    shoeing("publish", *places)
    assert (places[-1] / "due.ics").read_bytes() == calendar


def test_a_horse_seen_since_has_its_old_event_cancelled(shoeing, export, places):
    shoeing("publish", export, *places)
    (old, _), before = events(places[-1])["Due: Made Up Ash"], sequences(places[-1])
    assert {status for _, status in before.values()} == {""}
    with (export / "visits.csv").open("a", encoding="utf-8") as file:
        file.write("V9,H1,2025-03-20,A,routine,60,6,,\n")
    shoeing("publish", export, *places)
    after = sequences(places[-1])
    assert after[old] == (after[old][0], "CANCELLED")
    assert after[old][0] > before[old][0]
    assert len(after) == 3


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
