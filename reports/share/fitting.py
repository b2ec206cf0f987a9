"""How many rows of each list of one horse find room on its one sheet of paper; what has none is in its page."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import ceil

BROAD = 114  # characters of a line of the lists, days in bold
BETWEEN = 3  # characters from row to row


@dataclass(frozen=True)
class Floor:
    """few: rows kept as long as another list has more than its own few; least: rows that are never left out."""

    few: int
    least: int = 2


# What was lost and found bruised outlasts the visits, which the picture of shoes shows too, and the changes.
LISTS = {"losses": Floor(12), "changes": Floor(3), "visits": Floor(6), "bruises": Floor(12)}


def rows_that_fit(lists: Mapping[str, Sequence[str]], room: int) -> dict[str, int]:
    """Rows of each list, newest first, so that all together take at most `room` lines, or no fewer than each's least.

    The list that takes most lines gives up its oldest row first, so that a short one stays whole.
    """
    kept = {name: len(lists[name]) for name in LISTS}
    while taken(lists, kept) > room and (name := _longest(lists, kept)):
        kept[name] -= 1
    return kept


def taken(lists: Mapping[str, Sequence[str]], kept: Mapping[str, int]) -> int:
    """Lines that so many rows of each list take together."""
    return sum(_lines(lists, name, rows) for name, rows in kept.items())


def _lines(lists: Mapping[str, Sequence[str]], name: str, rows: int) -> int:
    return ceil(sum(len(row) + BETWEEN for row in lists[name][:rows]) / BROAD)


def _longest(lists: Mapping[str, Sequence[str]], kept: Mapping[str, int]) -> str | None:
    """The list with most lines that may give up a row; None where none may."""
    many = [name for name, rows in kept.items() if rows > LISTS[name].few]
    free = many or [name for name, rows in kept.items() if rows > LISTS[name].least]
    return max(free, key=lambda name: _lines(lists, name, kept[name]), default=None)
