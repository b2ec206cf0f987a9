"""Rows that are no records whatever the sheet is about: notes between the rows, and sums in other words."""

import re
from dataclasses import replace

import polars as pl

from pipelines.intake.headers import REASONS_HEADER, meanings_of, normal
from pipelines.intake.sheet import ROW, SURPLUS, Sheet, cell
from pipelines.intake.spellings.days import MONTHS
from pipelines.intake.spellings.stand_ins import stands_in
from schemas.exports import EXPORT_TABLES

SUMS = re.compile(
    r"\s*(?:(?:sub|grand)[ \-]?)?(?:tot|totals?|sum|summe|gesamt|gesamtsumme|insgesamt|totall?ed|sum total|"
    r"(?:carried|brought) (?:forward|over|down)|[cb]/(?:f(?:wd)?|d)\.?)[\s.:=]*",
    re.I,
)
FIGURE = re.compile(r"\s*[£$€]?\s*[\d.,' ]+\s*(?:[£$€]|min|mins|h|km|miles|mm|kg)?\s*")
COUNTED = re.compile(
    r"\s*[£$€]?\s*\d[\d.,]*\s*(?:(?:lost|loose|cast|pulled) ?(?:shoes?)?|shoes? (?:lost|cast|off|pulled)|loss(?:es)?|"
    r"visits?|horses?|call[ \-]?outs?|rows?|entries|records|(?:in )?(?:all|total)|altogether)[\s.:]*",
    re.I,
)
"""A sum with what was counted behind it, "10 lost": of one record nobody writes so."""
MONTH = re.compile(rf"(?:{'|'.join(MONTHS)})\.?(?:[ ,/-]*(?:(?:19|20)\d\d|'\d\d))?[\s.:]*", re.I)
"""A month with or without its year, as it stands over the rows of that month; "May 12" may be the day of a record."""
WORDS = re.compile(r"[^\W\d_][^\d]*")
LEAST_WORDS, LEAST_NOTE = 4, 20
"""Four words and 20 characters: a name alone is a row without the rest, to be set aside."""
COLUMNS_LOOKED_AT = 6
"""Of those with fewest blanks: there a record leaves hardly any, and the others need not be looked through."""
LEAST_BLANK = 2

Noted = list[tuple[str, int, str]]


def without_notes(sheets: list[Sheet]) -> tuple[list[Sheet], Noted]:
    """The sheets without such rows, and (source, row, why) of each, so that every one is said."""
    kept, noted = [], []
    for sheet in sheets:
        found = _no_records(sheet)
        noted += [(sheet.source, row, why) for row, why in found]
        rows = [row for row, _ in found]
        kept.append(replace(sheet, cells=sheet.cells.filter(~pl.col(ROW).is_in(rows))) if rows else sheet)
    return kept, noted


def _no_records(sheet: Sheet) -> list[tuple[int, str]]:
    declared = {column for table in EXPORT_TABLES.values() for column in table.columns()}
    headed = [at for at, text in enumerate(sheet.header) if text and cell(at) in sheet.cells.columns]
    by_program = all(sheet.header[at] in declared for at in headed)
    is_report = any(normal(header) == REASONS_HEADER for header in sheet.header)
    if by_program or is_report or len(headed) <= LEAST_BLANK or sheet.cells.is_empty():
        return []
    fullest = sorted((cell(at) for at in headed), key=lambda name: sheet.cells[name].null_count())[:COLUMNS_LOOKED_AT]
    blank = pl.sum_horizontal((pl.col(name).fill_null("") == "").cast(pl.Int8) for name in fullest)
    few = sheet.cells.filter(blank >= LEAST_BLANK)
    cells = [name for name in few.columns if name.startswith("cell_") or name == SURPLUS]
    found = []
    for row, *texts in few.select(ROW, *cells).rows():
        written = [(name, text.strip()) for name, text in zip(cells, texts, strict=True) if text and text.strip()]
        why = _why([text for _, text in written])
        if why is None and len(written) == 1 and _is_heading(sheet, *written[0]):
            why = "a heading, the only text of its row"
        found += [(row, why)] if why else []
    return found


def _is_heading(sheet: Sheet, column: str, text: str) -> bool:
    """Whether the only text of a row is a heading of the rows below: a month, or words where a day is written.

    A horse may be called May: a month that another row says with more beside it is no heading.
    """
    if not MONTH.fullmatch(text) and not (_holds_days(sheet, column) and _is_in_words(text)):
        return False
    alike = sheet.cells.filter(pl.col(column).str.strip_chars() == text)
    cells = [name for name in alike.columns if name.startswith("cell_")]
    filled = pl.sum_horizontal((pl.col(name).str.strip_chars().fill_null("") != "").cast(pl.Int32) for name in cells)
    return alike.select((filled == 1).all()).item()


def _holds_days(sheet: Sheet, column: str) -> bool:
    at = next((at for at in range(len(sheet.header)) if cell(at) == column), None)
    return at is not None and any(meant.column == "visit_date" for meant in meanings_of(sheet.header[at]))


def _is_in_words(text: str) -> bool:
    return bool(WORDS.fullmatch(text)) and not stands_in(text, "visit_date")


def _why(texts: list[str]) -> str | None:
    """What a row is that holds these texts alone; None where it may be a record. A merged note stands in each cell."""
    sums = [bool(SUMS.fullmatch(text) or COUNTED.fullmatch(text)) for text in texts]
    if any(sums) and all(is_sum or FIGURE.fullmatch(text) for is_sum, text in zip(sums, texts, strict=True)):
        return "a row of totals"
    if len(set(texts)) == 1 and len(texts[0].strip()) >= LEAST_NOTE and len(texts[0].split()) >= LEAST_WORDS:
        return "a note, the only text of its row"
    return None
