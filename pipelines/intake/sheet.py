"""What reading hands on: one sheet of text, its header and where each row stood, before anyone says what it means."""

from dataclasses import dataclass

import polars as pl

EXPORT = "@export"
FILE = "@file"
SOURCE = "@source"
ROW = "@row"
MADE = "@made"
RAGGED = "@ragged"
SURPLUS = "@surplus"

BEYOND = "beyond the last column"
TOLD_ON = "@told_on"
"""For a row about a horse on a visit's row: the day of that visit as written."""
FOLDED = "@folded"
"""For a row folded in from the rows of another table: how many of them say it in the same words."""
SEVERAL = "@several"
"""Why it cannot be told which horse a row is about, where its name and yard could mean several."""
PLACED = "@placed"
"""What was taken for a blank yard, and why."""
UNTOLD = "@untold"
"""For a row of horses or visits: the columns that its sheet does not carry, a blank between them."""
GIVEN = "@given"
"""The same of columns that a default of the practice filled in this row."""
META = (EXPORT, FILE, SOURCE, ROW, RAGGED, FOLDED, SEVERAL, PLACED, UNTOLD, GIVEN)
HIDDEN = "@"
"""Columns that only serve to find a key start with it: @horse_name, @visit_date."""


@dataclass(frozen=True)
class Sheet:
    """One table of text as it stood in a file.

    source: the name a person knows it by, "feet.csv" or "book.xlsx, sheet Feet". name: what a table may be recognised
    by: the file's name without its ending, or the sheet's. export: which of the exports given it came with, from 0.
    header: the headers as written, "" where blank; header_row: the row they stand in, as a person counts.
    cells: String columns cell_0, cell_1 … in the order of the header, no blank rows, plus ROW (Int64) and, where a
    line did not have as many cells as the header, RAGGED (what is wrong with it) and SURPLUS (cells beyond the last).
    """

    source: str
    file: str
    export: int
    name: str
    header: list[str]
    header_row: int
    cells: pl.DataFrame


def cell(position: int) -> str:
    """Name of the column of cells at this position, from 0."""
    return f"cell_{position}"


def without_blank_rows(cells: pl.DataFrame) -> pl.DataFrame:
    """The rows in which something is written, blanks and spaces being nothing."""
    texts = [name for name in cells.columns if name not in (ROW, RAGGED)]
    if not texts or not cells[texts[0]].str.strip_chars().fill_null("").eq("").any():
        return cells
    return cells.filter(pl.any_horizontal(pl.col(texts).str.strip_chars().fill_null("") != ""))
