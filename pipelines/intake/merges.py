"""Cells merged over several rows: the value holds on each of them. Read from the file itself, never guessed."""

import io
import re
import zipfile
from xml.etree import ElementTree

import polars as pl

TABLE = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
Merge = tuple[int, int, int]


def fill_merges(grid: pl.DataFrame, data: bytes, number: int) -> pl.DataFrame:
    """The grid of a workbook's sheet (its number from 0) with every value merged over rows written on each of them."""
    places: dict[int, tuple[list[int], list[str]]] = {}
    for top, bottom, column in _merges(data, number):
        if column < grid.width and top < grid.height and (value := grid[top, column]) is not None:
            rows, values = places.setdefault(column, ([], []))
            covered = range(top, min(bottom, grid.height - 1) + 1)
            rows += covered
            values += [value] * len(covered)
    return grid.with_columns(grid.to_series(column).scatter(rows, values) for column, (rows, values) in places.items())


def _merges(data: bytes, number: int) -> list[Merge]:
    """First row, last row and column of every cell merged over rows, from 0."""
    with zipfile.ZipFile(io.BytesIO(data)) as book:
        names = set(book.namelist())
        if "xl/workbook.xml" in names:
            return _of_xlsx(book, number)
        return _of_ods(book.read("content.xml"), number) if "content.xml" in names else []


def _of_xlsx(book: zipfile.ZipFile, number: int) -> list[Merge]:
    sheets = re.findall(rb'<(?:\w+:)?sheet [^>]*?r:id="([^"]+)"', book.read("xl/workbook.xml"))
    targets = dict(_targets(book.read("xl/_rels/workbook.xml.rels")))
    if number >= len(sheets) or sheets[number] not in targets:
        return []
    path = targets[sheets[number]].decode().lstrip("/")
    text = book.read(path if path.startswith("xl/") else f"xl/{path}")
    return [
        merge for ref in re.findall(rb'<(?:\w+:)?mergeCell [^>]*?ref="([A-Z0-9:]+)"', text) if (merge := _rows(ref))
    ]


def _targets(relations: bytes) -> list[tuple[bytes, bytes]]:
    tags = re.findall(rb"<Relationship [^>]*>", relations)
    return [(re.search(rb'Id="([^"]+)"', tag)[1], re.search(rb'Target="([^"]+)"', tag)[1]) for tag in tags]


def _rows(reference: bytes) -> Merge | None:
    found = re.fullmatch(r"([A-Z]+)(\d+):([A-Z]+)(\d+)", reference.decode())
    if not found or found[2] == found[4]:
        return None
    column = 0
    for letter in found[1]:
        column = column * 26 + ord(letter) - 64
    return int(found[2]) - 1, int(found[4]) - 1, column - 1


def _of_ods(content: bytes, number: int) -> list[Merge]:
    if b"number-rows-spanned" not in content:
        return []
    tables = ElementTree.fromstring(content).iter(f"{TABLE}table")
    table = next((one for at, one in enumerate(tables) if at == number), None)
    found, row = [], 0
    for line in table.iter(f"{TABLE}table-row") if table is not None else ():
        found += [(row, row + span - 1, column) for column, span in _spans(line) if span > 1]
        row += int(line.get(f"{TABLE}number-rows-repeated", 1))
    return found


def _spans(line: ElementTree.Element) -> list[tuple[int, int]]:
    spans, column = [], 0
    for cell in line:
        spans.append((column, int(cell.get(f"{TABLE}number-rows-spanned", 1))))
        column += int(cell.get(f"{TABLE}number-columns-repeated", 1))
    return spans
