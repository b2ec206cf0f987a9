"""Picking rows of result tables for a sentence or a chart. A table that is missing reads as an empty one."""

from collections.abc import Iterable
from typing import Any

import polars as pl

NOT_RECORDED = "not recorded"  # the level of rows whose column is blank; it stands last everywhere

Results = dict[str, pl.DataFrame]
Row = dict[str, Any]


def rows(results: Results, table: str, dimension: str | None = None, **where: Any) -> list[Row]:
    """Rows of a table as dicts, in its own order, cut to one dimension and to the values named."""
    frame = results.get(table)
    if frame is None:
        return []
    wanted = where if dimension is None else {"dimension": dimension, **where}
    for column, value in wanted.items():
        frame = frame.filter(pl.col(column) == value)
    return frame.to_dicts()


def one(results: Results, table: str, **where: Any) -> Row | None:
    """The first row that fits, or None."""
    return next(iter(rows(results, table, **where)), None)


def everything(results: Results, table: str, **where: Any) -> Row | None:
    """The row about everything together, or None."""
    return one(results, table, dimension="all", **where)


def known(found: Iterable[Row], column: str) -> list[Row]:
    """The rows that have a figure in this column."""
    return [row for row in found if row[column] is not None]


def highest_first(found: Iterable[Row], column: str) -> list[Row]:
    """Rows from the highest figure to the lowest, those without one last; equal ones by level."""
    return sorted(found, key=lambda row: (*_blank(row, column), -(row[column] or 0), row["level"]))


def _blank(row: Row, column: str) -> tuple[bool, bool]:
    return row["level"] == NOT_RECORDED, row[column] is None


def in_order(found: Iterable[Row], order: Iterable[str]) -> list[Row]:
    """Rows in the order of their levels given; levels not in it come last, by name."""
    place = {level: index for index, level in enumerate(order)}
    return sorted(found, key=lambda row: (place.get(row["level"], len(place)), row["level"]))


def by_name(found: Iterable[Row]) -> list[Row]:
    """Rows by level in alphabetical order, whatever the case of its letters."""
    return sorted(found, key=lambda row: (row["level"] == NOT_RECORDED, row["level"].casefold(), row["level"]))


def rate_limits(row: Row) -> tuple[float | None, float | None]:
    """Of the two ways to find a rate's limits the wider one: counting losses, or counting horses as the units.

    With horses as units, those from leaving each horse out where they are known: they hold with few horses too. Where
    they were asked for and are not known, too few horses stand behind the rate for any range.
    """
    counted, clustered = (row["low"], row["high"]), (row["low_clustered"], row["high_clustered"])
    left_out = (row.get("low_left_out"), row.get("high_left_out"))
    if "low_left_out" in row and None in left_out and (row.get("losses") or 0) > 1:
        return None, None
    clustered = clustered if None in left_out else left_out
    if None in clustered:
        return counted
    if None in counted:
        return clustered
    return max(counted, clustered, key=lambda limits: limits[1] - limits[0])


FEWEST_HORSES = 5
FEW = f"of fewer than {FEWEST_HORSES} horses: no range is told"


def with_enough_horses(found: Iterable[Row], horses: str, *limits: str, whose: str | None = None) -> list[Row]:
    """The rows without these limits where under 5 horses stand behind them: how few horses differ is a guess.

    horses: the column that counts them. whose: what the horses had, to be said in the note; it says nothing else then.
    """
    blank = dict.fromkeys(limits)
    reason = {} if whose is None else {"note": f"{whose} {FEW}"}
    return [
        row if (row[horses] or 0) >= FEWEST_HORSES else {**row, **blank, **_only(row, limits, reason)} for row in found
    ]


def _only(row: Row, limits: tuple[str, ...], reason: dict[str, str]) -> dict[str, str]:
    """The reason, where a range was there to be left out."""
    return reason if any(row[name] is not None for name in limits) else {}


def apart(upper: tuple[float | None, float | None], lower: tuple[float | None, float | None]) -> bool:
    """Whether two ranges do not overlap, the first lying above."""
    return upper[0] is not None and lower[1] is not None and upper[0] > lower[1]


def labelled(horses: list[Row]) -> list[Row]:
    """Horses with a `label` each: the name, and the code behind it where two horses share a name."""
    names = [row["horse_name"] for row in horses]
    twice = {name for name in names if names.count(name) > 1} if len(set(names)) < len(names) else set()
    return [
        {
            **row,
            "label": f"{row['horse_name']} ({row['horse_id']})" if row["horse_name"] in twice else row["horse_name"],
        }
        for row in horses
    ]
