"""The unit of a column's bare numbers: what its header says, or the practice's layout file, or nobody."""

import re
from collections.abc import Collection, Iterable
from math import log

import polars as pl

from pipelines.intake.headers import BRACKETS, REASONS_HEADER, UNIT_WORDS, normal
from pipelines.intake.roles import Role
from pipelines.intake.sheet import SOURCE, Sheet, cell
from pipelines.intake.spellings.no_unit import IN_OTHER_MONEY, marked
from pipelines.intake.spellings.numbers import CALLED, UNITS, has_no_unit
from pipelines.intake.told import Told
from schemas.exports import EXPORT_TABLES
from schemas.fields import MEANINGS
from schemas.synonyms import plain

OF_COLUMNS = {
    "minutes": {"h": "h", "hr": "h", "hrs": "h", "hour": "h", "hours": "h"},
    "height_hands": {"cm": "cm", "cms": "cm", "centimetres": "cm", "centimeters": "cm", "in": "in", "inches": "in"},
}
"""Columns with a way of writing of their own: the unit a header may name, as it stands behind a number."""
FACTORS = {name: factor for factor, name in CALLED.items()} | {"h": 60}
BARE = r"^\s*[+\-−]?[\d½¼¾⅛⅜⅝⅞⅓⅔][\d.,/ ½¼¾⅛⅜⅝⅞⅓⅔]*$"
"""Most bare numbers, told for a whole column at once; of the other cells each spelling is looked at."""


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
    return body.with_columns(_behind(body[name], unit) for name, unit in units.items()) if units else body


def _behind(cells: pl.Series, unit: str) -> pl.Expr:
    text = pl.col(cells.name)
    others = cells.filter(~cells.str.contains(BARE).fill_null(True)).unique()
    bare = text.str.contains(BARE) | text.is_in([other for other in others if has_no_unit(other)])
    return pl.when(bare).then(pl.concat_str(text.str.strip_chars(), pl.lit(f" {unit}"))).otherwise(text)


def unit_of(header: str, table: str, column: str) -> str | None:
    """The unit that a header names, in brackets or as its last word; None for the declared one or none at all."""
    meaning = EXPORT_TABLES[table].columns()[column]
    known = OF_COLUMNS.get(column) or {
        name: name for name, factor in UNITS.get(meaning.unit, {}).items() if factor != 1 and name.isalpha()
    }
    return next((known[name] for name in _said(header) if name in known), None)


def _said(header: str) -> list[str]:
    """What a header may name a unit with: what stands in brackets, and its last word."""
    said = [plain(inside) for inside in BRACKETS.findall(header)]
    last = UNIT_WORDS.search(plain(re.sub(r"[^\w\s]", " ", header)))
    return said + ([last[1]] if last and last[1] != "in" else [plain(header)])  # "toe in" is the toe on arrival


def stated(taken: Iterable[Told]) -> set[tuple[str, str]]:
    """The columns, by sheet, whose own header names the declared unit: a bare number there is in it.

    The declared name itself, mass_kg, says nothing of what a person meant who wrote pounds underneath.
    """
    columns = ((told.source, header, column.split(" ")[-1]) for told in taken for header, column in told.named)
    return {(source, column) for source, header, column in columns if _names_its_own(header, column)}


def _names_its_own(header: str, column: str) -> bool:
    own = {name for name, factor in UNITS.get(MEANINGS[column].unit, {}).items() if factor == 1}
    own |= {"min", "mins", "minutes"} if column == "minutes" else set()
    return plain(header) != plain(column) and bool(own & set(_said(header)))


def without_unit(
    texts: pl.DataFrame, name: str, values: pl.Series, units: dict[str, str], told: Collection[tuple[str, str]]
) -> pl.Series | None:
    """The cells of a column with bare numbers marked where, on their sheet, they may well be in another unit.

    values: what was read so far; units: the unit each spelling carries, for those that carry one; told: sheets and
    columns whose header names the declared unit. None where all may stay. A bare number is in the declared unit where
    most cells of the sheet are, and the bare ones are of their size.
    """
    cells = texts.select(SOURCE, pl.col(name).alias("text")).with_columns(
        values.alias("value"), pl.col("text").replace_strict(units, default="", return_dtype=pl.String).alias("unit")
    )
    tails = {}
    for (source,), part in cells.drop_nulls("value").group_by(SOURCE):
        others = _others(part, MEANINGS[name].unit)
        if others and (source, name) not in told:
            tails[source] = marked(others)
    if not tails:
        return None
    tail = pl.col(SOURCE).replace_strict(tails, default=None, return_dtype=pl.String)
    bare = pl.col("value").is_not_null() & (pl.col("unit") == "") & tail.is_not_null()
    return cells.select(
        pl.when(bare).then(pl.concat_str(pl.col("text").str.strip_chars(), tail)).otherwise("text").alias(name)
    ).to_series()


def in_other_money(texts: pl.DataFrame, name: str, units: dict[str, str]) -> pl.Series | None:
    """The cells of a column with sums marked that are in another money than most of their sheet; None where none is."""
    cells = texts.select(
        SOURCE, pl.col(name).alias("text"), pl.col(name).replace_strict(units, default=None).alias("in")
    )
    counts = cells.drop_nulls("in").group_by(SOURCE, "in").len().sort("len", "in", descending=[True, False])
    if counts[SOURCE].is_unique().all():
        return None
    most = dict(counts.unique(SOURCE, keep="first", maintain_order=True).select(SOURCE, "in").rows())
    own = pl.col(SOURCE).replace_strict(most, default=None, return_dtype=pl.String)
    marked = pl.format(f"{{}}{IN_OTHER_MONEY}", pl.col("text").str.strip_chars(), own)
    return cells.select(pl.when(pl.col("in") != own).then(marked).otherwise("text").alias(name)).to_series()


def _others(part: pl.DataFrame, own: str) -> list[str]:
    """The units that a sheet's bare numbers may be in, most used first; none where they are in the declared one."""
    counts = dict(part["unit"].value_counts(sort=True).rows())
    others = [unit for unit in counts if unit not in ("", own)]
    if not others or "" not in counts:
        return []
    foreign = sum(counts[unit] for unit in others)
    bare, rest = (part.filter((pl.col("unit") == "") == is_bare)["value"].abs() for is_bare in (True, False))
    if counts[""] + counts.get(own, 0) > foreign and _of_one_size(bare, rest, FACTORS[others[0]]):
        return []
    return others


def _of_one_size(bare: pl.Series, rest: pl.Series, factor: float) -> bool:
    """Whether the middle of the bare numbers is nearer to that of the rest as it stands than turned from the unit."""
    middle, other = (part.filter(part > 0).median() for part in (bare, rest))
    return not middle or not other or abs(log(middle / other)) <= abs(log(middle * factor / other))
