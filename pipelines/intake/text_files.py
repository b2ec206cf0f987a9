"""Comma, semicolon or tab separated text → header and cells: encoding, separator and lines that do not fit."""

import codecs
import csv
import io
import re
from itertools import islice

import numpy as np
import polars as pl

from pipelines.intake.headers import header_of
from pipelines.intake.sheet import RAGGED, ROW, SURPLUS, cell, without_blank_rows
from schemas.base import Problem

SEPARATORS = "\t;,"
HEAD_ROWS = 50
CHUNK_ROWS = 50_000
CHUNK_BYTES = 1 << 18
BOMS = ((codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16"))


def read_text(data: bytes, named: str) -> tuple[list[str], int, pl.DataFrame]:
    """Header, the row it stands in and the cells of one text file.

    Lines with another number of cells than the header are kept and marked, never cut or padded in silence.
    Raises Problem where the bytes are text in no encoding known here or a quotation mark is never closed.
    """
    data = _as_utf8(data, named)
    data, told = _told_separator(data)
    separator = told or _separator(data)
    header, header_row, lines_above = _header(data, separator, named)
    header_row += 1 if told else 0
    if not header:
        return [], 1, pl.DataFrame()
    cells = _fast(data, separator, len(header), lines_above)
    if cells is None:
        cells = _careful(data, separator, len(header), lines_above, named)
    first = header_row + 1
    cells = cells.with_columns(pl.int_range(first, first + cells.height, dtype=pl.Int64).alias(ROW))
    return header, header_row, without_blank_rows(cells)


def _as_utf8(data: bytes, named: str) -> bytes:
    encoding = next((name for bom, name in BOMS if data.startswith(bom)), None) or _without_bom(data)
    try:
        if encoding != "utf-8":
            data = data.decode(encoding).encode("utf-8")
    except UnicodeDecodeError as error:
        raise Problem(
            f"{named} is not text in UTF-8, UTF-16 or Windows-1252: save it again as CSV with the encoding UTF-8."
        ) from error
    return data if b"\n" in data else data.replace(b"\r", b"\n")


def _without_bom(data: bytes) -> str:
    head = data[:4000]
    if head[1::2].count(0) > len(head) // 4:
        return "utf-16-le"
    if head[::2].count(0) > len(head) // 4:
        return "utf-16-be"
    if data.isascii():
        return "utf-8"
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8"


def _told_separator(data: bytes) -> tuple[bytes, str | None]:
    """Some spreadsheets write "sep=;" into a first line; it is no part of the table."""
    told = re.match(rb'"?sep=(.)"?\r?\n', data, re.IGNORECASE)
    return (data[told.end() :], told.group(1).decode()) if told else (data, None)


def _separator(data: bytes) -> str:
    """The separator that cuts most lines of the head into most pieces; a comma where none does.

    The middle line counts, not the first: titles stand above a header, and decimal commas within cells.
    """
    counts = {mark: [] for mark in SEPARATORS}
    for line in islice(io.BytesIO(data), HEAD_ROWS):
        bare = re.sub(rb'"[^"]*"', b"", line)
        if bare.strip():
            for mark in SEPARATORS:
                counts[mark].append(bare.count(mark.encode()))
    middle = {mark: sorted(found)[len(found) // 2] if found else 0 for mark, found in counts.items()}
    best = max(SEPARATORS, key=lambda mark: middle[mark])
    return best if middle[best] else max(SEPARATORS, key=lambda mark: (max(counts[mark], default=0), mark == ","))


def _header(data: bytes, separator: str, named: str) -> tuple[list[str], int, int]:
    """The header, its row as a person counts, and how many lines of the file end with it."""
    reader = _records(data, separator)
    rows, ends = [], []
    try:
        for row in islice(reader, HEAD_ROWS):
            rows.append(row)
            ends.append(reader.line_num)
    except csv.Error as error:
        raise _unclosed(named, len(rows) + 1) from error
    found = header_of(rows)
    if found is None:
        return [], 1, 0
    header, at = found
    return header, at + 1, ends[at]


def _records(data: bytes, separator: str):
    text = io.TextIOWrapper(io.BytesIO(data), encoding="utf-8", newline="")
    return csv.reader(text, delimiter=separator, strict=True)


def _unclosed(named: str, row: int) -> Problem:
    return Problem(
        f"{named}: the quotation marks in row {row} do not pair up, so its cells cannot be told apart. "
        "Close or remove the odd one and try again."
    )


def _fast(data: bytes, separator: str, width: int, lines_above: int) -> pl.DataFrame | None:
    """All cells in one pass, or None where any line may not have exactly `width` cells."""
    try:
        cells = pl.read_csv(
            data,
            has_header=False,
            skip_lines=lines_above,
            schema={cell(at): pl.String for at in range(width)},
            separator=separator,
            raise_if_empty=False,
        )
    except pl.exceptions.PolarsError:
        return None
    # Read in many chunks, each later step would put them together for itself.
    return cells.rechunk() if _every_line_full(data, separator, lines_above, cells) else None


def _every_line_full(data: bytes, separator: str, lines_above: int, cells: pl.DataFrame) -> bool:
    """Whether no line is short, which the fast reader fills up in silence (too long a line it refuses).

    Counts separators outside quotation marks: exactly width - 1 for each line that is not empty.
    """
    body = data
    if lines_above:
        start = re.match(rb"(?:[^\n]*(?:\n|\Z)){%d}" % lines_above, data)
        body = data[start.end() :] if start else b""
    empty = 0
    if cells.height and cells.to_series(0).null_count():
        empty = len(re.findall(rb"(?m)^\r?\n", re.sub(rb'"[^"]*"', b"", body)))
    return _outside_quotes(body, separator) == (cells.width - 1) * (cells.height - empty)


def _outside_quotes(data: bytes, separator: str) -> int:
    """How often the separator stands outside quotation marks."""
    every = np.frombuffer(data, np.uint8)
    count, within = 0, False
    for start in range(0, len(every), CHUNK_BYTES):
        part = every[start : start + CHUNK_BYTES]
        found, quotes = (np.flatnonzero(part == ord(mark)) for mark in (separator, '"'))
        # Separators up to each mark of quotation, so between two of them: every other stretch lies outside.
        between = np.diff(np.concatenate([[0], np.searchsorted(found, quotes), [found.size]]))
        count += int(between[int(within) :: 2].sum())
        within ^= bool(quotes.size % 2)
    return count


def _careful(data: bytes, separator: str, width: int, lines_above: int, named: str) -> pl.DataFrame:
    """All cells record by record, those that do not fit the header marked with what is wrong."""
    reader = _records(data, separator)
    read, pieces = 0, []
    try:
        while reader.line_num < lines_above:
            next(reader)
            read += 1
        while records := list(islice(reader, CHUNK_ROWS)):
            read += len(records)
            pieces.append(_chunk(records, width))
    except csv.Error as error:
        raise _unclosed(named, read + 1) from error
    return pl.concat(pieces) if pieces else _chunk([], width)


def _chunk(records: list[list[str]], width: int) -> pl.DataFrame:
    fitted = [_fitted(record, width) for record in records]
    names = [*(cell(at) for at in range(width)), RAGGED, SURPLUS]
    return pl.DataFrame(fitted, schema=dict.fromkeys(names, pl.String), orient="row")


def _fitted(record: list[str], width: int) -> list[str | None]:
    """The record cut or filled to the header's width, then what is wrong with it and the cells beyond the last."""
    surplus = [text for text in record[width:] if text.strip()]
    short = width - len(record)
    if short > 0:
        return [*record, *[None] * short, _miscounted(len(record), width) if any(record) else None, None]
    if surplus:
        return [*record[:width], _miscounted(len(record), width), " | ".join(record[width:])]
    return [*record[:width], None, None]


def _miscounted(found: int, width: int) -> str:
    kind = "a separator is missing" if found < width else "a separator too many, or one inside a text without quotes"
    return f"the line has {found} cells where the header has {width}: {kind}"
