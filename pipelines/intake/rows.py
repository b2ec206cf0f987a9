"""The rows of one table on their way through the checks, and what was found on them."""

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import polars as pl

from pipelines.intake.own_words import FOOT, in_own_words
from pipelines.intake.sheet import MADE, META, RAGGED, ROW, SEVERAL, SOURCE
from schemas.base import Table
from schemas.exports import EXPORT_TABLES
from schemas.ledger import Findings

AT = "@at"


@dataclass(frozen=True)
class Rows:
    """texts: the cells as found, with META; typed: the declared columns; unread: cells that say nothing, a column.

    whys, doubts: for a column, what is said of a cell that could not be read, or was taken with a warning.
    """

    name: str
    texts: pl.DataFrame
    typed: pl.DataFrame
    unread: dict[str, pl.Series]
    whys: dict[str, dict[str, str]] = field(default_factory=dict)
    doubts: dict[str, dict[str, str]] = field(default_factory=dict)

    @property
    def table(self) -> type[Table]:
        """The declaration of this table."""
        return EXPORT_TABLES[self.name]

    @cached_property
    def one_row_a_key(self) -> bool:
        """Whether no key stands twice, whichever export it came with: quickly told, and then there is nothing to do."""
        return self.typed.select(pl.struct(self.table.key()).hash().n_unique() == pl.len()).item()

    @property
    def height(self) -> int:
        """Rows read."""
        return self.texts.height

    def ragged(self) -> pl.Series | None:
        """Which lines had not as many cells as the header; None where all had."""
        return self.texts[RAGGED].is_not_null() if RAGGED in self.texts.columns else None

    def several(self) -> pl.Series | None:
        """Which rows could be about several horses; None where none could."""
        return self.texts[SEVERAL].is_not_null() if SEVERAL in self.texts.columns else None

    def made(self, key: str) -> pl.Series | None:
        """Which rows come from a sheet that keeps no such key; None where all keep theirs."""
        return self.texts[MADE].str.contains(key, literal=True).fill_null(False) if MADE in self.texts.columns else None

    def places(self) -> pl.Expr:
        """Where each row stood, as a person says it."""
        return pl.concat_str(pl.col(SOURCE), pl.lit(" row "), pl.col(ROW).cast(pl.String))


def found(rows: Rows, bad: pl.Series, rule: str, column: str | None, value: pl.Expr, reason: pl.Expr) -> pl.DataFrame:
    """One line for each bad row: where it is (AT), rule, column_name, value and reason."""
    return (
        rows.texts.with_row_index(AT)
        .filter(bad)
        .select(
            pl.col(AT).cast(pl.Int64),
            pl.lit(rule).alias("rule"),
            pl.lit(column, pl.String).alias("column_name"),
            value.cast(pl.String).alias("value"),
            reason.cast(pl.String).alias("reason"),
        )
    )


def mask_of(rows: Rows, lines: list[pl.DataFrame]) -> np.ndarray:
    """Which rows anything was found on."""
    mask = np.zeros(rows.height, dtype=bool)
    for line in lines:
        mask[line[AT].to_numpy()] = True
    return mask


def as_findings(rows: Rows, lines: list[pl.DataFrame], headers: pl.DataFrame) -> pl.DataFrame:
    """`ledger.Findings` of the lines, in order of the rows, each with its whole row as JSON.

    headers: what each sheet calls its columns (`own_words.headers_of`); the reasons say it so.
    """
    if not lines:
        return Findings.empty()
    together = pl.concat(lines)
    written = [name for name in rows.texts.columns if name not in (*META, MADE)]
    texts = rows.texts.with_row_index(AT).cast({AT: pl.Int64}).filter(pl.col(AT).is_in(together[AT].unique().implode()))
    whole = texts.select(
        AT,
        pl.col(SOURCE).alias("source_file"),
        pl.col(ROW).alias("source_row"),
        pl.struct(_as_written(rows.texts, written)).struct.json_encode().alias("row_json"),
        (pl.col("foot") if "foot" in written else pl.lit(None, pl.String)).alias(FOOT),
    )
    joined = together.with_row_index("@order").join(whole, on=AT, how="left").sort(AT, "@order")
    told = joined.with_columns(pl.lit(rows.name).alias("table_name")).select(*Findings.columns(), FOOT)
    return in_own_words(told, headers)


def _as_written(texts: pl.DataFrame, written: list[str]) -> list[pl.Expr]:
    """The cells a person wrote: keys that were made are left out, and what they were made of stands under its name."""
    made = pl.col(MADE).str.split(" ").list if MADE in texts.columns else None
    cells = []
    for name in written:
        own = name.removeprefix("@")
        if own == name and made is not None:
            cells.append(pl.when(~made.contains(name)).then(pl.col(name)).alias(name))
        elif own == name or own not in written:
            cells.append(pl.col(name).alias(own))
    return cells


def as_accepted(rows: Rows, keep: pl.Series) -> pl.DataFrame:
    """The kept rows in the declared types, with the file and row each came from."""
    from_where = rows.texts.select(pl.col(SOURCE).alias("source_file"), pl.col(ROW).alias("source_row"))
    together = pl.concat([rows.typed, from_where], how="horizontal")
    return together if keep.all() else together.filter(keep)
