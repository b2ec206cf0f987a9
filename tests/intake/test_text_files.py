"""Comma, semicolon and tab separated files as programs write them, and lines that do not fit their header."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipelines.intake import read_export
from pipelines.intake.text_files import _outside_quotes
from schemas.problem import Problem
from schemas.records import Known

HORSES = "horse_id,horse_name,discipline,yard\nH1,Made Up Böse,eventing,Nord\nH2,Made Up Bay,dressage,\n"


def horses_of(export, data: bytes, name: str = "horses.csv"):
    """The rows of horses, and what was set aside, where the horses stand in a file of these bytes."""
    folder = export(horses=None, visits=VISITS, feet=FEET, losses=None)
    (folder / name).write_bytes(data)
    records = read_export([folder], Known(), None, date(2025, 6, 30))
    return records.tables["horses"].select("horse_id", "horse_name", "discipline", "yard").rows(), records.set_aside


VISITS = "visit_id | horse_id | visit_date | visit_kind \n V2 | H2 | 2025-01-01 | routine"
FEET = "visit_id | foot | arrival | work \n V2 | LF | bare | trim"
AS_WRITTEN = [("H1", "Made Up Böse", "eventing", "Nord"), ("H2", "Made Up Bay", "dressage", None)]

WRITTEN = {
    "UTF-8": HORSES.encode(),
    "UTF-8 with its mark": HORSES.encode("utf-8-sig"),
    "Windows-1252": HORSES.encode("cp1252"),
    "UTF-16 with its mark": HORSES.encode("utf-16"),
    "UTF-16 little-endian without": HORSES.encode("utf-16-le"),
    "UTF-16 big-endian with its mark": b"\xfe\xff" + HORSES.encode("utf-16-be"),
    "semicolons": HORSES.replace(",", ";").encode(),
    "tabs": HORSES.replace(",", "\t").encode(),
    "lines that end as on Windows": HORSES.replace("\n", "\r\n").encode(),
    "lines that end as on an old Macintosh": HORSES.replace("\n", "\r").encode(),
    "no end of the last line": HORSES.rstrip("\n").encode(),
    "a first line that names the separator": ("sep=;\r\n" + HORSES.replace(",", ";")).encode(),
    "every cell in quotation marks": ("\n".join(
        ",".join(f'"{cell}"' for cell in line.split(",")) for line in HORSES.splitlines()
    )).encode(),
    "blank lines between": HORSES.replace("\n", "\n\n").encode(),
    "blank rows as a spreadsheet writes them": HORSES.replace("\n", "\n,,,\n").encode(),
    "both kinds of blank rows": HORSES.replace("\n", "\n,,,\n\n").encode(),
    "spaces round the cells": HORSES.replace(",", " , ").encode(),
    "empty cells beyond the last column": HORSES.replace("\n", ",,\n").encode(),
    "headers as people write them": HORSES.replace("horse_id,horse_name", "Horse ID,HORSE-NAME").encode(),
}  # fmt: skip


@pytest.mark.parametrize("data", WRITTEN.values(), ids=WRITTEN)
def test_the_same_is_read_from_a_file_written_with(export, data):
    rows, set_aside = horses_of(export, data)
    assert rows == AS_WRITTEN
    assert set_aside.is_empty()


def test_a_tab_separated_file_may_have_commas_in_its_cells(export):
    rows, _ = horses_of(export, HORSES.replace(",", "\t").replace("Nord", "Nord, hinten").encode(), "horses.tsv")
    assert rows[0][3] == "Nord, hinten"


def test_a_comma_a_quotation_mark_and_a_line_end_may_stand_in_quotation_marks(export):
    text = HORSES.replace("Nord", '"Nord, ""hinten""\nlinks"') + "H3,,polo,\n"
    rows, set_aside = horses_of(export, text.encode())
    assert rows[0][3] == 'Nord, "hinten"\nlinks'
    assert set_aside["source_row"].to_list() == [4], "the row as a spreadsheet shows it, not the line"


RAGGED = {
    "a line too long": (
        "H3,Made Up Cob,polo,Nord,9",
        "the line has 5 cells where the header has 4: a separator too many, or one inside a text without quotes",
    ),
    "a line too short": ("H3,Made Up Cob,polo", "the line has 3 cells where the header has 4: a separator is missing"),
}


@pytest.mark.parametrize("blank", ["", ",,,\n", "\n"], ids=["", "after a row of blanks", "after a blank line"])
@pytest.mark.parametrize(("line", "reason"), RAGGED.values(), ids=RAGGED)
def test_neither_cut_nor_filled_but_set_aside_is(export, line, reason, blank):
    rows, set_aside = horses_of(export, (HORSES + blank + line + "\nH4,Made Up Dun,polo,\n").encode())
    assert [row[0] for row in rows] == ["H1", "H2", "H4"]
    row = 4 + bool(blank)
    assert set_aside.select("source_row", "rule", "reason").rows() == [(row, "wrong_cell_count", reason)]
    assert all(cell in set_aside["row_json"][0] for cell in line.split(","))


def test_a_short_line_is_not_hidden_by_a_row_of_blanks_in_the_sum(export):
    text = "horse_id,horse_name,discipline,yard\n,,,\nH2,Made Up Bay,dressage,\nH3,Made Up Cob,polo\n\n"
    _, set_aside = horses_of(export, text.encode())
    assert set_aside["source_row"].to_list() == [4]


def test_a_ragged_visit_takes_its_feet_with_it(export, tmp_path):
    folder = export(losses=None)
    with (folder / "visits.csv").open("a", encoding="utf-8") as visits:
        visits.write("V4,H1,2025-03-01\n")
    with (folder / "feet.csv").open("a", encoding="utf-8") as feet:
        feet.write("V4,LF,on,trim\n")
    told = read_export([folder], Known(), None, date(2025, 6, 30)).set_aside
    assert told.select("table_name", "source_row", "rule").rows() == [
        ("visits", 5, "wrong_cell_count"), ("feet", 5, "visit_set_aside"),
    ]  # fmt: skip


def test_quotation_marks_that_do_not_pair_up_are_refused_and_the_row_is_named(export):
    with pytest.raises(Problem, match=r"horses\.csv: the quotation marks in row 3 do not pair up"):
        horses_of(export, HORSES.replace("Made Up Bay", '"Made Up Bay').encode())


def test_bytes_that_are_text_in_no_encoding_are_refused(export):
    with pytest.raises(Problem, match=r"horses\.csv is not text in UTF-8, UTF-16 or Windows-1252"):
        horses_of(export, HORSES.encode() + b"\x81\x8d")


@given(st.text(alphabet=',;"x\n', max_size=60))
def test_separators_outside_quotation_marks_are_counted_however_the_file_is_cut(text):
    outside = "".join(text.split('"')[::2]).count(",")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("pipelines.intake.text_files.CHUNK_BYTES", 7)
        assert _outside_quotes(text.encode(), ",") == outside
