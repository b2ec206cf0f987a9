"""Text that a spreadsheet could run is made harmless, and can be read back."""

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from schemas.cells import as_it_was, neutral

DANGEROUS = ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "  =1", "＝1", "＋1", "－1", "＠x", "'=1", "'quoted"]


def texts(cells: list[str]) -> pl.DataFrame:
    return pl.DataFrame({"cell": cells}, schema={"cell": pl.String})


@pytest.mark.parametrize("cell", DANGEROUS)
def test_no_cell_starts_a_formula(cell):
    assert texts([cell]).select(neutral(pl.col("cell")))["cell"][0] == "'" + cell


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
