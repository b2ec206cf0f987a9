"""Sums in any wording and notes between the rows are left unread and said; a record is never taken for one."""

from datetime import date

import pytest

from pipelines.intake import read_export
from schemas.records import Known

BOOK = """Horse,Use,Date,Kind,Fee,Foot,Arrival,Done
Ash,Polo,2024-01-02,routine,60,LF,bare,trim
{}
Bay,Polo,2024-01-02,routine,60,RF,bare,trim
"""


@pytest.fixture
def read(tmp_path):
    """Read the book with this line between its two records."""

    def write_and_read(line):
        (tmp_path / "book.csv").write_text(BOOK.format(line), encoding="utf-8")
        return read_export([tmp_path / "book.csv"], Known(), None, date(2026, 11, 25))

    return write_and_read


SUMS = (
    "Total",
    "Totals",
    "TOTAL:",
    "Sub-total",
    "Sub total",
    "Subtotal",
    "Sum",
    "Summe",
    "Gesamt",
    "Gesamtsumme",
    "Tot.",
    "Carried forward",
    "Brought forward:",
    "c/f",
    "B/F",
)


@pytest.mark.parametrize(
    "line", ["10 lost,,,,,,,", ",,10 lost,,,,,", "2 horses,,3 visits,,£120,,,", ",,,,120 in all,,,"]
)
def test_a_sum_that_says_what_was_counted_is_one_too(read, line):
    records = read(line)
    assert records.set_aside.is_empty()
    assert records.warnings.select("source_row", "reason").rows() == [(3, "a row of totals: left out")]


@pytest.mark.parametrize("line", ["2 Horses Inn,,,,60,,,", ",,2024-01-03,,,,,2 lost", "12 May,,,,,,,"])
def test_a_record_with_a_number_and_a_word_in_it_is_none(read, line):
    assert read(line).set_aside.height > 0


def assert_left_out(records, why):
    """The row between two records is no record: the two are read, nothing is set aside, and why is said."""
    assert (records.set_aside.height, records.rows_read["feet"], records.tables["feet"].height) == (0, 2, 2)
    assert records.warnings.select("source_row", "rule", "reason").rows() == [(3, "row_not_read", why)]


@pytest.mark.parametrize("place", ["{},,,,120,,,", ",,{},,120,,,", ",,,{},£120,,,", "{},,,2,120.50,4,,"])
@pytest.mark.parametrize("word", SUMS)
def test_a_row_of_totals_is_left_out_whatever_it_is_called_and_wherever_it_says_so(read, word, place):
    assert_left_out(read(place.format(word)), "a row of totals: left out")


@pytest.mark.parametrize(
    "line",
    [
        "Closed for a week because the van broke down,,,,,,,",
        ",,,,,,,ring the owner before the next visit",
        "Closed for a week because the van broke down",
        '"No work until Monday, van at the garage",,,,,,,',
    ],
)
def test_a_note_in_an_otherwise_blank_row_is_left_unread_and_said(read, line):
    assert_left_out(read(line), "a note, the only text of its row: left out")


@pytest.mark.parametrize(
    "line",
    [
        "November,,,,,,,",
        "Nov 2025,,,,,,,",
        "Nov. '25",
        ",,MAY:,,,,,",
        ",,Sept/2025,,,,,",
        ",,Christmas break,,,,,",
    ],
)
def test_a_heading_over_the_rows_of_a_month_is_left_unread_and_said(read, line):
    assert_left_out(read(line), "a heading, the only text of its row: left out")


@pytest.mark.parametrize(
    "line",
    [
        "November,,,,60,,,",
        "May,,May,,,,,",
        "May 12,,,,,,,",
        ",,12 May,,,,,",
        ",,as above,,,,,",
        ",,2024-01-03,,,,,",
        "Christmas break,,,,,,,",
    ],
)
def test_a_row_that_holds_more_than_a_heading_is_set_aside(read, line):
    assert read(line).set_aside["source_row"].unique().to_list() == [3]


def test_a_horse_that_is_called_like_a_month_is_no_heading(read):
    records = read("May,Polo,2024-01-02,routine,60,LF,bare,trim\nMay,,,,,,,")
    assert records.tables["horses"]["horse_name"].to_list() == ["Ash", "May", "Bay"]
    assert records.set_aside["source_row"].unique().to_list() == [4]


@pytest.mark.parametrize(
    "line",
    [
        "Made Up Cob,,,,,,,",
        "Summe,Polo,2024-01-02,routine,60,LF,bare,",
        "Closed for a week because the van broke down,,,,60,,,",
        "a note that goes on, and on past the comma of it,,,,,,",
    ],
)
def test_what_may_be_a_record_is_set_aside_with_its_reasons(read, line):
    records = read(line)
    assert records.set_aside["source_row"].unique().to_list() == [3]
    assert records.rows_read["feet"] == 3


def test_a_horse_that_is_called_like_a_sum_is_read(read):
    assert read("Summe,Polo,2024-01-02,routine,60,LF,bare,trim").tables["horses"]["horse_name"].to_list() == [
        "Ash", "Summe", "Bay",
    ]  # fmt: skip
