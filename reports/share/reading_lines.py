"""Angles and toes in time, foot by foot: filled as the foot left, hollow as it came, never joined across stages."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from reports import svg
from reports.charts.plot import Field, joined, plain_number, round_numbers, spots
from reports.theme import BLUE, CARD, GREY, GRID, INK, SOFT
from reports.time_axis import TimeAxis
from reports.wording import FOOT_NAMES, figure, listed
from schemas.words import FEET

NAMES = {"angle_deg": ("Angle", "°"), "toe_mm": ("Toe", " mm")}
LEFT, RIGHT = 26.0, 10.0  # room in a panel for the figures of its axis, and for the last dot


@dataclass(frozen=True)
class Shape:
    """How the four panels stand: so many across, each so wide, its field so high; size of words, and their font."""

    across: int
    wide: float
    high: float
    size: float
    font: str | None

    @property
    def down(self) -> float:
        """From one row of panels to the next: the field, the foot's name above and the years below."""
        return self.high + 3 * self.size


PAPER = Shape(4, 130, 37, 9, svg.FONT)  # as wide in points as a sheet has room for
PAGE = Shape(2, 180, 74, 11, None)  # as wide in pixels as a telephone


def reading_lines(
    readings: list[dict[str, Any]],
    column: str,
    days: tuple[date, date],
    error: float | None,
    shape: Shape = PAGE,
) -> str:
    """readings: rows of one horse. column: angle_deg or toe_mm. error: standard deviation of one reading, if known.

    Blank where there is no reading.
    """
    known = [row for row in readings if row[column] is not None]
    values = [row[column] for row in known]
    if not values:
        return ""
    ends = min(values) - 1, max(values) + 1
    panels = [_Panel(foot, place, days, ends, shape) for place, foot in enumerate(FEET)]
    parts = [part for panel in panels for part in panel.drawn(known, column)]
    if error is not None:
        parts += panels[shape.across - 1].error_bar(error, sum(ends) / 2)
    height = len(FEET) / shape.across * shape.down
    return svg.picture(parts, shape.across * shape.wide, height, _alt(known, column))


class _Panel:
    """The field of one foot."""

    def __init__(self, foot: str, place: int, days: tuple[date, date], ends: tuple[float, float], shape: Shape):
        left, top = place % shape.across * shape.wide, place // shape.across * shape.down + 1.4 * shape.size
        self.foot, self.ends, self.shape = foot, ends, shape
        self.field = Field((0, 1), ends, left + LEFT, left + shape.wide - RIGHT, top, top + shape.high)
        self.axis = TimeAxis(*days, self.field.left, self.field.right)

    def drawn(self, known: list[dict[str, Any]], column: str) -> list[str]:
        came, left = (
            [
                (self.axis.at(row["visit_date"]), self.field.up(row[column]))
                for row in known
                if (row["foot"], row["stage"]) == (self.foot, stage)
            ]
            for stage in ("arrival", "leaving")
        )
        dots = [*spots(came, GREY, 4.6), *spots(came, CARD, 2.6), *spots(left, BLUE, 4.2)]
        return [*self._frame(), *joined(left, BLUE), *dots]

    def _frame(self) -> list[str]:
        field, size, font = self.field, self.shape.size, self.shape.font
        name = svg.text(FOOT_NAMES[self.foot], field.left, field.top - 0.4 * size, size, INK, font_family=font)
        parts = [name, *self.axis.drawn(field.top, field.bottom, size=size - 0.5, font_family=font)]
        for value in round_numbers(*self.ends, 3):
            y = field.up(value)
            parts.append(svg.line(field.left, y, field.right, y, GRID, stroke_width=1))
            written = {"text_anchor": "end", "font_family": font}
            parts.append(svg.text(plain_number(value), field.left - 4, y + 3, size - 0.5, SOFT, **written))
        return parts

    def error_bar(self, error: float, middle: float) -> list[str]:
        """The width within which 95 of 100 readings of one true angle fall, at the right edge."""
        x = self.field.right + RIGHT / 2
        top, bottom = (self.field.up(middle + side * 1.96 * error) for side in (1, -1))
        caps = [svg.line(x - 3, y, x + 3, y, INK, stroke_width=1.2) for y in (top, bottom)]
        return [svg.line(x, top, x, bottom, INK, stroke_width=1.2), *caps]


def _alt(rows: list[dict[str, Any]], column: str) -> str:
    name, unit = NAMES[column]
    told = []
    for foot in FEET:
        values = [row[column] for row in rows if row["foot"] == foot and row["stage"] == "leaving"]
        told.append(
            f"{FOOT_NAMES[foot]} {len(values)} readings on leaving"
            + (f", first {figure(values[0])}{unit}, last {figure(values[-1])}{unit}" if values else "")
        )
    return f"{name} in time. {listed(told)}."
