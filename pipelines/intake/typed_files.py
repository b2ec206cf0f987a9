"""Files with types of their own (.parquet, .jsonl) → header and cells as text, so that all files are typed alike."""

import io
import json

import polars as pl

from pipelines.intake.sheet import RAGGED, ROW, cell, without_blank_rows
from pipelines.intake.text_files import _as_utf8
from schemas.base import Problem


def read_parquet(data: bytes, named: str) -> tuple[list[str], int, pl.DataFrame]:
    """Header, 0 (the header is no row here) and the cells; rows count from 1. Raises Problem where it is no Parquet."""
    try:
        frame = pl.read_parquet(io.BytesIO(data))
        cells = frame.select(_as_text(frame[name]).alias(cell(at)) for at, name in enumerate(frame.columns))
    except pl.exceptions.PolarsError as error:
        raise Problem(f"{named} cannot be read as a Parquet file: write it again, or save it as CSV.") from error
    rows = pl.int_range(1, frame.height + 1, dtype=pl.Int64).alias(ROW)
    return frame.columns, 0, without_blank_rows(cells.with_columns(rows))


def _as_text(column: pl.Series) -> pl.Series:
    """A typed column as a person would have typed it: 52.0 in a column of numbers is 52."""
    if column.dtype.is_float():
        whole = (column == column.floor()) & (column.abs() < 2**53)
        as_int = column.cast(pl.Int64, strict=False).cast(pl.String)
        return as_int.zip_with(whole.fill_null(False), column.cast(pl.String))
    if column.dtype.is_nested():
        return pl.Series([None if value is None else json.dumps(value, default=str) for value in column.to_list()])
    return column.cast(pl.String)


def read_json_lines(data: bytes, named: str) -> tuple[list[str], int, pl.DataFrame]:
    """Header (every name used on any line), 0 and the cells; rows are line numbers. A broken line is marked."""
    lines = _as_utf8(data, named).decode("utf-8-sig").split("\n")
    objects = [_object(line) for line in lines]
    header = list(dict.fromkeys(name for found in objects if found for name in found))
    columns = {
        cell(at): pl.Series([found.get(name) if found else None for found in objects], dtype=pl.String)
        for at, name in enumerate(header)
    }
    broken = ["the line is not one JSON object" if found is None else None for found in objects]
    spoilt = pl.Series(broken, dtype=pl.String)
    cells = pl.DataFrame({**columns, RAGGED: spoilt}).with_columns(
        pl.int_range(1, len(objects) + 1, dtype=pl.Int64).alias(ROW)
    )
    written = cells.filter(pl.Series([bool(line.strip()) for line in lines]))
    return header, 0, written if any(broken) else without_blank_rows(written.drop(RAGGED))


def _object(line: str) -> dict[str, str | None] | None:
    """The line's names and values as text, {} for a blank line, None where it is no JSON object."""
    if not line.strip():
        return {}
    try:
        found = json.loads(line, parse_float=str, parse_int=str)
    except ValueError:
        return None
    if not isinstance(found, dict):
        return None
    return {name: _json_text(value) for name, value in found.items()}


def _json_text(value) -> str | None:
    if value is None or isinstance(value, str):
        return value
    if isinstance(value, bool):
        return "true" if value else "false"
    return json.dumps(value, ensure_ascii=False)
