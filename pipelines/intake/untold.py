"""What a sheet does not tell: columns of horses and visits that it does not carry, and cells that a default filled.

Such a cell says nothing: what other rows of its key say holds, then what an earlier export or the store holds, and a
default only where all of them are blank. A blank cell in a column that is carried says that there is nothing.
"""

from collections.abc import Iterable

import numpy as np
import polars as pl

from pipelines.intake.rows import AT, Rows
from pipelines.intake.sheet import EXPORT, GIVEN, UNTOLD
from schemas.exports import EXPORT_TABLES
from schemas.synonyms import plain

IN_PARTS = ("horses", "visits")
"""Tables that one sheet may tell in full and the next in a few columns; a foot or a loss is told once."""
CONSENT = "share_with_vet"
HALTED = "@halted"


def marked(piece: pl.DataFrame, table: str) -> pl.DataFrame:
    """The rows of one sheet with the columns that it does not carry (UNTOLD); a horse is told by its name as well."""
    if table not in IN_PARTS:
        return piece
    own = EXPORT_TABLES[table]
    absent = [name for name in own.columns() if name not in (*piece.columns, *own.key(), "horse_id")]
    return piece.with_columns(pl.lit(" ".join(absent)).alias(UNTOLD))


def with_defaults(texts: pl.DataFrame, table: str, defaults: dict[str, str]) -> pl.DataFrame:
    """Blank cells filled with what the practice says they mean, and which these are (GIVEN)."""
    declared = EXPORT_TABLES[table].columns()
    filled = {column: value for column, value in defaults.items() if column in declared}
    marks = []
    for column, value in filled.items():
        there = pl.col(column) if column in texts.columns else pl.lit(None, pl.String)
        blank = there.str.strip_chars().fill_null("") == ""
        marks.append(f"{GIVEN}{column}")
        texts = texts.with_columns(
            pl.when(blank).then(pl.lit(column)).alias(marks[-1]),
            pl.when(blank).then(pl.lit(value)).otherwise(there).alias(column),
        )
    if marks and table in IN_PARTS:
        texts = texts.with_columns(pl.concat_str(marks, separator=" ", ignore_nulls=True).alias(GIVEN))
    return texts.drop(marks)


def named(marks: pl.Series, column: str) -> pl.Series:
    """Which of these marks, names of columns with a blank between, name the column."""
    return marks.is_in([said for said in marks.drop_nulls().unique() if column in said.split()]).fill_null(False)


def given(texts: pl.DataFrame, column: str) -> pl.Series:
    """Which cells of a column a default filled."""
    return _marked_in(texts, GIVEN, column)


def untold(texts: pl.DataFrame, column: str) -> pl.Series:
    """Which rows do not tell a column themselves."""
    return _marked_in(texts, UNTOLD, column) | given(texts, column)


def _marked_in(texts: pl.DataFrame, mark: str, column: str) -> pl.Series:
    return named(texts[mark], column) if mark in texts.columns else pl.repeat(False, texts.height, eager=True)


def columns_in(marks: pl.Series) -> set[str]:
    """Every column that any of these marks names."""
    return {column for said in marks.drop_nulls().unique() for column in said.split()}


def without_defaults(rows: Rows) -> Rows:
    """The rows as they are told: a default makes no two of them differ."""
    return rows if GIVEN not in rows.texts.columns else _with_typed(rows, _emptied(rows, columns_in(rows.texts[GIVEN])))


def _emptied(rows: Rows, columns: Iterable[str]) -> pl.DataFrame:
    masks = {column: given(rows.texts, column) for column in columns}
    return rows.typed.with_columns(
        pl.select(pl.when(~mask).then(rows.typed[column]).alias(column)).to_series() for column, mask in masks.items()
    )


def defaults_again(rows: Rows, before: pl.DataFrame) -> Rows:
    """The rows with their defaults where no row of their key tells more. before: the typed cells with them."""
    if GIVEN not in rows.texts.columns:
        return rows
    filled = []
    for column in columns_in(rows.texts[GIVEN]):
        own = given(rows.texts, column)
        own &= ~rows.unread[column] if column in rows.unread else True
        default = pl.select(pl.when(own).then(before[column])).to_series()
        filled.append(rows.typed[column].fill_null(default))
    return _with_typed(rows, rows.typed.with_columns(filled))


def _with_typed(rows: Rows, typed: pl.DataFrame) -> Rows:
    return Rows(rows.name, rows.texts, typed, rows.unread, rows.whys, rows.doubts)


def told_so_far(rows: Rows, aside: np.ndarray) -> tuple[Rows, pl.Series | None]:
    """The rows with what earlier exports tell where they tell nothing, and the columns that still nobody tells.

    Consent is not carried on beside a row set aside that says otherwise of the same horse.
    """
    if UNTOLD not in rows.texts.columns:
        return rows, None
    key = rows.table.key()
    columns = sorted((columns_in(rows.texts[UNTOLD]) | _given_in(rows)) & (set(rows.typed.columns) - set(key)))
    masks = {column: untold(rows.texts, column) for column in columns}
    if rows.one_row_a_key:
        return rows, _names(masks, rows.height)
    marked_rows = rows.typed.with_columns(
        rows.texts[EXPORT], _halted(rows, aside), *(mask.alias(f"@{column}") for column, mask in masks.items())
    )
    fine = marked_rows.with_row_index(AT).filter(pl.Series(~aside)).sort(EXPORT, maintain_order=True)
    typed, still = [], {}
    for column in columns:
        nobody = pl.col(f"@{column}").all().over([*key, EXPORT])
        told = pl.when(~pl.col(f"@{column}")).then(pl.struct(pl.col(column).alias("says")))
        if column == CONSENT:
            told = pl.when(~pl.col(HALTED)).then(told)
        earlier = told.forward_fill().over(key)
        says = pl.when(nobody).then(pl.coalesce(earlier.struct.field("says"), column)).otherwise(column)
        part = fine.select(AT, says.alias(column), (nobody & earlier.is_null()).alias(UNTOLD))
        typed.append(rows.typed[column].scatter(part[AT], part[column]))
        still[column] = masks[column].scatter(part[AT], part[UNTOLD])
    return _with_typed(rows, rows.typed.with_columns(typed)), _names(still, rows.height)


def _given_in(rows: Rows) -> set[str]:
    return columns_in(rows.texts[GIVEN]) if GIVEN in rows.texts.columns else set()


def _names(masks: dict[str, pl.Series], height: int) -> pl.Series:
    """The columns of which the mask holds, a row, with a blank between."""
    marks = [pl.select(pl.when(mask).then(pl.lit(column))).to_series().alias(column) for column, mask in masks.items()]
    if not marks:
        return pl.repeat("", height, eager=True)
    return pl.DataFrame(marks).select(pl.concat_str(pl.all(), separator=" ", ignore_nulls=True)).to_series()


def _halted(rows: Rows, aside: np.ndarray) -> pl.Series:
    """Which rows are about a horse of which a row set aside says something else than yes under consent."""
    if rows.name != "horses" or not aside.any() or CONSENT not in rows.texts.columns:
        return pl.repeat(False, rows.height, eager=True).alias(HALTED)
    odd = pl.Series(aside) & ~untold(rows.texts, CONSENT) & ~rows.typed[CONSENT].fill_null(False)
    ids = rows.typed["horse_id"].str.to_lowercase()
    names = rows.typed["horse_name"].map_elements(plain, pl.String)
    halted = [one.is_in(one.filter(odd).drop_nulls().implode()).fill_null(False) for one in (ids, names)]
    return (halted[0] | halted[1]).alias(HALTED)
