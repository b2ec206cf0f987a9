"""The same practice in every kind of file: workbooks saved by LibreOffice (files/make.py), Parquet and JSON Lines."""

from datetime import date
from pathlib import Path

import polars as pl
import pytest

from pipelines.intake import read_export
from schemas.records import Known

FILES = Path(__file__).parent / "files"
TODAY = date(2025, 6, 30)


@pytest.fixture(params=["practice.xlsx", "practice.ods"])
def book(request):
    return request.param, read_export([FILES / request.param], Known(), None, TODAY)


def test_a_workbook_gives_the_rows_of_each_sheet_where_they_stand(book):
    name, records = book
    horses = records.tables["horses"]
    columns = ["horse_id", "height_hands", "microchip", "share_with_vet", "source_file", "source_row"]
    assert horses.select(columns).rows() == [
        ("H1", "15.2", "985102001234567", True, f"{name}, sheet Horses", 3),
        ("H2", "16.0", "056098100123456", False, f"{name}, sheet Horses", 5),
    ]


def test_dates_numbers_and_yes_come_from_typed_cells(book):
    _, records = book
    assert records.tables["visits"].select("visit_date", "minutes").rows() == [
        (date(2025, 1, 1), 60.0), (date(2025, 1, 2), 42.5),
    ]  # fmt: skip
    feet = records.tables["feet"].select("sole_relief", "web_mm", "nails_medial")
    assert feet.rows() == [(True, 20.5, 3), (None, None, None)]


def test_a_fault_names_sheet_and_row_as_the_program_shows_them(book):
    name, records = book
    assert records.set_aside.select("source_file", "source_row", "column_name").rows() == [
        (f"{name}, sheet Feet", 5, "work"), (f"{name}, sheet Feet", 5, "web_mm"),
    ]  # fmt: skip


def test_a_sheet_that_is_no_table_is_said_to_be_unread_and_an_empty_one_is_nothing(book):
    name, records = book
    unread = records.warnings.filter(pl.col("rule") == "file_not_read")
    assert unread["source_file"].to_list() == [f"{name}, sheet Prices"]


def test_both_workbooks_say_the_same():
    one, other = (read_export([FILES / f"practice.{kind}"], Known(), None, TODAY).tables for kind in ("xlsx", "ods"))
    for table in one:
        assert one[table].drop("source_file").equals(other[table].drop("source_file"))


TYPED = {
    "parquet": lambda frame, path: frame.write_parquet(path),
    "jsonl": lambda frame, path: frame.write_ndjson(path),
    "tsv": lambda frame, path: frame.write_csv(path, separator="\t"),
}


@pytest.mark.parametrize("kind", TYPED)
def test_what_was_accepted_is_accepted_again_from(kind, tmp_path):
    first = read_export([FILES / "practice.xlsx"], Known(), None, TODAY).tables
    for table, frame in first.items():
        TYPED[kind](frame.drop("source_file", "source_row"), tmp_path / f"{table}.{kind}")
    again = read_export([tmp_path], Known(), None, TODAY)
    assert again.set_aside.is_empty()
    for table, frame in first.items():
        assert again.tables[table].drop("source_file", "source_row").equals(frame.drop("source_file", "source_row"))


def test_a_chip_kept_as_a_number_in_parquet_keeps_its_digits(export):
    folder = export(horses=None)
    pl.DataFrame(
        {"horse_id": ["H1", "H2"], "horse_name": ["Made Up Ash", "Made Up Bay"], "discipline": ["polo", "polo"],
         "microchip": [985102001234567.0, None]}
    ).write_parquet(folder / "horses.parquet")  # fmt: skip
    horses = read_export([folder], Known(), None, TODAY).tables["horses"]
    assert horses["microchip"].to_list() == ["985102001234567", None]


def test_a_line_that_is_no_json_is_set_aside_by_its_line_and_absent_names_are_blank(export):
    folder = export(feet=None)
    (folder / "feet.jsonl").write_text(
        '{"visit_id": "V1", "foot": "LF", "arrival": "bare", "work": "trim", "web_mm": 20}\n'
        "\n"
        '{"visit_id": "V1", "foot": \n'
        '{"visit_id": "V2", "foot": "LF", "arrival": "bare", "work": "trim", "sole_relief": true}\n',
        encoding="utf-8",
    )
    records = read_export([folder], Known(), None, TODAY)
    assert records.tables["feet"].select("web_mm", "sole_relief", "source_row").rows() == [
        (20.0, None, 1), (None, True, 4),
    ]  # fmt: skip
    assert records.set_aside.select("source_row", "reason").rows() == [(3, "the line is not one JSON object")]


def test_file_kinds_may_be_mixed_in_one_folder(export):
    folder = export(horses=None)
    pl.DataFrame({"horse_id": ["H1", "H2"], "horse_name": ["A", "B"], "discipline": ["polo", "polo"]}).write_ndjson(
        folder / "horses.jsonl"
    )
    records = read_export([folder], Known(), None, TODAY)
    assert records.set_aside.is_empty()
    assert records.files["file_name", "rows"].rows() == [
        ("feet.csv", 3), ("horses.jsonl", 2), ("losses.csv", 1), ("visits.csv", 3),
    ]  # fmt: skip
