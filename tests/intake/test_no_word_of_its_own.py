"""Ditto marks and failed formulas: never a name, a word or a figure, and no row is lost over them."""

import pytest

from pipelines.intake import read_export
from schemas.records import Known
from tests.intake.conftest import TODAY, as_csv

MARKS = ('"', "''", "”", '-"-', "do", "Do.", "same", "as above")
ERRORS = ("#REF!", "#N/A", "#NAME?", "#DIV/0!", "#BEZUG!", "Err:508", "#error")
FLAT = """
    Horse | Yard | Use  | Date       | Farrier | Type    | Leg | On arrival | Work done
    Ash   | Low  | Polo | 2025-01-02 | Sam     | routine | LF  | bare       | trim
"""


@pytest.fixture
def book(tmp_path):
    """Read a flat book of one row, one of its cells written otherwise."""

    def read(header: str, cell: str):
        head, row = (line.split("|") for line in FLAT.strip().splitlines())
        row[[name.strip() for name in head].index(header)] = cell
        drawn = f"{'|'.join(head)}\n{'|'.join(row)}"
        (tmp_path / "book.csv").write_text(as_csv(drawn), encoding="utf-8")
        return read_export([tmp_path / "book.csv"], Known(), None, TODAY)

    return read


@pytest.mark.parametrize("cell", [*MARKS, *ERRORS, "?", "not known"])
def test_no_horse_is_called_by_a_ditto_mark_or_an_error(book, cell):
    records = book("Horse", cell)
    assert {name: table.height for name, table in records.tables.items()} == dict.fromkeys(records.tables, 0)
    own = records.set_aside.filter(table_name="horses", column_name="horse_name")
    assert f'says "{cell}"' in own["reason"][0]
    of_visits = records.set_aside.filter(table_name="visits", column_name="horse_name")
    assert (of_visits["value"].to_list(), of_visits["reason"].to_list()) == ([cell], own["reason"].to_list())


def test_a_ditto_mark_for_a_horse_that_another_sheet_tells_is_told_apart_from_a_blank(tmp_path):
    horses, rows = "Horse | Use\nAsh | Polo", FLAT.replace("Use ", "Age ").strip().splitlines()
    rows += [rows[1].replace("Ash", name).replace("LF", foot) for name, foot in (('"', "RF"), ("   ", "LH"))]
    (tmp_path / "horses.csv").write_text(as_csv(horses), encoding="utf-8")
    (tmp_path / "book.csv").write_text(as_csv("\n".join(rows)), encoding="utf-8")
    aside = read_export([tmp_path], Known(), None, TODAY).set_aside.filter(column_name="horse_name")
    assert dict(aside.select("source_row", "reason").rows()) == {
        3: 'column "Horse" (horse_name) says """: each row is read without the one above it: write it out in full',
        4: "the row does not say which horse it is about: fill in its name",
    }


@pytest.mark.parametrize("header", ["Yard", "Farrier", "Use", "Date", "Type", "Leg", "On arrival", "Work done"])
@pytest.mark.parametrize("cell", ['"', "#REF!", "do"])
def test_in_any_other_column_the_row_is_set_aside_and_told_what_to_write(book, header, cell):
    records = book(header, cell)
    why = "write it out in full" if cell != "#REF!" else "write what belongs in this cell"
    (told,) = [reason for reason in records.set_aside["reason"] if f'says "{cell}"' in reason]
    assert told.endswith(why)
    assert records.tables["feet"].height == 0
    for name, read in records.rows_read.items():
        aside = records.set_aside.filter(table_name=name)["source_row"].n_unique()
        assert read == records.tables[name].height + records.collapsed[name] + aside


def test_a_horse_may_be_called_ditto_and_is_looked_at(book):
    records = book("Horse", "Ditto")
    assert records.tables["horses"]["horse_name"].to_list() == ["Ditto"]
    assert [why.split(": ")[-1] for why in records.warnings["reason"]] == [
        "if that stands for the row above, write its name; else the row is kept"
    ]


@pytest.mark.parametrize(("header", "cell"), [("Farrier", "DO"), ("Yard", "Same Again Farm"), ("Horse", "#1 Fan")])
def test_a_name_that_only_looks_like_one_is_kept(book, header, cell):
    assert book(header, cell).set_aside.height == 0


def test_a_ditto_mark_for_a_yard_that_other_rows_tell_is_taken_so_and_said(tmp_path):
    second = FLAT.strip().splitlines()[1].replace("Low ", '"').replace("LF", "RF")
    (tmp_path / "book.csv").write_text(as_csv(f"{FLAT.strip()}\n{second}"), encoding="utf-8")
    records = read_export([tmp_path / "book.csv"], Known(), None, TODAY)
    assert (records.tables["horses"]["yard"].to_list(), records.tables["feet"].height) == (["Low"], 2)
    assert records.warnings["value"].to_list() == ['"']
