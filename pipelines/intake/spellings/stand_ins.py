"""Cells that say nothing of their own: marks for "the same as above", and what a spreadsheet puts where a formula
failed. Neither is a name, a word or a figure, whatever the column.
"""

import re

import polars as pl

from schemas.synonyms import BETWEEN_WORDS, NOT_FILLED_IN, plain

AS_WRITTEN = frozenset({"notes", "note", "what"})
"""Columns of whole sentences, in which nothing is looked for."""
ERROR = r"#[\p{L}¡/0-9_ ]+[!?]|#N/?[AV]|#error|Err:\d{3}"
MARKS = r"""[-–—.\s]*(?:["”“„″〃]|''|’’|‘‘|´´|``|,,)+[-–—.\s]*"""
WORDS = r"[Dd]o\.?|(?i:ditto\.?|dto\.?|idem\.?|(?:same )?as above|see above|same|same again)"
NAMES_NONE = NOT_FILLED_IN - {"blank"}
ANY = rf"^\s*(?:(?i:{ERROR})|{MARKS}|{WORDS})\s*$"
_ERROR = re.compile(ERROR.replace(r"\p{L}", "a-zA-ZÀ-ÿ"), re.I)
_LIKE_ABOVE = re.compile(f"{MARKS}|{WORDS}")
DITTO = "ditto"
"""The one such word that horses are called by."""


def stands_in(cell: str, column: str) -> str | None:
    """What to write instead of such a cell; None where it is none."""
    if column in AS_WRITTEN:
        return None
    if _ERROR.fullmatch(cell):
        return "a formula of the spreadsheet failed here: write what belongs in this cell"
    if _LIKE_ABOVE.fullmatch(cell) and not may_be_its_name(cell, column):
        return "each row is read without the one above it: write it out in full"
    if column == "horse_name" and plain(cell) in NAMES_NONE:
        return "it names no horse: fill in its name"
    return None


def says_no_name(column: str) -> pl.Expr:
    """Of a column of free text, which cells `stands_in` has to look at: told for the whole column at once."""
    if column in AS_WRITTEN:
        return pl.lit(False)
    text = pl.col(column)
    if column != "horse_name":
        return text.str.contains(ANY)
    said = text.str.to_lowercase().str.replace_all(BETWEEN_WORDS, " ").str.strip_chars()
    return text.str.contains(ANY) | said.is_in(list(NAMES_NONE))


def may_be_its_name(cell: str, column: str) -> bool:
    """Whether a horse's name is the word for "the same": it may be called so."""
    return column == "horse_name" and plain(cell) == DITTO
