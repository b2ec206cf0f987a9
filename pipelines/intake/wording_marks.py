"""Whether a file's decimal mark is a point or a comma, by its own evidence."""

import polars as pl

from pipelines.intake.sheet import FILE
from schemas.exports import EXPORT_TABLES

COMMA = r"\d,\d{1,2}(?:\D|$)|\d,\d{4}"
POINT = r"\d\.\d{1,2}(?:\D|$)|\d\.\d{4}"
"""One, two or more than three digits behind a mark: it marks no thousands."""


def decimal_commas(tables: dict[str, pl.DataFrame]) -> dict[str, bool]:
    """Whether the decimal mark is a comma, by file; a file that shows neither mark, or both, is left out."""
    seen: dict[str, set[bool]] = {}
    for name, part in tables.items():
        columns = [column for column, meaning in EXPORT_TABLES[name].columns().items() if meaning.kind == "number"]
        for column in (column for column in columns if column in part.columns):
            cells = part.select(FILE, pl.col(column).alias("text")).drop_nulls().unique()
            shown = cells.group_by(FILE).agg(
                pl.col("text").str.contains(COMMA).any().alias("comma"),
                pl.col("text").str.contains(POINT).any().alias("point"),
            )
            for file, comma, point in shown.select(FILE, "comma", "point").rows():
                seen.setdefault(file, set()).update([True] * comma + [False] * point)
    return {file: marks.pop() for file, marks in seen.items() if len(marks) == 1}
