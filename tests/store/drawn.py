"""Tables drawn in a test, as frames and as records of an export."""

from datetime import UTC, date, datetime

import polars as pl

from schemas.exports import EXPORT_TABLES, SELDOM
from schemas.ledger import Findings
from schemas.records import Records

STARTED = datetime(2025, 7, 1, 9, 0, tzinfo=UTC)
FINISHED = datetime(2025, 7, 1, 9, 1, tzinfo=UTC)
AS_OF = date(2025, 6, 30)


def rows(text: str) -> list[dict[str, str | None]]:
    """The rows of a table drawn with | between its columns; a blank is None."""
    lines = [[cell.strip() or None for cell in line.split("|")] for line in text.strip().splitlines()]
    head, *body = lines
    return [dict(zip(head, line, strict=True)) for line in body]


def typed(table, drawn: list[dict]) -> pl.DataFrame:
    """Rows as the declared table, columns that were not drawn being blank."""
    kinds = table.dtypes()
    columns = {name: [_value(row.get(name), kind) for row in drawn] for name, kind in kinds.items()}
    return pl.DataFrame(columns, schema=kinds)


def _value(value, kind):
    if not isinstance(value, str) or kind == pl.String:
        return value
    read = {pl.Date: date.fromisoformat, pl.Int64: int, pl.Float64: float, pl.Boolean: lambda text: text == "yes"}
    return read[kind.base_type()](value)


def world(**tables: str | list[dict]) -> dict[str, pl.DataFrame]:
    """The four tables of an export, drawn or given as rows; one that is not named is empty."""
    given = {name: tables.get(name, []) for name in EXPORT_TABLES if name in tables or name not in SELDOM}
    return {
        name: typed(EXPORT_TABLES[name], rows(part) if isinstance(part, str) else part) for name, part in given.items()
    }


def records(tables: dict[str, pl.DataFrame], as_of: date = AS_OF, **account) -> Records:
    """The tables as an export that was read and checked: one file a table, its first row being row 2."""
    placed = {
        name: frame.with_columns(source_file=pl.lit(f"{name}.csv"), source_row=pl.int_range(2, pl.len() + 2))
        for name, frame in tables.items()
    }
    files = pl.DataFrame(
        [(f"{name}.csv", f"digest of {name}", frame.height) for name, frame in tables.items()],
        schema={"file_name": pl.String, "sha256": pl.String, "rows": pl.Int64},
        orient="row",
    )
    whole = {
        "rows_read": {name: frame.height for name, frame in tables.items()},
        "collapsed": {},
        "set_aside": Findings.empty(),
        "warnings": Findings.empty(),
    }
    return Records(as_of=as_of, tables=placed, files=files, **(whole | account))


def load(store, tables: dict[str, pl.DataFrame], as_of: date = AS_OF, **account) -> pl.DataFrame:
    """Take the tables in as one load and close it; nothing is derived."""
    store.take_in(records(tables, as_of, **account), STARTED)
    return store.finish_load(FINISHED)


def as_rows(tables: dict[str, pl.DataFrame]) -> dict[str, list[dict]]:
    """The tables as lists of dicts, for the plain second versions."""
    return {name: frame.to_dicts() for name, frame in tables.items()}
