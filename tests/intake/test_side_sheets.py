"""What stands beside the records and is no table of them is left out and said; what may be one stops the reading."""

from datetime import date

import pytest

from pipelines.intake import read_export
from schemas.problem import Problem
from schemas.records import Known
from tests.intake.conftest import TODAY, as_csv

BOOK = """
    Horse | Yard | Use  | Date       | Kind    | Leg | Came in | Done
    Ash   | Top  | polo | 2025-01-02 | routine | NF  | bare    | trim
    Bay   | Top  | polo | 2025-01-03 | routine | NF  | bare    | trim
"""
BESIDE = {
    "visits per month": "Month | Visits \n Jan | 12",
    "visits by day": "Date | Visits | Farrier \n 2025-01-02 | 4 | Sam",
    "losses by cause": "Reason | Count \n fence | 3",
    "horses to ring": "x | y \n Ash | ",
    "horses due": "Horse | Next \n Ash | 6 wks",
    "horses": "Ash is a good horse | \n ring his owner | ",
    "feet photos": "Photo | Foot \n 1.jpg | LF",
    "diary": "Date | Horse | Farrier | Notes \n 2025-12-05 | Ash | Sam | booked",
    "summary": "Foot | Arrival | Count \n LF | off | 3",
    "legend": "Foot | Arrival | Done \n LF = left fore | on | new \n RF | off = shoe gone | refit",
    "lost shoes": "Horse | Lost \n Ash | 3",
    "changes": "Coins | What \n 5 | rest",
}
RECORDS = {
    "a year without the kind of visit": ("2024", BOOK.replace("Kind", "Sort"), "visit_kind"),
    "a year without the work done": ("2024", BOOK.replace("Done", "Result"), "work"),
    "a sheet of visits with times and fees": (
        "diary", "Date | Horse | Mins | Fee | Notes \n 2024-12-05 | Ash | 50 | 90 | fine", "visit_kind"),
    "lost shoes without the day": ("losses", "Horse | Foot | Reason \n Ash | NF | fence", "found_off"),
    "feet that name no horse": ("feet 2024", "Leg | Came in | Done \n NF | on | trim", "visit_id"),
    "horses with more than a name": ("horses", "Horse | Sex | Height \n Ash | mare | 15.2", "discipline"),
}  # fmt: skip


@pytest.fixture
def read(tmp_path):
    def write_and_read(layout: str = "", **drawn: str):
        (tmp_path / "records").mkdir()
        for name, text in drawn.items():
            (tmp_path / "records" / f"{name}.csv").write_text(as_csv(text), encoding="utf-8")
        (tmp_path / "practice.toml").write_text(layout, encoding="utf-8")
        return read_export([tmp_path / "records"], Known(), None, TODAY, layout=tmp_path / "practice.toml")

    return write_and_read


@pytest.mark.parametrize("name", BESIDE)
def test_what_is_no_table_is_left_out_and_said_so(read, name):
    records = read(book=BOOK, **{name: BESIDE[name]})
    assert records.set_aside.is_empty()
    assert records.tables["visits"].height == 2
    assert records.warnings.select("source_file", "rule").rows() == [(f"{name}.csv", "file_not_read")]
    assert "left" in records.warnings["reason"][0]


@pytest.mark.parametrize("name", ["Lost", "Losses", "Lost shoes"])
@pytest.mark.parametrize("header", ["Which shoe | Lost when", "Shoe | When lost", "Which foot | Lost"])
def test_a_sheet_of_lost_shoes_says_the_foot_as_a_shoe(read, name, header):
    records = read(book=BOOK, **{name: f"Horse | {header} \n Ash | NF | 2025-01-20"})
    assert records.tables["losses"].select("foot", "found_off").rows() == [("LF", date(2025, 1, 20))]
    assert records.warnings.is_empty()


@pytest.mark.parametrize("name", ["Lost", "Losses", "Lost shoes"])
@pytest.mark.parametrize(
    ("text", "lacks"),
    [
        ("Horse | Shoe | Gone \n Ash | NF | 2025-01-20", "found_off"),
        ("Horse | Foot | Date \n Ash | NF | 2025-01-20", "found_off"),
        ("Horse | Shoe | Lost \n Ash | concave | 2025-01-20", "foot"),
    ],
)
def test_a_sheet_of_lost_shoes_that_lacks_a_column_stops(read, name, text, lacks):
    with pytest.raises(
        Problem, match=rf"{name}\.csv was taken for one row a lost shoe, but no column of it is {lacks}"
    ):
        read(book=BOOK, **{name: text})


@pytest.mark.parametrize("header", ["Nag", "Patient"])
def test_a_sheet_that_names_no_horse_says_so_and_of_no_other_header_that_it_is_not_understood(read, header):
    says = f'one row a foot, but no column names the horse, and nothing is understood by "{header}":'
    with pytest.raises(Problem, match=says):
        read(book=BOOK.replace("Horse", header))


def test_a_day_beside_a_visit_leaves_it_to_the_cells_which_is_which(read):
    records = read(book=BOOK.replace("Kind", "Visit"))
    assert records.tables["visits"]["visit_kind"].to_list() == ["routine", "routine"]
    assert records.tables["visits"]["visit_date"].to_list() == [date(2025, 1, 2), date(2025, 1, 3)]


@pytest.mark.parametrize(("name", "text", "lacks"), RECORDS.values(), ids=RECORDS)
def test_what_may_be_records_stops_and_names_what_it_lacks(read, name, text, lacks):
    with pytest.raises(Problem, match=f"{name}.csv was taken for .* {lacks} .* left out"):
        read(book=BOOK, **{name: text})


def test_a_sheet_that_lacks_a_column_is_no_side_sheet_where_nothing_else_tells_the_records(read):
    with pytest.raises(Problem, match=r"visits per month\.csv was taken for one row a visit"):
        read(**{"visits per month": BESIDE["visits per month"]})


@pytest.mark.parametrize("called", ["2024", "2024.csv", "2024.CSV"])
def test_a_layout_file_leaves_a_sheet_out(read, called):
    records = read(f'[sheets]\nleave_out = ["{called}"]\n', book=BOOK, **{"2024": RECORDS[next(iter(RECORDS))][1]})
    assert (records.tables["visits"].height, records.warnings.height) == (2, 0)


def test_a_sheet_to_be_left_out_that_is_not_there_is_named_with_its_line(read):
    records = read('[sheets]\nleave_out = ["boook"]\n', book=BOOK)
    assert records.warnings.select("source_row", "reason").rows() == [
        (2, 'no sheet is called "boook"; the nearest is "book"')
    ]


@pytest.mark.parametrize("names", ['"Diary"', "[3]"])
def test_names_of_sheets_that_are_none_are_refused(read, names):
    with pytest.raises(Problem, match="line 2: leave_out needs names"):
        read(f"[sheets]\nleave_out = {names}\n", book=BOOK)
