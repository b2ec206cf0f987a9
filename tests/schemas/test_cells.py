"""Text that a spreadsheet could run is made harmless, and can be read back."""

import re

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from schemas.cells import as_it_was, neutral

PARTED = {"x;=1+1": "x;'=1+1", "a\n=1+1": "a\n'=1+1", "x\t +1": "x\t' +1", 'x;"=1"': "x;'\"=1\"", "x;'": "x;''",
          ";;=1": ";;'=1", "\t=1": "'\t'=1", "\r=1": "'\r'=1", ";\n=1": ";\n'=1"}  # fmt: skip
DANGEROUS = ["=1+1", "+1", "-1", "@SUM(A1)", '"=1"', "  =1", "＝1", "＋1", "－1", "＠x", "'=1", "'quoted"]


def texts(cells: list[str]) -> pl.DataFrame:
    return pl.DataFrame({"cell": cells}, schema={"cell": pl.String})


@pytest.mark.parametrize("cell", DANGEROUS)
def test_no_cell_starts_a_formula(cell):
    assert texts([cell]).select(neutral(pl.col("cell")))["cell"][0] == "'" + cell


@pytest.mark.parametrize(("cell", "written"), PARTED.items())
def test_no_part_behind_a_semicolon_tab_or_line_end_starts_a_formula(cell, written):
    assert texts([cell]).select(neutral(pl.col("cell")))["cell"][0] == written
    assert texts([written]).select(as_it_was(pl.col("cell")))["cell"][0] == cell


@given(st.lists(st.text(alphabet="=+-@';\t\r\n\", x1", max_size=12), min_size=1))
def test_a_file_parted_at_another_mark_than_its_own_holds_no_formula(cells):
    """However a reader parts the lines and takes the quotes, what begins a part is no sign that runs."""
    written = texts(cells).select(neutral(pl.col("cell"))).write_csv(include_header=False)
    for part in re.split(r"[;\t\r\n]", written):
        assert part.lstrip(' "')[:1] not in tuple("=+-@")
    there_and_back = texts(cells).select(as_it_was(neutral(pl.col("cell"))))["cell"]
    assert there_and_back.to_list() == cells


@pytest.mark.parametrize("cell", ["Ash", "2025-01-01", "a=b", "15.2", "O'Hara", "plain-shod"])
def test_a_cell_that_is_no_formula_stays_as_it_is(cell):
    assert texts([cell]).select(neutral(pl.col("cell")))["cell"][0] == cell


@given(st.lists(st.text() | st.sampled_from(DANGEROUS)))
def test_what_was_made_neutral_reads_back_as_it_was(cells):
    there_and_back = texts(cells).select(as_it_was(neutral(pl.col("cell"))))["cell"]
    assert there_and_back.to_list() == cells


@given(st.text(min_size=1))
def test_no_text_whatever_starts_with_a_sign_that_runs(cell):
    written = texts([cell]).select(neutral(pl.col("cell")))["cell"][0]
    assert written.lstrip()[:1] not in tuple("=+-@＝＋－＠")
    assert written[0] not in "\t\r\n" or not cell.strip()
