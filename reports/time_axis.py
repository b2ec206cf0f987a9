"""Days on a picture's width, with the first of January, April, July and October marked."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from reports import svg
from reports.theme import GRID, SOFT

MONTHS = {1: "Jan", 4: "Apr", 7: "Jul", 10: "Oct"}


@dataclass(frozen=True)
class TimeAxis:
    """first, last: days at the left and right edge."""

    first: date
    last: date
    left: float
    right: float

    def at(self, day: date) -> float:
        """Where a day lies; days beyond the edges lie on them."""
        span = max(1, (self.last - self.first).days)
        share = min(1.0, max(0.0, (day - self.first).days / span))
        return self.left + share * (self.right - self.left)

    def drawn(self, top: float, bottom: float, *, size: float = 8, least_gap: float = 30, **written: Any) -> list[str]:
        """Grid lines with their names, see `marks`. written: attributes of the names."""
        marks = self.marks(least_gap)
        parts = [svg.line(x, top, x, bottom, GRID, stroke_width=1) for x, _ in sorted(marks)]
        names = [(x, name) for x, name in marks if name]
        return parts + [
            svg.text(name, x, bottom + size + 2, size, SOFT, text_anchor="middle", **written) for x, name in names
        ]

    def marks(self, least_gap: float) -> list[tuple[float, str]]:
        """Where each quarter begins, with its month, or the year at each January; blank where there is not room.

        Years come first, then July.
        """
        marks: list[tuple[float, str]] = []
        for day in sorted(self._quarters(), key=lambda day: (day.month != 1, day.month != 7, day)):
            x, name = self.at(day), str(day.year) if day.month == 1 else MONTHS[day.month]
            room = all(abs(x - other) >= least_gap for other, taken in marks if taken)
            marks.append((x, name if room else ""))
        return marks

    def _quarters(self) -> Iterator[date]:
        for year in range(self.first.year, self.last.year + 1):
            for month in MONTHS:
                if self.first <= date(year, month, 1) <= self.last:
                    yield date(year, month, 1)
