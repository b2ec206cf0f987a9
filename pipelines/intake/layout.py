"""Sheets → the four tables: which table a sheet is, and which of its columns is which."""

import re
from collections import defaultdict
from dataclasses import dataclass, field

import polars as pl

from pipelines.intake.sheet import RAGGED, ROW, SURPLUS, Sheet, cell
from schemas.exports import EXPORT_TABLES, REQUIRED_TABLES
from schemas.problem import Problem

EXPORT = "@export"
FILE = "@file"
SOURCE = "@source"
BEYOND = "beyond the last column"
META = (EXPORT, FILE, SOURCE, ROW, RAGGED)


@dataclass
class Laid:
    """The rows of each table as text under the declared names, other columns under their own headers, and META.

    unread: (table, source, header row, header) of columns and, with an empty header, whole sheets not understood.
    """

    tables: dict[str, pl.DataFrame] = field(default_factory=dict)
    unread: list[tuple[str, str, int, str]] = field(default_factory=list)


def lay_out(sheets: list[Sheet]) -> Laid:
    """The four tables, pieces of one table put together in order of arrival.

    Raises Problem where a table or column that must be there is missing, or a column stands twice in one sheet.
    """
    laid, pieces = Laid(), defaultdict(list)
    for sheet in sheets:
        table = _table_of(sheet)
        if table is None:
            laid.unread += [("", sheet.source, sheet.header_row, "")] if sheet.header else []
        elif sheet.header:
            pieces[table].append(_piece(sheet, table, laid))
        elif table in REQUIRED_TABLES:
            raise Problem(f"{sheet.source} is empty: it needs at least a row of headers")
    _refuse_missing_tables(pieces, sheets)
    for table in EXPORT_TABLES:
        found = pieces.get(table, [])
        laid.tables[table] = pl.concat(found, how="diagonal") if found else _no_rows()
    return laid


def _table_of(sheet: Sheet) -> str | None:
    """By the name of the file or sheet, else by the columns a table must have."""
    plain = normal(sheet.name)
    by_name = next((table for table in EXPORT_TABLES if plain.startswith(table)), None)
    headers = {normal(header) for header in sheet.header}
    return by_name or next((name for name, table in EXPORT_TABLES.items() if headers >= set(table.required())), None)


def normal(header: str) -> str:
    """A header without what people vary: case, spaces, hyphens and dots."""
    return re.sub(r"[\W_]+", "_", header.strip().lower()).strip("_")


def _piece(sheet: Sheet, table: str, laid: Laid) -> pl.DataFrame:
    names = _names(sheet, table)
    _refuse_missing_columns(sheet, table, names)
    unread = [at for at, name in enumerate(names) if name is None]
    empty = [at for at in unread if sheet.cells[cell(at)].null_count() == sheet.cells.height]
    for at in unread:
        if at not in empty:
            names[at] = _own_name(sheet.header, at)
            laid.unread.append((table, sheet.source, sheet.header_row, names[at]))
    taken = {cell(at): name for at, name in enumerate(names) if name is not None}
    taken |= {name: name for name in (ROW, RAGGED) if name in sheet.cells.columns}
    taken |= {SURPLUS: BEYOND} if SURPLUS in sheet.cells.columns else {}
    return sheet.cells.select(
        *(pl.col(cells).alias(name) for cells, name in taken.items()),
        pl.lit(sheet.export, pl.Int64).alias(EXPORT),
        pl.lit(sheet.file).alias(FILE),
        pl.lit(sheet.source).alias(SOURCE),
    )


def _names(sheet: Sheet, table: str) -> list[str | None]:
    """The declared name of each column of a sheet, None where it is not one."""
    declared = EXPORT_TABLES[table].columns()
    names = [normal(header) if normal(header) in declared else None for header in sheet.header]
    for at, name in enumerate(names):
        if name is not None and name in names[:at]:
            first = names.index(name)
            raise Problem(f"{sheet.source}: columns {first + 1} and {at + 1} are both {name}: keep one of them")
    return names


def _own_name(header: list[str], at: int) -> str:
    """The header as written; with its position where it is blank, stands twice or looks like one of ours."""
    own = header[at]
    if own and not own.startswith("@") and header.count(own) == 1 and own != BEYOND:
        return own
    return f"{own} (column {at + 1})".strip()


def _refuse_missing_columns(sheet: Sheet, table: str, names: list[str | None]) -> None:
    lacking = [name for name in EXPORT_TABLES[table].required() if name not in names]
    if lacking:
        columns = "column" if len(lacking) == 1 else "columns"
        raise Problem(f"{sheet.source} lacks the {columns} {', '.join(lacking)}, without which {table} cannot be read")


def _refuse_missing_tables(pieces: dict[str, list], sheets: list[Sheet]) -> None:
    lacking = [table for table in REQUIRED_TABLES if table not in pieces]
    if lacking:
        found = ", ".join(sheet.source for sheet in sheets) or "no sheet with a header"
        raise Problem(
            f"no file or sheet holds {' or '.join(lacking)} (found: {found}): name it so, and add its columns"
        )


def _no_rows() -> pl.DataFrame:
    return pl.DataFrame(schema={EXPORT: pl.Int64, FILE: pl.String, SOURCE: pl.String, ROW: pl.Int64})
