"""From counted patterns of shoes to the design of a loss model: levels, sparse and missing ones, measures."""

from typing import NamedTuple

import numpy as np
import polars as pl

NOT_RECORDED, OTHER, REFERENCE = "not recorded", "other", "reference"
APART, UNKNOWN_APART = "apart", "not recorded, apart"
HIDDEN = (APART, UNKNOWN_APART)
"""Columns of which no ratio is shown."""
ENOUGH_EXPECTED = 10.0
ENOUGH_FILLED = 0.5


class Factor(NamedTuple):
    """One thing that differs between shoes.

    sql: its value. step: for a measure, how much of it one ratio stands for, and in words ("5 mm").
    reference: level to compare with, for a word; without it the level with the most shoe-days. applies: SQL of the
    shoes it means anything for; the others take no part in its ratios.
    """

    name: str
    sql: str
    step: float | None = None
    step_in_words: str = ""
    reference: str | None = None
    applies: str = "true"


class Part(NamedTuple):
    """A factor in the design. rows: what the result shows; column: which column of `table` a row's ratio is (or -1)."""

    factor: str
    codes: np.ndarray
    table: np.ndarray
    rows: list[dict[str, object]]
    column: list[int]


class Tally(NamedTuple):
    """Of each pattern: shoes, losses, and losses expected at the rate of its age alone."""

    shoes: np.ndarray
    losses: np.ndarray
    expected: np.ndarray

    def by(self, codes: np.ndarray, size: int) -> list[np.ndarray]:
        """The three sums of each code."""
        return [np.bincount(codes, part, size) for part in self]


def design_part(factor: Factor, values: pl.Series, applies: np.ndarray, tally: Tally) -> Part:
    """The columns of one factor and the rows it shows.

    A value that is missing for over half of the shoes it applies to leaves the factor out. A level with under 10
    losses expected, or none found, joins `other`. If `other` is still so small it has a column of its own of which
    nothing is shown, so that a rare and bad level does not pass for a part of the reference; without any loss there is
    nothing to tell it by, and it stands with the reference. Shoes without a value are no level and never join `other`:
    too few to stand alone, they have such a column of their own. A measure is taken about its mean; its missing values
    get a column of their own where enough losses are expected.
    """
    shoes = tally.shoes * applies
    filled = float(shoes @ values.is_not_null().to_numpy()) / max(shoes.sum(), 1.0)
    if filled < ENOUGH_FILLED:
        said = "no shoe it applies to" if not shoes.sum() else f"filled in for {100 * filled:.0f} % of shoes"
        return left_out(factor.name, f"left out: {said}")
    return (_words if factor.step is None else _measure)(factor, values, applies, tally)


def left_out(factor: str, why: str) -> Part:
    """A factor that takes no part, with one row that says why."""
    row = {"level": "all", "shoes": 0, "losses": 0, "note": why}
    return Part(factor, np.array([], dtype=int), np.zeros((1, 0)), [row], [-1])


def coded(values: pl.Series) -> tuple[np.ndarray, list]:
    """Codes from 0 in the order of the distinct values; blanks have the last code, which no value has."""
    known = values.drop_nulls().unique().sort()
    codes = values.replace_strict(known, pl.int_range(len(known), eager=True), default=None, return_dtype=pl.Int32)
    return codes.fill_null(len(known)).to_numpy().astype(np.intp), known.to_list()


def _words(factor: Factor, values: pl.Series, applies: np.ndarray, tally: Tally) -> Part:
    codes, levels = coded(values)
    names = [*levels, NOT_RECORDED]
    outside = len(names)
    codes = np.where(applies, codes, outside)
    shoes, losses, expected = (part[:outside] for part in tally.by(codes, outside + 1))
    sparse = (expected < ENOUGH_EXPECTED) | (losses == 0)
    reference = _reference(factor, names, np.where(sparse, -1.0, expected))
    pool = _pool(sparse, shoes, losses, expected, names) if reference is not None and names[reference] != OTHER else ""
    if reference is None or (~sparse & (shoes > 0)).sum() + (pool == OTHER) < 2:
        return left_out(factor.name, "left out: fewer than two levels with 10 losses expected and one found")
    column, rows = {}, []
    for place, name in enumerate(names):
        if shoes[place] == 0 or place == reference:
            continue
        own = _column_of(name, sparse[place], pool, losses[place])
        if own:
            column.setdefault(own, len(column))
        if name != own:
            stands = "left out" if own in HIDDEN else f"counted with {own or names[reference]}"
            rows.append((name, -1, _sums(shoes, losses, [place]), f"{expected[place]:.1f} losses expected: {stands}"))
    members = {
        own: [p for p in range(outside) if _column_of(names[p], sparse[p], pool, losses[p]) == own] for own in column
    }
    shown = [(own, at, _sums(shoes, losses, members[own]), None) for own, at in column.items() if own not in HIDDEN]
    first = (names[reference], -1, _sums(shoes, losses, [reference]), REFERENCE)
    table = np.zeros((outside + 1, len(column)))
    for own, at in column.items():
        table[members[own], at] = 1
    table[reference] = 0
    listed = [first, *sorted(shown, key=_last_unknown), *rows]
    return Part(factor.name, codes, table, [_row(*line, names[reference]) for line in listed], [r[1] for r in listed])


def _column_of(name: str, is_sparse: bool, pool: str, losses: float) -> str:
    """The column that a level's shoes stand in: its own, that of the sparse ones, or none, with the reference."""
    if not is_sparse:
        return name
    if name == NOT_RECORDED:
        return UNKNOWN_APART if losses else ""
    return pool


def _last_unknown(line: tuple) -> tuple:
    return line[0] in (NOT_RECORDED,), line[0] == OTHER, line[0]


def _pool(sparse: np.ndarray, shoes: np.ndarray, losses: np.ndarray, expected: np.ndarray, names: list[str]) -> str:
    """Where the sparse levels go: `other`, if together (with `other` itself) they are enough, apart, or nowhere."""
    sparse = sparse & np.array([name != NOT_RECORDED for name in names])
    joined = sparse | np.array([name == OTHER for name in names])
    if not (sparse & (shoes > 0)).any() or losses[joined].sum() == 0:
        return ""
    return OTHER if expected[joined].sum() >= ENOUGH_EXPECTED else APART


def _reference(factor: Factor, names: list[str], weight: np.ndarray) -> int | None:
    if factor.reference in names and weight[names.index(factor.reference)] > 0:
        return names.index(factor.reference)
    best = int(np.argmax(weight[:-1])) if len(names) > 1 else -1
    return best if best >= 0 and weight[best] > 0 else None


def _sums(shoes: np.ndarray, losses: np.ndarray, places: list[int]) -> tuple[int, int]:
    return int(shoes[places].sum()), int(losses[places].sum())


def _row(level: str, _column: int, sums: tuple[int, int], note: str | None, reference: str) -> dict[str, object]:
    return {"level": level, "reference": reference, "shoes": sums[0], "losses": sums[1], "note": note}


def _measure(factor: Factor, values: pl.Series, applies: np.ndarray, tally: Tally) -> Part:
    codes, known = coded(values)
    outside = len(known) + 1
    codes = np.where(applies, codes, outside)
    shoes, losses, expected = tally.by(codes, outside + 1)
    size = np.array(known, dtype=float)
    if len(size) < 2 or losses[: len(size)].sum() == 0:
        return left_out(factor.name, "left out: it is the same for all shoes, or none of them was lost")
    mean = float(size @ expected[: len(size)] / expected[: len(size)].sum())
    unknown = bool(expected[len(size)] >= ENOUGH_EXPECTED and losses[len(size)] > 0)
    table = np.zeros((outside + 1, 1 + unknown))
    table[: len(size), 0] = (size - mean) / factor.step
    table[len(size), 1:] = 1
    filled = _sums(shoes, losses, list(range(len(size))))
    rows = [_row(f"per {factor.step_in_words}", 0, filled, None, f"{factor.step_in_words} less")]
    columns = [0]
    if shoes[len(size)]:
        note = None if unknown else f"{expected[len(size)]:.1f} losses expected: counted at the mean"
        rows.append(_row(NOT_RECORDED, 1, _sums(shoes, losses, [len(size)]), note, f"the mean, {mean:.3g}"))
        columns.append(1 if unknown else -1)
    return Part(factor.name, codes, table, rows, columns)
