"""A report of rows set aside that comes back mended: its rows go to the tables they belong to."""

import polars as pl

from pipelines.intake.headers import DOUBTS_HEADER, REASONS_HEADER, TABLE_HEADER, normal
from pipelines.intake.sheet import Sheet, cell
from schemas.exports import EXPORT_TABLES


def apart(sheet: Sheet) -> list[Sheet]:
    """A report's sheet as one sheet a table, each without the columns it has no cell in; any other sheet as it is.

    A report's sheet of doubts is passed over.
    """
    headers = [normal(header) for header in sheet.header]
    if DOUBTS_HEADER in headers:
        return []
    if TABLE_HEADER not in headers or REASONS_HEADER not in headers:
        return [sheet]
    named = pl.col(cell(headers.index(TABLE_HEADER))).str.strip_chars()
    return [_of_table(sheet, name, sheet.cells.filter(named == name), headers) for name in EXPORT_TABLES]


def _of_table(sheet: Sheet, name: str, cells: pl.DataFrame, headers: list[str]) -> Sheet:
    kept = [
        at
        for at, header in enumerate(headers)
        if header != TABLE_HEADER and (header == REASONS_HEADER or cells[cell(at)].null_count() < cells.height)
    ]
    rest = [column for column in cells.columns if not column.startswith("cell_")]
    renamed = cells.select(*(pl.col(cell(at)).alias(cell(new)) for new, at in enumerate(kept)), *rest)
    header = [sheet.header[at] for at in kept] if cells.height else []
    return Sheet(
        f"{sheet.source} ({name})",
        sheet.file,
        sheet.export,
        name if cells.height else "",
        header,
        sheet.header_row,
        renamed,
    )
