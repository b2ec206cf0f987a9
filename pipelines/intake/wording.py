"""Cells of text → values of the declared type. What cannot be read is marked, never dropped and never guessed."""

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Any

import polars as pl

from schemas import words
from schemas.base import Table
from schemas.fields import Meaning

EARLIEST_YEAR, LATEST_YEAR = 1900, 2199
ISO_DAY = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})(?:[T ]\d{1,2}:\d{2}(?::\d{2}(?:\.\d+)?)?(?:Z|[+-]\d{2}:?\d{2})?)?")
PLAIN_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")


@dataclass(frozen=True)
class Read:
    """The declared columns in the declared types; unread: for each column with cells that say nothing to us, which."""

    typed: pl.DataFrame
    unread: dict[str, pl.Series]


def read_cells(texts: pl.DataFrame, table: type[Table]) -> Read:
    """Every declared column of a table from its cells; a column that is not there is blank throughout.

    Cells written as the declaration has them are read in one pass; each other spelling is read once, however often
    it stands there.
    """
    meanings, dtypes = table.columns(), table.dtypes()
    present = [name for name in meanings if name in texts.columns]
    typed = texts.select(_as_declared(name, meanings[name]) for name in present)
    unread: dict[str, pl.Series] = {}
    for name in present:
        if meanings[name].kind == "text" or typed[name].null_count() == texts[name].null_count():
            continue
        column, odd = _one_by_one(texts[name], typed[name], meanings[name])
        typed = typed.with_columns(column)
        if odd.any():
            unread[name] = odd
    absent = [pl.lit(None, dtypes[name]).alias(name) for name in meanings if name not in present]
    return Read(typed.with_columns(absent).select(list(meanings)), unread)


def _as_declared(name: str, meaning: Meaning) -> pl.Expr:
    """The column where its cells are written as declared, null elsewhere."""
    text = pl.col(name)
    if meaning.kind == "word":
        return pl.when(text.is_in(list(meaning.words))).then(text)
    if meaning.kind == "integer":
        return text.cast(pl.Int64, strict=False)
    if meaning.kind == "number":
        number = text.cast(pl.Float64, strict=False)
        return pl.when(number.is_finite()).then(number).alias(name)
    if meaning.kind == "yes_no":
        return text.replace_strict({"yes": True, "no": False}, default=None, return_dtype=pl.Boolean)
    if meaning.kind == "date":
        day = text.str.to_date("%Y-%m-%d", strict=False)
        return pl.when(day.dt.year().is_between(EARLIEST_YEAR, LATEST_YEAR)).then(day).alias(name)
    written = text.str.strip_chars()
    return pl.when(written != "").then(written).alias(name)


def _one_by_one(texts: pl.Series, typed: pl.Series, meaning: Meaning) -> tuple[pl.Series, pl.Series]:
    """The column with every other spelling read, and which of its cells are neither blank nor read."""
    spellings = texts.filter(typed.is_null()).drop_nulls().unique()
    reader = READERS[meaning.kind]
    readings = {text: reader(text.strip(), meaning) for text in spellings if text.strip()}
    values = [readings.get(text) for text in spellings]
    lookup = pl.DataFrame({"text": spellings, "value": pl.Series(values, dtype=typed.dtype)})
    joined = pl.DataFrame({"text": texts}).join(lookup, on="text", how="left", maintain_order="left")
    column = typed.fill_null(joined["value"]).alias(typed.name)
    unread = [text for text, value in readings.items() if value is None]
    return column, (column.is_null() & texts.is_in(unread)).fill_null(False)


def _word(text: str, meaning: Meaning) -> str | None:
    plain = re.sub(r"[\s_-]+", "_", text)
    return next((word for word in meaning.words if word.lower() == plain.lower()), None)


def _number(text: str, _meaning: Meaning) -> float | None:
    if not PLAIN_NUMBER.fullmatch(text):
        return None
    number = float(text)
    return number if math.isfinite(number) else None


def _whole(text: str, meaning: Meaning) -> int | None:
    number = _number(text, meaning)
    return int(number) if number is not None and number == int(number) and abs(number) < 2**53 else None


def _day(text: str, _meaning: Meaning) -> date | None:
    found = ISO_DAY.fullmatch(text)
    if not found or not EARLIEST_YEAR <= int(found[1]) <= LATEST_YEAR:
        return None
    try:
        return date(int(found[1]), int(found[2]), int(found[3]))
    except ValueError:
        return None


def _yes_no(text: str, _meaning: Meaning) -> bool | None:
    plain = text.lower()
    return True if plain in words.YES else False if plain in words.NO else None


READERS: dict[str, Callable[[str, Meaning], Any]] = {
    "word": _word,
    "number": _number,
    "integer": _whole,
    "date": _day,
    "yes_no": _yes_no,
}
