"""Cells of an .ods workbook that the reader library leaves blank or cannot read: errors of a formula, times of day."""

import io
import re
import zipfile
from xml.etree import ElementTree

import polars as pl

OFFICE = "{urn:oasis:names:tc:opendocument:xmlns:office:1.0}"
TABLE = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
CALC = "{urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0}"
DURATION = re.compile(r"PT(\d+)H(\d+)M")


def fill_ods_cells(grid: pl.DataFrame, data: bytes, number: int) -> pl.DataFrame:
    """The grid of a sheet (its number from 0) with errors as "#error" and times as "1:15"; another kind as it is."""
    with zipfile.ZipFile(io.BytesIO(data)) as book:
        names = book.namelist()
        content = book.read("content.xml") if "content.xml" in names and "mimetype" in names else b""
    if b'value-type="error"' not in content and b'value-type="time"' not in content:
        return grid
    for row, column, text in _marked(content, number):
        if row < grid.height and column < grid.width:
            grid[row, column] = text
    return grid


def _marked(content: bytes, number: int) -> list[tuple[int, int, str]]:
    tables = list(ElementTree.fromstring(content).iter(f"{TABLE}table"))
    found, row = [], 0
    for line in tables[number].iter(f"{TABLE}table-row") if number < len(tables) else ():
        found += [(row, column, text) for column, text in _of_row(line)]
        row += int(line.get(f"{TABLE}number-rows-repeated", 1))
    return found


def _of_row(line: ElementTree.Element) -> list[tuple[int, str]]:
    found, column = [], 0
    for cell in line:
        text = _text(cell)
        if text:
            found.append((column, text))
        column += int(cell.get(f"{TABLE}number-columns-repeated", 1))
    return found


def _text(cell: ElementTree.Element) -> str | None:
    if cell.get(f"{CALC}value-type") == "error":
        return "#error"
    time = DURATION.match(cell.get(f"{OFFICE}time-value", ""))
    return f"{int(time[1])}:{time[2]}" if time else None
