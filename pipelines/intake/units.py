"""The unit of a column's bare numbers: what its header says, or the practice's layout file."""

import re

import polars as pl

from pipelines.intake.headers import BRACKETS, REASONS_HEADER, UNIT_WORDS, normal
from pipelines.intake.roles import Role
from pipelines.intake.sheet import Sheet, cell
from pipelines.intake.spellings.numbers import UNITS
from schemas.exports import EXPORT_TABLES
from schemas.synonyms import plain

OF_COLUMNS = {
    "minutes": {"h": "h", "hr": "h", "hrs": "h", "hour": "h", "hours": "h"},
    "height_hands": {"cm": "cm", "cms": "cm", "centimetres": "cm", "centimeters": "cm"},
}
"""Columns with a way of writing of their own: the unit a header may name, as it stands behind a number."""
BARE = r"^\s*[+\-−]?[\d½¼¾⅛⅜⅝⅞⅓⅔][\d.,/ ½¼¾⅛⅜⅝⅞⅓⅔]*$"


def with_units(sheet: Sheet, role: Role, body: pl.DataFrame, own: dict[str, str]) -> pl.DataFrame:
    """The cells with the unit behind each bare number of a column that is kept in another unit than the declared one.

    own: the practice's units, by column; a report of rows set aside has them written behind its numbers already.
    """
    is_report = any(normal(header) == REASONS_HEADER for header in sheet.header)
    units = {}
    for at, (header, meant) in enumerate(zip(sheet.header, role.columns, strict=True)):
        if meant is not None and cell(at) in body.columns:
            asked = None if is_report else own.get(meant.column)
            unit = asked or unit_of(header, meant.table, meant.column)
            if unit:
                units[cell(at)] = unit
    return body.with_columns(_behind(name, unit) for name, unit in units.items()) if units else body


def _behind(name: str, unit: str) -> pl.Expr:
    text = pl.col(name)
    return (
        pl.when(text.str.contains(BARE)).then(pl.concat_str(text.str.strip_chars(), pl.lit(f" {unit}"))).otherwise(text)
    )


def unit_of(header: str, table: str, column: str) -> str | None:
    """The unit that a header names, in brackets or as its last word; None for the declared one or none at all."""
    meaning = EXPORT_TABLES[table].columns()[column]
    known = OF_COLUMNS.get(column) or {
        name: name for name, factor in UNITS.get(meaning.unit, {}).items() if factor != 1 and name.isalpha()
    }
    said = [plain(inside) for inside in BRACKETS.findall(header)]
    last = UNIT_WORDS.search(plain(re.sub(r"[^\w\s]", " ", header)))
    said += [last[1]] if last and last[1] != "in" else [plain(header)]  # "toe in" is the toe on arrival
    return next((known[name] for name in said if name in known), None)
