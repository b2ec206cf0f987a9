"""Shoes in time: one line a foot, one bar a shoe, and the range in which a lost one came off."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from reports import svg
from reports.theme import BLUE, GREY, INK, VERMILLION
from reports.time_axis import TimeAxis
from reports.wording import FOOT_NAMES, listed, many
from schemas.words import FEET


@dataclass(frozen=True)
class Shape:
    """Width of the picture and of its feet's names, height of a row, size of words and their font."""

    width: float
    left: float
    row: float
    size: float
    font: str | None


TOP = 4.0
PAPER = Shape(520, 54, 13.5, 9, svg.FONT)  # as wide in points as a sheet has room for
PAGE = Shape(360, 64, 25, 11, None)  # as wide in pixels as a telephone


def shoe_lines(
    shoes: list[dict[str, Any]], losses: list[dict[str, Any]], days: tuple[date, date], shape: Shape = PAGE
) -> str:
    """shoes, losses: rows of one horse, as `schemas.shared` has them. days: the first and the last one drawn."""
    axis = TimeAxis(*days, shape.left, shape.width - 8)
    ranges = {(loss["foot"], loss["fitted_on"]): loss for loss in losses}
    bottom = TOP + len(FEET) * shape.row
    parts = axis.drawn(TOP, bottom, size=shape.size - 0.5, least_gap=4 * shape.size, font_family=shape.font)
    for place, foot in enumerate(FEET):
        middle = TOP + (place + 0.5) * shape.row
        parts.append(svg.text(FOOT_NAMES[foot], 0, middle + 3, shape.size, INK, font_family=shape.font))
        for shoe in (one for one in shoes if one["foot"] == foot):
            parts += _shoe(shoe, ranges.get((foot, shoe["fitted_on"])), axis, middle)
    return svg.picture(parts, shape.width, bottom + 1.7 * shape.size, _alt(shoes, losses))


def _shoe(shoe: dict[str, Any], loss: dict[str, Any] | None, axis: TimeAxis, middle: float) -> list[str]:
    if loss is not None:
        return _lost(loss, axis, middle)
    start, stop = axis.at(shoe["fitted_on"]), axis.at(shoe["off_on"] or axis.last)
    bar = svg.element("rect", x=start, y=middle - 4, width=max(1.5, stop - start - 1.5), height=8, fill=BLUE)
    still_on = shoe["end_reason"] == "running" and (shoe["off_on"] or axis.last) >= axis.last
    return [bar, svg.text("›", stop, middle + 4, 11, BLUE)] if still_on else [bar]


def _lost(loss: dict[str, Any], axis: TimeAxis, middle: float) -> list[str]:
    start, sure, found = (axis.at(loss[day]) for day in ("fitted_on", "lost_after", "lost_by"))
    bar = svg.element("rect", x=start, y=middle - 4, width=max(1.5, sure - start), height=8, fill=BLUE)
    unsure = svg.line(start, middle, found, middle, GREY, stroke_width=2, stroke_dasharray="3 2")
    cross = [
        svg.line(found - 3.5, middle - tilt, found + 3.5, middle + tilt, VERMILLION, stroke_width=2.5)
        for tilt in (-3.5, 3.5)
    ]
    return [unsure, bar, *cross]


def _alt(shoes: list[dict[str, Any]], losses: list[dict[str, Any]]) -> str:
    def count(rows: list[dict[str, Any]], foot: str) -> int:
        return sum(row["foot"] == foot for row in rows)

    told = [f"{FOOT_NAMES[foot]} {many(count(shoes, foot), 'shoe')}, {count(losses, foot)} lost" for foot in FEET]
    return f"Shoes in time. {listed(told)}."
