"""One horse's intervals in time: how long each took, beside what was agreed."""

from datetime import date, timedelta

from reports import svg
from reports.charts.plot import Field, round_numbers, upright
from reports.drawing import Chart, Drawn
from reports.picking import Row
from reports.theme import BLUE, CHART_WIDTH, GREY, INK
from reports.time_axis import TimeAxis
from reports.wording import day, from_to, many, whole

LEFT, TOP, BOTTOM = 30.0, 6.0, 118.0
LONGEST = timedelta(days=3 * 365)  # as in the picture of its shoes


def horse_rounds(rounds: list[Row], last: date) -> Chart | None:
    """The latest three years at most; rounds: rows of one horse in order. None where none ended in them."""
    start = last - LONGEST
    shown = [row for row in rounds if row["to_date"] >= start]
    if not shown:
        return None
    longest = max(max(row["days"], _agreed(row) or 0) for row in shown)
    field = Field((0, 1), (0, longest * 1.05), LEFT, CHART_WIDTH - 12, TOP, BOTTOM)
    axis = TimeAxis(shown[0]["to_date"], max(last, shown[-1]["to_date"]), LEFT + 6, CHART_WIDTH - 12)
    parts = axis.drawn(TOP, BOTTOM, size=11, least_gap=42, font_family=None)
    parts += upright(field, round_numbers(0, longest * 1.05, 4))
    for row in shown:
        parts += _interval(axis.at(row["to_date"]), row, field)
    first, lengths = shown[0]["to_date"], [row["days"] for row in shown]
    return Chart(
        "rounds",
        Drawn(tuple(parts), CHART_WIDTH, BOTTOM + 18),
        f"Intervals by the day they ended, {from_to(day(first), day(shown[-1]['to_date']))}: "
        f"{many(len(shown), 'interval')} of {from_to(whole(min(lengths)), whole(max(lengths)))} days.",
        "Days between visits. Dot: what an interval took. Level mark: what was agreed for it."
        + (f" From {day(start)}; the table has all." if len(shown) < len(rounds) else ""),
    )


def _agreed(row: Row) -> float | None:
    return None if row["planned_weeks"] is None else 7 * row["planned_weeks"]


def _interval(x: float, row: Row, field: Field) -> list[str]:
    done = field.up(row["days"])
    dot = svg.element("circle", cx=x, cy=done, r=3.4, fill=BLUE)
    if row["planned_weeks"] is None:
        return [dot]
    agreed = field.up(7 * row["planned_weeks"])
    stem = svg.line(x, agreed, x, done, GREY, stroke_width=1.5)
    return [stem, svg.line(x - 5, agreed, x + 5, agreed, INK, stroke_width=2), dot]
