"""Dots with the range in which the true figure likely lies: one row a level, used wherever levels are compared."""

from dataclasses import dataclass

import altair as alt

from reports.charts.axes import NAMES, rows_down, sized
from reports.drawing import inline_data
from reports.theme import BLUE, INK, RULE

ROW = 24
MOST_ROWS = 14


@dataclass(frozen=True)
class Dot:
    """One row: its label, its figure, its limits (None where not known)."""

    label: str
    value: float
    low: float | None
    high: float | None


def dots(rows: list[Dot], axis_title: str, reference: float | None = None, as_percent: bool = False):
    """Rows from top to bottom as given, on an axis from 0 (or lower where a figure is); reference: a dashed line."""
    low, high = _ends(rows, reference)
    scale = alt.Scale(domain=[low, high], nice=False, zero=False)
    axis = alt.Axis(title=axis_title, tickCount=5, grid=True, format="%" if as_percent else "~f")
    labels = [row.label for row in rows]
    down = rows_down(labels)
    data = alt.Chart(inline_data([_drawn(row, low, high) for row in rows]))
    across = alt.X(field="value", type="quantitative", scale=scale, axis=axis)
    ranges = data.mark_rule(color=BLUE, strokeWidth=2.5, opacity=0.55).encode(
        y=down, x=alt.X(field="from", type="quantitative", scale=scale, axis=axis), x2=alt.X2(field="to")
    )
    points = data.mark_point(color=BLUE, fill=BLUE, size=55, opacity=1).encode(y=down, x=across)
    layers = [*_reference(reference, scale, axis), ranges, points]
    return sized(layers, len(rows) * ROW, NAMES)


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


def _drawn(row: Dot, low: float, high: float) -> dict:
    start = row.value if row.low is None else max(row.low, low)
    stop = row.value if row.high is None else min(row.high, high)
    return {"label": row.label, "value": row.value, "from": start, "to": stop}


def _reference(reference: float | None, scale: alt.Scale, axis: alt.Axis) -> list:
    zero = alt.Chart(inline_data([{"value": 0}])).mark_rule(color=RULE)
    line = alt.Chart(inline_data([{"value": reference}])).mark_rule(color=INK, strokeDash=[4, 3])
    across = alt.X(field="value", type="quantitative", scale=scale, axis=axis)
    return [zero.encode(x=across)] + ([] if reference is None else [line.encode(x=across)])
