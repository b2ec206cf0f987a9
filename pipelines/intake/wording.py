"""Cells of text → values of the declared type. What cannot be read is marked, never dropped and never guessed."""

from collections.abc import Callable, Collection
from dataclasses import dataclass, field, replace

import polars as pl

from pipelines.intake.sheet import FILE
from pipelines.intake.spellings import Habits, Reading, read
from pipelines.intake.spellings.numbers import LARGEST
from pipelines.intake.spellings.special import SPECIAL
from pipelines.intake.spellings.stand_ins import says_no_name
from pipelines.intake.units import in_other_money, without_unit
from schemas.base import Table
from schemas.fields import Meaning

EARLIEST_YEAR, LATEST_YEAR = 1900, 2199
LEAST_THOUSAND = 1000
MAY_BE_THOUSANDS = r"^\D*\d{1,3}[.,]\d{3}\D*$"
CHANGES = {"column_name": pl.String, "change": pl.String, "cells": pl.Int64, "found": pl.String, "taken": pl.String}


@dataclass(frozen=True)
class Read:
    """The declared columns in the declared types, and how they were understood.

    texts: the cells as found, bare numbers that may be in another unit marked as such. unread: for each column with
    cells that say nothing to us, which. whys: for such a column, what to write instead, by cell, where more can be
    said than what is allowed. doubts: likewise for cells taken with a warning. changes: one row a column and kind of
    change on the way in, with the number of cells and an example (CHANGES).
    """

    texts: pl.DataFrame
    typed: pl.DataFrame
    unread: dict[str, pl.Series]
    whys: dict[str, dict[str, str]] = field(default_factory=dict)
    doubts: dict[str, dict[str, str]] = field(default_factory=dict)
    changes: pl.DataFrame = field(default_factory=lambda: pl.DataFrame(schema=CHANGES))


@dataclass(frozen=True)
class _How:
    """habits: of each file by its name, and of all under "". commas: whether a file's decimal mark is a comma, by its
    name, asked for where a cell turns on it. stated: sheets and columns whose header names the declared unit.
    """

    habits: dict[str, Habits]
    commas: Callable[[], dict[str, bool]]
    stated: Collection[tuple[str, str]]


def read_cells(
    texts: pl.DataFrame,
    table: type[Table],
    by_file: dict[str, Habits],
    habits: Habits,
    commas: Callable[[], dict[str, bool]] = dict,
    stated: Collection[tuple[str, str]] = (),
) -> Read:
    """Every declared column of a table from its cells; a column that is not there is blank throughout.

    Cells written as the declaration has them are read in one pass; each other spelling is read once, however often
    it stands there. by_file: how each file writes its days, by its name; habits: what holds for all of them. commas:
    whether each file's decimal mark is a comma. stated: sheets and columns whose header names the declared unit.
    """
    meanings, dtypes = table.columns(), table.dtypes()
    present = [name for name in meanings if name in texts.columns]
    how = _How({"": habits, **by_file}, commas, stated)
    typed = texts.select(_declared(name, meanings[name], habits) for name in present)
    unread, whys, doubts, changes = {}, {}, {}, []
    for name in present:
        if typed[name].null_count() == texts[name].null_count():
            continue
        if _is_free_text(name, meanings[name]) and not texts.select(says_no_name(name).any()).item():
            continue
        texts, readings = _column(texts, typed[name], name, meanings[name], how)
        typed = typed.with_columns(readings.column)
        changes += readings.changes
        if readings.odd.any():
            unread[name] = readings.odd
            whys[name] = readings.said("why")
        if said := readings.said("doubt"):
            doubts[name] = said
    absent = [pl.lit(None, dtypes[name]).alias(name) for name in meanings if name not in present]
    changed = pl.DataFrame(changes, schema=CHANGES, orient="row")
    return Read(texts, typed.with_columns(absent).select(list(meanings)), unread, whys, doubts, changed)


def _declared(name: str, meaning: Meaning, habits: Habits) -> pl.Expr:
    return pl.when(name not in habits.words).then(_as_declared(name, meaning)).alias(name)


def _is_free_text(name: str, meaning: Meaning) -> bool:
    return meaning.kind == "text" and name not in SPECIAL


def _as_declared(name: str, meaning: Meaning) -> pl.Expr:
    """The column where its cells are written as declared, null elsewhere."""
    text = pl.col(name)
    if meaning.kind == "word":
        return pl.when(text.is_in(list(meaning.words))).then(text)
    if meaning.kind == "integer":
        return text.cast(pl.Int64, strict=False)
    if meaning.kind == "number":
        number = text.cast(pl.Float64, strict=False)
        plainly = number.is_finite() & (number.abs() < LARGEST)
        if meaning.high is None or meaning.high >= LEAST_THOUSAND:
            plainly &= ~text.str.contains(MAY_BE_THOUSANDS)
        return pl.when(plainly).then(number).alias(name)
    if meaning.kind == "yes_no":
        return text.replace_strict({"yes": True, "no": False}, default=None, return_dtype=pl.Boolean)
    if meaning.kind == "date":
        day = text.str.to_date("%Y-%m-%d", strict=False)
        return pl.when(day.dt.year().is_between(EARLIEST_YEAR, LATEST_YEAR)).then(day).alias(name)
    if name in SPECIAL:
        return pl.when(text.str.contains(meaning.pattern.replace("(\\.[0-3])?", "\\.[0-3]"))).then(text).alias(name)
    written = text.str.strip_chars()
    return pl.when((written != "") & ~says_no_name(name)).then(written).alias(name)


@dataclass(frozen=True)
class _Readings:
    """One column read: its values, which cells say nothing to us, and each distinct spelling's reading."""

    column: pl.Series
    odd: pl.Series
    by_text: dict[tuple[str, str], Reading]
    changes: list[tuple]

    def units(self) -> dict[str, str]:
        """The unit of each spelling that carries one."""
        return {text: found.unit for (_, text), found in self.by_text.items() if found.unit}

    def said(self, what: str) -> dict[str, str]:
        """Cell → what is said of it, for the cells of which something is."""
        return {text: getattr(found, what) for (_, text), found in self.by_text.items() if getattr(found, what)}


def _column(
    texts: pl.DataFrame, typed: pl.Series, name: str, meaning: Meaning, how: _How
) -> tuple[pl.DataFrame, _Readings]:
    """One column read, once more where bare numbers stand among cells in another unit: they are marked first."""
    readings = _readings(texts, typed, name, meaning, how)
    units = readings.units()
    if not any(unit != meaning.unit for unit in units.values()):
        return texts, readings
    if meaning.unit == "currency":
        marked = in_other_money(texts, name, units)
    else:
        marked = without_unit(texts, name, readings.column, units, how.stated)
    if marked is None:
        return texts, readings
    texts = texts.with_columns(marked)
    again = texts.select(_declared(name, meaning, how.habits[""])).to_series()
    return texts, _readings(texts, again, name, meaning, how)


def _readings(texts: pl.DataFrame, typed: pl.Series, name: str, meaning: Meaning, how: _How) -> _Readings:
    """Every spelling of a column that is not as declared, read once, or once a file where it turns on the file: the
    order of days is a file's own, and so is its decimal mark.
    """
    odd = typed.is_null() & texts[name].is_not_null()
    left = texts.select(pl.col(FILE).alias("file"), pl.col(name).alias("text")).filter(odd)
    habits, by = how.habits, ["file", "text"]
    if meaning.kind == "number" and left["text"].str.contains(MAY_BE_THOUSANDS).any():
        habits = {file: replace(habits.get(file, habits[""]), comma=comma) for file, comma in how.commas().items()}
        habits |= {"": how.habits[""]}
    elif meaning.kind != "date":
        left, by = left.select(pl.lit("").alias("file"), "text"), ["text"]
    spellings = left.group_by(["file", "text"], maintain_order=True).len()
    files, cells = spellings["file"].to_list(), spellings["text"].to_list()
    by_text = {
        (file, text): read(text, name, meaning, habits.get(file, habits[""]))
        for file, text in zip(files, cells, strict=True)
        if text.strip()
    }
    found = [by_text.get(place) for place in zip(files, cells, strict=True)]
    lookup = spellings.with_columns(
        pl.Series("value", [one and one.value for one in found], dtype=typed.dtype),
        pl.Series("odd", [one is not None and one.value is None and not one.blank for one in found]),
    )
    joined = left.join(lookup, on=by, how="left", maintain_order="left")
    at = odd.arg_true()
    unread = pl.repeat(False, typed.len(), eager=True).scatter(at, joined["odd"])
    changes = _changes(name, cells, spellings["len"].to_list(), found)
    return _Readings(typed.scatter(at, joined["value"]), unread, by_text, changes)


def _changes(name: str, texts: list[str], counts: list[int], found: list[Reading | None]) -> list[tuple]:
    kinds: dict[str, list] = {}
    for text, count, one in zip(texts, counts, found, strict=True):
        if one is not None and one.changed and (one.value is not None or one.blank):
            kind = kinds.setdefault(one.changed, [0, text, "" if one.blank else _as_said(one.value)])
            kind[0] += count
    return [(name, change, cells, text.strip(), taken) for change, (cells, text, taken) in kinds.items()]


def _as_said(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else str(value)
