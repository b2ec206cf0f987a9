"""Tables as drawings: a header line of columns, then one line a row, cells divided by bars."""

import polars as pl

from schemas.base import Table
from schemas.words import END_OF_FOOT

ANYTHING = {
    pl.String: "any",
    pl.Int64: 1,
    pl.Float64: 1.0,
    pl.Date: "2025-01-01",
    pl.Boolean: True,
}
WORDS = {
    "discipline": "trail",
    "visit_kind": "routine",
    "foot": "LF",
    "season": "winter",
    "work": "none",
    "arrival": "on",
    "end_reason": "lost",
}


def draw(table: type[Table], drawing: str = "") -> pl.DataFrame:
    """The frame drawn. Required columns that are not drawn are filled with something fitting, keys with row numbers.

    A blank cell is null. `days_on` and `days` follow from the drawn dates, and the other way round from 2025-01-01.
    """
    lines = [[cell.strip() for cell in line.split("|")] for line in drawing.strip().splitlines() if line.strip()]
    header, rows = (lines[0], lines[1:]) if lines else ([], [])
    return fill(table, [dict(zip(header, row, strict=True)) for row in rows])


def fill(table: type[Table], rows: list[dict]) -> pl.DataFrame:
    """A frame of the table from rows that name only what matters; None or "" is blank."""
    whole = [_whole(table, number, row) for number, row in enumerate(rows)]
    text = pl.DataFrame(whole, schema=dict.fromkeys(table.columns(), pl.String))
    dtypes = table.dtypes()
    frame = text.with_columns(
        *(pl.col(name) == "true" for name, kind in dtypes.items() if kind == pl.Boolean),
        *(pl.col(name).str.to_date() for name, kind in dtypes.items() if kind == pl.Date),
        *(pl.col(name).cast(kind) for name, kind in dtypes.items() if kind in (pl.Int64, pl.Float64)),
    )
    return table.check(_with_days(frame, rows))


def _whole(table: type[Table], number: int, row: dict) -> dict:
    whole = {}
    for name in table.columns():
        value = row[name] if name in row else _something(table, name, number, row)
        whole[name] = None if value in (None, "") else str(value).lower() if isinstance(value, bool) else str(value)
    return whole


def _something(table: type[Table], name: str, number: int, row: dict) -> str | None:
    if name not in table.required():
        return None
    if name == "end":
        return END_OF_FOOT[row.get("foot", "LF")]
    if name in table.key() and name != "foot":
        return str(number)
    filler = WORDS.get(name, ANYTHING[table.dtypes()[name]])
    return str(filler).lower() if isinstance(filler, bool) else str(filler)


def _with_days(frame: pl.DataFrame, rows: list[dict]) -> pl.DataFrame:
    drawn = set(rows[0]) if rows else set()
    for days, start, stop in (("days_on", "fitted_on", "ended_on"), ("days", "from_date", "to_date")):
        if days not in frame.columns:
            continue
        if stop in drawn:
            frame = frame.with_columns((pl.col(stop) - pl.col(start)).dt.total_days().alias(days))
        else:
            frame = frame.with_columns((pl.col(start) + pl.duration(days=days)).alias(stop))
    return frame
