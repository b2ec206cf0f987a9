"""The due list as a page and as files: who is overdue or due, a calendar that is sound, a sheet that runs nothing."""

import csv
from datetime import date, timedelta

import pytest
from icalendar import Calendar

from reports.site import write_site
from schemas.cells import as_it_was
from tests.reports.horse_pages import listed_horse
from tests.reports.parsing import called, every, parsed, said, table_rows
from tests.reports.practice import ABOUT, practice, results
from tests.reports.rounds import due_on, entries, entry, silent
from tests.reports.test_sentences import answer, page

OVERDUE, AHEAD = "Who is overdue?", "Who is due in the next 6 weeks?"
LATER, SILENT = "Who is due later, or on no day that is known?", "Who has not been seen for half a year?"
FILES = "How does this list get into a calendar or a spreadsheet?"
HERD = [
    due_on("A", "Ash", 9, chance_lost=0.4),
    due_on("B", "Bay", 3),
    due_on("C", "Cob", 0, chance_lost=0.12),
    due_on("D", "Dun", -42, chance_lost=0.3, planned_weeks=5.5),
    due_on("E", "Elm", -43, shoes_on=0, chance_lost=None),
    due_on("F", "Fir", None),
    silent("G", "Gum"),
]


@pytest.fixture
def tree(tmp_path):
    herd = {"due_list": HERD, "calendar_entries": entries(HERD)}
    return page(tmp_path, "due", **herd, horse_list=[listed_horse(0, "A", "Ash")])


def test_the_longest_overdue_is_named_and_stands_first(tree):
    assert answer(tree, OVERDUE) == (
        "2 of 5 horses with a due day are overdue, 1 of them by more than a week. The longest is Ash, due on 22 March "
        "2026, 9 days ago."
    )
    rows = table_rows(tree, "Horses overdue, the longest first")
    assert rows[0][:5] == ["Horse", "Due", "Days over", "Chance of a loss", "Shoes on"]
    assert [row[:5] for row in rows[1:]] == [
        ["Ash", "Sun 22 Mar", "9", "40%", "4"],
        ["Bay", "Sat 28 Mar", "3", "3%", "4"],
    ]


def test_a_horse_due_today_is_due_and_six_weeks_on_is_the_last_day_ahead(tree):
    assert answer(tree, AHEAD) == (
        "2 horses by 12 May 2026. The highest chance of losing a shoe before its day is that of Dun, 30%; 1 more at "
        "10% or over."
    )
    rows = table_rows(tree, "Horses due, the earliest first")
    assert [(row[0], row[2], row[5]) for row in rows[1:]] == [("Cob", "0", "6 weeks"), ("Dun", "42", "5.5 weeks")]


def test_later_ones_and_those_without_a_day_stand_apart_and_so_do_horses_not_seen_for_long(tree):
    assert answer(tree, LATER) == "1 horse later than that and 1 horse with nothing to go by."
    rows = table_rows(tree, "Horses due later or on no known day")
    assert [row[:4] for row in rows[1:]] == [["Elm", "Wed 13 May", "43", "–"], ["Fir", "–", "–", "3%"]]
    assert answer(tree, SILENT).startswith("1 horse has not been seen for over 26 weeks")
    assert table_rows(tree, "Horses not seen for over 26 weeks, the latest first")[1][:2] == ["Gum", "29 March 2024"]


def test_a_horse_leads_to_its_own_page_and_the_list_to_its_files(tree):
    links = [link.get("href") for link in every(every(tree, "main")[0], "a")]
    assert "horse-1.html" in links
    assert links[-2:] == ["due.ics", "due.csv"]


def test_shoes_without_word_are_blank_and_the_note_says_since_when(tmp_path):
    lost_sight_of = {"shoes_on": None, "chance_lost": None, "chance_note": "no word of 4 shoes since 2 January 2026"}
    tree = page(tmp_path, "due", due_list=[due_on("A", "Ash", 46, **lost_sight_of)])
    assert answer(tree, OVERDUE) == "1 of 1 horse with a due day is overdue: Ash, due on 13 February 2026, 46 days ago."
    head, ash = table_rows(tree, "Horses overdue, the longest first")
    assert (ash[head.index("Chance of a loss")], ash[head.index("Shoes on")]) == ("–", "–")
    assert ash[-1] == "No word of 4 shoes since 2 January 2026."


def test_nothing_overdue_and_nothing_on_record_are_told_apart(tmp_path):
    calm = page(tmp_path / "calm", "due", due_list=[due_on("A", "Ash", -3)])
    assert answer(calm, OVERDUE) == "None of 1 horse with a due day is overdue."
    bare = page(tmp_path / "bare", "due")
    assert answer(bare, OVERDUE) == "No horse on record has a day on which it is due."
    assert answer(bare, AHEAD) == "No horse by 12 May 2026."
    assert FILES not in said(bare)


def files(folder, herd=HERD, more=()):
    """The sheet and the calendar of these horses, with these entries more; None where there is none."""
    told = results(due_list=herd, calendar_entries=[*entries(herd), *more])
    written = {path.name: path for path in write_site(told, ABOUT, folder)}
    return written.get("due.csv"), written.get("due.ics")


def test_the_sheet_has_every_horse_and_no_visit(tmp_path):
    sheet, _ = files(tmp_path)
    assert sheet.read_bytes().startswith(b"\xef\xbb\xbf")
    rows = list(csv.DictReader(sheet.read_text(encoding="utf-8-sig").splitlines()))
    assert [row["horse_name"] for row in rows] == ["Ash", "Bay", "Cob", "Dun", "Elm", "Fir", "Gum"]
    assert (rows[0]["due_on"], rows[0]["days_overdue"], rows[0]["chance_lost"]) == ("2026-03-22", "9", "0.4")
    assert (rows[5]["due_on"], rows[6]["silent"]) == ("", "yes")
    assert "V-A" not in sheet.read_text(encoding="utf-8-sig")


def test_no_cell_of_the_sheet_is_run_as_a_formula(tmp_path):
    import polars as pl

    herd = [due_on("A", "=HYPERLINK(A1)", 9, yard="@yard"), due_on("B", "'quoted", 3, yard="+1")]
    sheet, _ = files(tmp_path, herd)
    rows = list(csv.DictReader(sheet.read_text(encoding="utf-8-sig").splitlines()))
    assert [(row["horse_name"], row["yard"]) for row in rows] == [("'=HYPERLINK(A1)", "'@yard"), ("''quoted", "'+1")]
    back = pl.read_csv(sheet, infer_schema=False).select(as_it_was(pl.col("horse_name")))
    assert back["horse_name"].to_list() == ["=HYPERLINK(A1)", "'quoted"]


def events(path):
    """Events by the name of their horse. Parsing is strict: a line that is no property is an error."""
    calendar = Calendar.from_ical(path.read_bytes())
    assert not calendar.errors
    found = calendar.walk("VEVENT")
    assert not any(event.errors for event in found)
    return {str(event["summary"]).removeprefix("Due: "): event for event in found}


def test_the_calendar_has_one_event_of_a_whole_day_for_each_horse_with_a_day_seen_of_late(tmp_path):
    _, path = files(tmp_path)
    found = events(path)
    assert list(found) == ["Ash", "Bay", "Cob", "Dun", "Elm"]
    for event in found.values():
        start, stop = event["dtstart"], event["dtend"]
        assert (start.params["VALUE"], stop.params["VALUE"]) == ("DATE", "DATE")
        assert type(start.dt) is date
        assert stop.dt - start.dt == timedelta(days=1)
    assert found["Ash"]["dtstart"].dt == date(2026, 3, 22)
    assert str(found["Dun"]["description"]) == "Last visit 1 March 2026. Agreed: 5.5 weeks."
    assert str(found["Dun"]["location"]) == "Yard 1"


def test_the_calendar_has_what_the_standard_demands_and_nothing_more(tmp_path):
    # RFC 5545: 3.6 PRODID and VERSION once; 3.6.1 UID and DTSTAMP once; 3.8.7.2 DTSTAMP in UTC
    _, path = files(tmp_path)
    calendar = Calendar.from_ical(path.read_bytes())
    assert set(calendar) == {"PRODID", "VERSION", "CALSCALE"}
    assert str(calendar["version"]) == "2.0"
    wanted = {"UID", "DTSTAMP", "SEQUENCE", "DTSTART", "DTEND", "TRANSP", "SUMMARY", "DESCRIPTION", "LOCATION"}
    for event in calendar.walk("VEVENT"):
        assert set(event) == wanted
        assert event["dtstamp"].to_ical() == b"20260331T180409Z"  # when the load began, not when the file was written
        assert event["sequence"] == 828_000_000


def test_lines_of_the_calendar_are_folded_at_75_octets_and_end_in_cr_and_lf(tmp_path):
    # RFC 5545, 3.1; an octet is not a letter
    herd = [due_on("A", "Ä" * 90 + "; a, b\\c", 9, yard="日本" * 40)]
    _, path = files(tmp_path, herd)
    content = path.read_bytes()
    lines = content.split(b"\r\n")
    assert lines[-1] == b""
    assert b"\n" not in content.replace(b"\r\n", b"")
    assert max(len(line) for line in lines) <= 75
    for line in lines:
        line.decode("utf-8")
    (event,) = events(path).values()
    assert str(event["summary"]) == "Due: " + "Ä" * 90 + "; a, b\\c"


def test_a_name_cannot_add_a_line_or_an_event(tmp_path):
    herd = [due_on("A", "Ash\r\nEND:VEVENT\r\nBEGIN:VEVENT\x07", 9, yard="a\nb")]
    _, path = files(tmp_path, herd)
    assert list(events(path)) == ["Ash  END:VEVENT  BEGIN:VEVENT "]
    assert b"\x07" not in path.read_bytes()


def uids(path):
    return {name: str(event["uid"]) for name, event in events(path).items()}


def test_a_second_publish_moves_an_event_and_adds_none(tmp_path):
    _, first = files(tmp_path / "first")
    corrected = [
        due_on("A", "Ash", -5, planned_weeks=8.0),  # the plan was corrected
        due_on("B", "Bay", -39, round_visit_id="V-B2"),  # Bay has been seen again
        *HERD[2:],
    ]
    _, second = files(tmp_path / "second", corrected)
    before, after = uids(first), uids(second)
    assert len(set(before.values())) == len(before) == 5
    assert {name for name in before if before[name] == after[name]} == {"Ash", "Cob", "Dun", "Elm"}
    assert after["Bay"] not in before.values()
    assert events(first)["Ash"]["dtstart"].dt != events(second)["Ash"]["dtstart"].dt


def test_a_horse_seen_again_has_its_old_entry_once_more_as_cancelled(tmp_path):
    seen = due_on("A", "Ash", 9)
    herd = [due_on("A", "Ash", -40, round_visit_id="V-A2"), *HERD[1:]]
    old = entry(seen, seen=2, revision=828_000_101)
    _, before = files(tmp_path / "before")
    _, path = files(tmp_path / "after", herd, [old])
    calendar = Calendar.from_ical(path.read_bytes())
    ash = [event for event in calendar.walk("VEVENT") if str(event["summary"]) == "Due: Ash"]
    coming, cancelled = ash
    # RFC 5545, 3.8.1.11 STATUS; 3.8.7.4 SEQUENCE; 3.6.1 DTSTART in a calendar without METHOD
    assert str(cancelled["status"]) == "CANCELLED"
    assert "STATUS" not in coming
    assert cancelled["uid"] == uids(before)["Ash"] != coming["uid"]
    assert cancelled["sequence"] > events(before)["Ash"]["sequence"]
    assert cancelled["dtstart"].dt == date(2026, 3, 22)
    assert str(cancelled["description"]) == "Seen on 29 March 2026: this day no longer holds."
    assert [str(event.get("status", "")) for event in calendar.walk("VEVENT")] == ["", "", "", "", "", "CANCELLED"]
    assert set(cancelled) - set(coming) == {"STATUS"}


def test_the_page_says_what_becomes_of_an_old_entry(tree):
    assert "for 60 days the old one is written once more as cancelled" in said(tree)


def test_the_same_results_give_the_same_files_whatever_the_order_of_their_rows(tmp_path):
    first, second = files(tmp_path / "first"), files(tmp_path / "second", HERD[::-1])
    assert [path.read_bytes() for path in first] == [path.read_bytes() for path in second]


def test_a_calendar_without_an_event_is_none_and_is_linked_from_nowhere(tmp_path):
    # RFC 5545, 3.6: a calendar holds at least one component
    sheet, path = files(tmp_path, [silent("G", "Gum"), due_on("F", "Fir", None)])
    assert path is None
    links = [link.get("href") for link in every(parsed(sheet.parent / "due.html"), "a")]
    assert "due.csv" in links
    assert "due.ics" not in links


def test_horses_that_share_a_name_are_told_apart_in_the_calendar_too(tmp_path):
    _, path = files(tmp_path, [due_on("A", "Star", 9), due_on("B", "Star", 3)])
    assert list(uids(path)) == ["Star (A)", "Star (B)"]


def test_horses_of_one_name_in_two_yards_are_told_apart_by_the_yard_as_it_is_written(tmp_path):
    herd = [
        due_on("star, brook house", "Star", 9, yard="Brook House"),
        due_on("star, manor", "Star", 3, yard="Manor"),
        due_on("star, x", "Star", 2, yard=None),
    ]
    sheet, path = files(tmp_path, herd)
    assert list(uids(path)) == ["Star (Brook House)", "Star (Manor)", "Star (star, x)"]
    assert "Star (Brook House)" in said(parsed(sheet.parent / "due.html"))


def test_files_are_listed_with_the_pages_but_are_none(tmp_path):
    written = write_site(practice(), ABOUT, tmp_path)
    assert [path.name for path in written[-2:]] == ["due.csv", "due.ics"]
    assert called(written, "due").is_file()
