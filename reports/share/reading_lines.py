"""Angles and toes in time, foot by foot: filled as the foot left, hollow as it came, never joined across stages."""

from datetime import date
from typing import Any

from reports import svg
from reports.theme import BLUE, CARD, GREY, GRID, INK, SOFT
from reports.time_axis import TimeAxis
from reports.wording import FOOT_NAMES, figure, listed
from schemas.words import FEET

PANEL, HEIGHT, TOP, LEFT = 130.0, 68.0, 13.0, 24.0  # four are as wide in points as a sheet of paper has room for
NAMES = {"angle_deg": ("Angle", "°"), "toe_mm": ("Toe", " mm")}


def reading_lines(readings: list[dict[str, Any]], column: str, first: date, last: date, error: float | None) -> str:
    """readings: rows of one horse. column: angle_deg or toe_mm. error: standard deviation of one reading, if known."""
    known = [row for row in readings if row[column] is not None]
    low, high = _ends([row[column] for row in known])
    parts: list[str] = []
    for number, foot in enumerate(FEET):
        own = [row for row in known if row["foot"] == foot]
        parts += _panel(number * PANEL, foot, own, column, (first, last), (low, high))
    if error is not None:
        parts += _error_bar(error, low, high)
    return svg.picture(parts, 4 * PANEL, HEIGHT, _alt(known, column))


def _ends(values: list[float]) -> tuple[float, float]:
    return (min(values) - 1, max(values) + 1) if values else (0, 1)


def _panel(
    left: float,
    foot: str,
    rows: list[dict[str, Any]],
    column: str,
    days: tuple[date, date],
    ends: tuple[float, float],
) -> list[str]:
    bottom = HEIGHT - 14
    axis = TimeAxis(*days, left + LEFT, left + PANEL - 10)
    parts = [svg.text(f"{FOOT_NAMES[foot]}", left + LEFT, 10, 9, INK), *axis.drawn(TOP, bottom)]
    for value in _steps(*ends):
        y = _height(value, *ends)
        parts.append(svg.line(left + LEFT, y, left + PANEL - 10, y, GRID, stroke_width=1))
        parts.append(svg.text(f"{value:g}", left + LEFT - 4, y + 3, 8, SOFT, text_anchor="end"))
    left_with, came_with = (
        [(axis.at(row["visit_date"]), _height(row[column], *ends)) for row in rows if row["stage"] == stage]
        for stage in ("leaving", "arrival")
    )
    if len(left_with) > 1:
        points = " ".join(f"{x:.1f},{y:.1f}" for x, y in left_with)
        parts.append(svg.element("polyline", points=points, fill="none", stroke=BLUE, stroke_width=1))
    return [*parts, *_dots(came_with, GREY, 4.6), *_dots(came_with, CARD, 2.6), *_dots(left_with, BLUE, 4.2)]


def _dots(points: list[tuple[float, float]], colour: str, across: float) -> list[str]:
    """All dots of a series as one path, each a stroke too short to see but for its round ends."""
    path = "".join(f"M{x:.1f} {y:.1f}h.01" for x, y in points)
    return [svg.element("path", d=path, stroke=colour, stroke_width=across, stroke_linecap="round")] if path else []


def _steps(low: float, high: float) -> list[float]:
    step = next((size for size in (1, 2, 5, 10, 20, 50) if (high - low) / size <= 4), 100)
    start = -(-low // step) * step
    return [start + step * number for number in range(int((high - start) // step) + 1)]


def _height(value: float, low: float, high: float) -> float:
    return HEIGHT - 14 - (value - low) / (high - low) * (HEIGHT - 14 - TOP)


def _error_bar(error: float, low: float, high: float) -> list[str]:
    """The width within which 95 of 100 readings of one true angle fall, at the right edge."""
    x, middle = 4 * PANEL - 5, (low + high) / 2
    top, bottom = (max(TOP, min(HEIGHT - 14, _height(middle + side * 1.96 * error, low, high))) for side in (1, -1))
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
