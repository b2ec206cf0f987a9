"""Workbooks (.xlsx, .ods) → header and cells of each sheet, as text, row numbers as the spreadsheet shows them."""

from collections.abc import Iterator

import polars as pl

from pipelines.intake.headers import header_of
from pipelines.intake.merges import fill_merges
from pipelines.intake.ods_cells import fill_ods_cells
from pipelines.intake.sheet import ROW, cell, without_blank_rows
from schemas.base import Problem

HEAD_ROWS = 50


def read_workbook(data: bytes, named: str) -> Iterator[tuple[str, list[str], int, pl.DataFrame]]:
    """For each sheet: its name, header, the row the header stands in, and the cells.

    Dates come as "2026-03-01 00:00:00"; a cell that holds an error comes as "#error". Raises Problem where the file
    is no workbook or is locked by a password.
    """
    import fastexcel

    try:
        book = fastexcel.read_excel(data)
    except fastexcel.FastExcelError as error:
        raise Problem(
            f"{named} cannot be opened as a workbook: open it in a spreadsheet program, take off any password and "
            "save it again as .xlsx or .ods."
        ) from error
    for number, sheet_name in enumerate(book.sheet_names):
        grid = fill_merges(fill_ods_cells(_grid(book, sheet_name), data, number), data, number)
        yield (sheet_name.strip(), *_cut(grid))


def _grid(book, sheet_name: str) -> pl.DataFrame:
    """Every cell as text from the sheet's first row on, blank rows included, so that row numbers stay true."""
    sheet = book.load_sheet(sheet_name, header_row=None, skip_rows=0, dtypes="string")
    if not sheet.width:
        return pl.DataFrame()
    batch, errors = sheet.to_arrow_with_errors()
    grid = pl.DataFrame(pl.from_arrow(batch))
    grid.columns = [cell(at) for at in range(grid.width)]
    for error in errors.errors if errors else []:
        row, column = error.offset_position
        grid[row, column] = "#error"
    return grid


def _cut(grid: pl.DataFrame) -> tuple[list[str], int, pl.DataFrame]:
    head = [[text or "" for text in row] for row in grid.head(HEAD_ROWS).rows()]
    found = header_of(head)
    if found is None:
        return [], 1, pl.DataFrame()
    header, at = found
    body = grid.with_columns(pl.int_range(1, grid.height + 1, dtype=pl.Int64).alias(ROW)).slice(at + 1)
    return header, at + 1, without_blank_rows(body)
