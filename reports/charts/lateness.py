"""Intervals against their plan: what was agreed beside what was done, and what goes with a late visit."""

from reports import svg
from reports.charts.axes import LONGEST, NAMES, RIGHT, shortened
from reports.charts.dots import ROW, TOP, Dot, dots, runs_off
from reports.charts.plot import Field, level
from reports.drawing import Chart, Drawn, drawable
from reports.picking import Row, rate_limits
from reports.theme import BLUE, CHART_WIDTH, GREY, INK
from reports.wording import figure, level_name, span

CUT = " A range that runs past the edge is cut there; the table has all of it."
SHORT = {"more than 7 days early": "over 7 days early"}  # as wide as there is room for
RANGE = "Dot: the figure. Line: where the true one likely lies."


def agreed_and_actual(dimension: str, drawn: list[Row]) -> Chart:
    """Mean agreed beside mean done of intervals with a plan, levels in the order given."""
    bottom = TOP + len(drawn) * ROW
    weeks = range(0, int(max(max(row["planned_days"], row["done_days"]) for row in drawn) / 7) + 2, 2)
    field = Field((0, 7 * (weeks[-1] + 0.5)), (0, 1), NAMES, CHART_WIDTH - RIGHT, TOP, bottom)
    parts = level(field, [7 * week for week in weeks], "weeks between visits", lambda days: f"{days / 7:g}")
    for place, row in enumerate(drawn):
        parts += _pair(level_name(dimension, row["level"]), row, field, TOP + (place + 0.5) * ROW)
    said = "; ".join(
        f"{level_name(dimension, row['level'])} {figure(row['planned_days'])} agreed, {figure(row['done_days'])} done"
        for row in drawn
    )
    return Chart(
        f"agreed-{dimension}",
        Drawn(tuple(parts), CHART_WIDTH, bottom + 36),
        f"Days between visits, agreed and done: {said}.",
        "Upright mark: what was agreed, on average. Dot: what was done.",
    )


def _pair(name: str, row: Row, field: Field, middle: float) -> list[str]:
    agreed, done = field.across(row["planned_days"]), field.across(row["done_days"])
    return [
        svg.label(drawable(shortened(name, LONGEST)), NAMES - 7, middle + 4, text_anchor="end"),
        svg.line(agreed, middle, done, middle, GREY, stroke_width=2),
        svg.line(agreed, middle - 8, agreed, middle + 8, INK, stroke_width=2.5),
        svg.element("circle", cx=done, cy=middle, r=4.2, fill=BLUE),
    ]


def losses_past_plan(drawn: list[Row]) -> Chart:
    """Loss rates by how long shoes were then past their plan."""
    rows = [Dot(row["level"], row["per_1000_days"], *rate_limits(row)) for row in drawn]
    return _dots("late-losses", rows, "lost for every 1,000 shoe-days", "Losses by days past the plan", "")


def angle_by_lateness(drawn: list[Row]) -> Chart:
    """Change of the angle from one visit to the next by how late the next one was."""
    rows = [
        Dot(SHORT.get(row["level"], row["level"]), row["mean_change_deg"], row["change_low"], row["change_high"])
        for row in drawn
    ]
    return _dots("late-angles", rows, "degrees from leaving to the next arrival", "Change of the angle", "°")


def _dots(name: str, rows: list[Dot], axis: str, what: str, unit: str) -> Chart:
    said = "; ".join(
        f"{row.label} {figure(row.value)}{unit}"
        + (f" (likely {span(row.low, row.high)})" if row.low is not None else "")
        for row in rows
    )
    return Chart(name, dots(rows, axis), f"{what}: {said}.", RANGE + (CUT if runs_off(rows) else ""))
