"""What is told again: a horse or visit on each foot's row, or in a sheet of its own as well."""

import numpy as np
import polars as pl

from pipelines.intake.layout import FOLDED
from pipelines.intake.rows import AT, Rows, found
from pipelines.intake.sheet import EXPORT


def agree(rows: Rows) -> tuple[Rows, list[pl.DataFrame]]:
    """The rows where each that was folded in knows what the others of its key and export say, and the doubts of that.

    What one leaves blank the others fill in; a cell that cannot be read is taken for what all others say, with a
    warning. What they say differently stays, to be judged.
    """
    if FOLDED not in rows.texts.columns or rows.one_row_a_key:
        return rows, []
    key = [EXPORT, *rows.table.key()]
    content = [name for name in rows.typed.columns if name not in key]
    marked = rows.typed.with_columns(rows.texts[EXPORT], rows.texts[FOLDED].is_not_null().alias(FOLDED))
    marked = marked.with_row_index(AT).drop_nulls(rows.table.key())
    groups = marked.filter((pl.len().over(key) > 1) & pl.col(FOLDED).any().over(key))
    if groups.is_empty():
        return rows, []
    one = {name: pl.col(name).drop_nulls() for name in content}
    said = [pl.when(same.n_unique() == 1).then(same.first()).over(key).alias(name) for name, same in one.items()]
    filled = groups.with_columns(said).select(AT, *content)
    typed = rows.typed.with_row_index(AT).join(filled, on=AT, how="left", suffix="@said", maintain_order="left")
    typed = typed.with_columns(pl.col(name).fill_null(pl.col(f"{name}@said")) for name in content)
    typed = typed.select(rows.typed.columns)
    unread, doubts = {}, []
    for name, odd in rows.unread.items():
        settled = odd & typed[name].is_not_null()
        unread[name] = odd & ~settled
        if settled.any():
            doubts.append(_taken_so(rows, typed, settled, name))
    unread = {name: odd for name, odd in unread.items() if odd.any()}
    return Rows(rows.name, rows.texts, typed, unread, rows.whys, rows.doubts), doubts


def _taken_so(rows: Rows, typed: pl.DataFrame, settled: pl.Series, name: str) -> pl.DataFrame:
    line = found(rows, settled, "told_otherwise", name, pl.col(name), pl.lit(""))
    taken = typed[name].filter(settled).cast(pl.String)
    reason = pl.concat_str(
        pl.lit(f'{name} says "'), pl.col("value").str.strip_chars(), pl.lit('", which cannot be read: taken as '),
        taken, pl.lit(" from the other rows that tell it"),
    )  # fmt: skip
    return line.with_columns(reason.alias("reason"))


def times(rows: Rows) -> np.ndarray:
    """How many rows of the files each row stands for: one, or all that tell it in the same words."""
    if FOLDED not in rows.texts.columns:
        return np.ones(rows.height, dtype=np.int64)
    return rows.texts[FOLDED].fill_null(1).to_numpy()
