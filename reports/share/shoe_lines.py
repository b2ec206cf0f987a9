"""Shoes in time: one line a foot, one bar a shoe, and the range in which a lost one came off."""

from datetime import date
from typing import Any

from reports import svg
from reports.theme import BLUE, GREY, INK, VERMILLION
from reports.time_axis import TimeAxis
from reports.wording import FOOT_NAMES, listed, many
from schemas.words import FEET

WIDTH, ROW, TOP, LEFT = 520.0, 16.0, 4.0, 54.0  # as many points wide as a sheet of paper has room for
HEIGHT = TOP + 4 * ROW + 16


def shoe_lines(shoes: list[dict[str, Any]], losses: list[dict[str, Any]], first: date, last: date) -> str:
    """shoes, losses: rows of one horse, as `schemas.shared` has them."""
    axis = TimeAxis(first, last, LEFT, WIDTH - 8)
    ranges = {(loss["foot"], loss["fitted_on"]): loss for loss in losses}
    parts = axis.drawn(TOP, TOP + 4 * ROW)
    for row, foot in enumerate(FEET):
        middle = TOP + (row + 0.5) * ROW
        parts.append(svg.text(FOOT_NAMES[foot], 0, middle + 3, 9, INK))
        for shoe in (one for one in shoes if one["foot"] == foot):
            parts += _shoe(shoe, ranges.get((foot, shoe["fitted_on"])), axis, middle)
    return svg.picture(parts, WIDTH, HEIGHT, _alt(shoes, losses))


def _shoe(shoe: dict[str, Any], loss: dict[str, Any] | None, axis: TimeAxis, middle: float) -> list[str]:
    if loss is not None:
        return _lost(loss, axis, middle)
    start, stop = axis.at(shoe["fitted_on"]), axis.at(shoe["off_on"] or axis.last)
    bar = svg.element("rect", x=start, y=middle - 4, width=max(1.5, stop - start - 1.5), height=8, fill=BLUE)
    open_end = [svg.text("›", stop, middle + 4, 11, BLUE)] if shoe["end_reason"] == "running" else []
    return [bar, *open_end]


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
