"""Rows that are no records whatever the sheet is about: notes between the rows, and sums in other words."""

import re
from dataclasses import replace

import polars as pl

from pipelines.intake.headers import REASONS_HEADER, normal
from pipelines.intake.sheet import ROW, SURPLUS, Sheet, cell
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
    for row in few.select(ROW, *cells).rows():
        why = _why([text for text in row[1:] if text and text.strip()])
        found += [(row[0], why)] if why else []
    return found


def _why(texts: list[str]) -> str | None:
    """What a row is that holds these texts alone; None where it may be a record. A merged note stands in each cell."""
    sums = [bool(SUMS.fullmatch(text) or COUNTED.fullmatch(text)) for text in texts]
    if any(sums) and all(is_sum or FIGURE.fullmatch(text) for is_sum, text in zip(sums, texts, strict=True)):
        return "a row of totals"
    if len(set(texts)) == 1 and len(texts[0].strip()) >= LEAST_NOTE and len(texts[0].split()) >= LEAST_WORDS:
        return "a note, the only text of its row"
    return None
