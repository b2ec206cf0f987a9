"""Dots with the range in which the true figure likely lies: one row a level, used wherever levels are compared."""

from dataclasses import dataclass

from reports import svg
from reports.charts.axes import LONGEST, NAMES, RIGHT, shortened
from reports.charts.plot import Field, level, plain_number, round_numbers
from reports.drawing import Drawn, drawable
from reports.theme import BLUE, CHART_WIDTH, INK, RULE
from reports.wording import percent

ROW, TOP = 24.0, 4.0
MOST_ROWS = 14


@dataclass(frozen=True)
class Dot:
    """One row: its label, its figure, its limits (None where not known)."""

    label: str
    value: float
    low: float | None
    high: float | None


def dots(rows: list[Dot], axis_title: str, reference: float | None = None, as_percent: bool = False) -> Drawn:
    """Rows from top to bottom as given, on an axis from 0 (or lower where a figure is); reference: a dashed line."""
    bottom = TOP + len(rows) * ROW
    ends = _ends(rows, reference)
    field = Field(ends, (0, 1), NAMES, CHART_WIDTH - RIGHT, TOP, bottom)
    values = [value for value in round_numbers(*ends) if field.across(value) < CHART_WIDTH - RIGHT / 2]
    parts = level(field, values, axis_title, percent if as_percent else plain_number)
    parts.append(svg.line(field.across(0), TOP, field.across(0), bottom, RULE, stroke_width=1))
    if reference is not None:
        x = field.across(reference)
        parts.append(svg.line(x, TOP, x, bottom, INK, stroke_width=1, stroke_dasharray="4 3"))
    for place, row in enumerate(rows):
        parts += _row(row, field, TOP + (place + 0.5) * ROW)
    return Drawn(tuple(parts), CHART_WIDTH, bottom + 36)


def _row(row: Dot, field: Field, middle: float) -> list[str]:
    x = field.across(row.value)
    parts = [svg.label(drawable(shortened(row.label, LONGEST)), NAMES - 7, middle + 4, text_anchor="end")]
    if row.low is not None and row.high is not None:
        start, stop = field.across(row.low), field.across(row.high)
        parts.append(svg.line(start, middle, stop, middle, BLUE, stroke_width=2.5, opacity=0.55))
    return [*parts, svg.element("circle", cx=x, cy=middle, r=4.2, fill=BLUE)]


def runs_off(rows: list[Dot], reference: float | None = None) -> bool:
    """Whether a range is cut at the edge of the chart, which its caption must then say."""
    low, high = _ends(rows, reference)
    return any((row.high or 0) > high or (row.low or 0) < low for row in rows)


def _ends(rows: list[Dot], reference: float | None) -> tuple[float, float]:
    """Ends of the axis: all figures, and ranges as far as they do not dwarf them (2.2 times the highest figure)."""
    values = [row.value for row in rows] + ([] if reference is None else [reference])
    tops = [row.high for row in rows if row.high is not None]
    bottoms = [row.low for row in rows if row.low is not None]
    top = max(max(values), 0)
    bottom = min(min(values), 0)
    reach = 2.2 * max(top, -bottom) or 1
    low, high = max(min([bottom, *bottoms]), -reach), min(max([top, *tops]), reach)
    # a little air, so that a dot at the end does not lie on a label
    return low - 0.025 * (high - low), high + 0.04 * (high - low)
