"""One horse's angles or toes in time, a field a foot: filled as it left, hollow as it came, never joined."""

from datetime import date, timedelta

from reports import svg
from reports.charts.plot import Field, joined, plain_number, round_numbers, spots
from reports.drawing import Chart, Drawn
from reports.picking import Row
from reports.theme import BLUE, CARD, CHART_WIDTH, GRID, SOFT, VERMILLION
from reports.time_axis import TimeAxis
from reports.wording import FOOT_NAMES, day, figure, many
from schemas.words import FEET

LEFT, GAP, TOP, HIGH, DOWN = 24.0, 14.0, 22.0, 74.0, 116.0
WIDE = (CHART_WIDTH - GAP) / 2
LONGEST = timedelta(days=3 * 365)  # more days than this would crowd the readings of half a width
NAMES = {"angle_deg": ("Angle", "degrees", "°"), "toe_mm": ("Toe", "mm", " mm")}


def horse_angles(readings: list[Row], column: str, last: date) -> Chart | None:
    """column: angle_deg or toe_mm; readings: rows of one horse in order. The latest three years; None without any."""
    start = last - LONGEST
    known = [row for row in readings if row[column] is not None and row["visit_date"] >= start]
    if not known:
        return None
    first = min(row["visit_date"] for row in known)
    ends = min(row[column] for row in known) - 1, max(row[column] for row in known) + 1
    parts = _key()
    for place, foot in enumerate(FEET):
        corner = (place % 2) * (WIDE + GAP), 20 + (place // 2) * DOWN
        parts += _panel(foot, [row for row in known if row["foot"] == foot], column, (first, last), ends, corner)
    name, unit, _ = NAMES[column]
    return Chart(
        f"{column.replace('_', '-')}-in-time",
        Drawn(tuple(parts), CHART_WIDTH, 20 + 2 * DOWN),
        f"{name} in time, {day(first)} to {day(last)}: {_said(known, column)}.",
        f"{name} in {unit}. The line joins leaving with leaving only." + (_cut(readings, column, start)),
    )


def _cut(readings: list[Row], column: str, start: date) -> str:
    earlier = any(row[column] is not None and row["visit_date"] < start for row in readings)
    return f" From {day(start)}; earlier readings are not drawn." if earlier else ""


def _key() -> list[str]:
    return [
        *spots([(6, 8)], BLUE, 5.6), svg.label("on leaving", 14, 12),
        *_hollow([(106, 8)]), svg.label("on arrival", 114, 12),
    ]  # fmt: skip


def _panel(
    foot: str, rows: list[Row], column: str, days: tuple[date, date], ends: tuple[float, float],
    corner: tuple[float, float],
) -> list[str]:  # fmt: skip
    left, right, top = corner[0] + LEFT, corner[0] + WIDE, corner[1] + TOP
    field = Field((0, 1), ends, left, right, top, top + HIGH)
    axis = TimeAxis(*days, left, right - 10)
    parts = [svg.label(FOOT_NAMES[foot], left, corner[1] + 14)]
    for value in round_numbers(*ends, 3):
        y = field.up(value)
        parts.append(svg.line(left, y, right, y, GRID, stroke_width=1))
        parts.append(svg.label(plain_number(value), left - 4, y + 4, SOFT, text_anchor="end"))
    parts += axis.drawn(top, top + HIGH, size=11, least_gap=46, font_family=None)
    left_with, came_with = (
        [(axis.at(row["visit_date"]), field.up(row[column])) for row in rows if row["angle_at"] == stage]
        for stage in ("leaving", "arrival")
    )
    return [*parts, *joined(left_with, BLUE), *_hollow(came_with), *spots(left_with, BLUE, 5.6)]


def _hollow(points: list[tuple[float, float]]) -> list[str]:
    return [*spots(points, VERMILLION, 5.6), *spots(points, CARD, 3.0)]


def _said(known: list[Row], column: str) -> str:
    told = []
    for foot in FEET:
        own = [row for row in known if row["foot"] == foot]
        stages = [_stage(own, column, stage) for stage in ("leaving", "arrival")]
        told.append(f"{FOOT_NAMES[foot].lower()} {' and '.join(stage for stage in stages if stage) or 'no reading'}")
    return "; ".join(told)


def _stage(rows: list[Row], column: str, stage: str) -> str:
    values = [row[column] for row in rows if row["angle_at"] == stage]
    unit = NAMES[column][2]
    if not values:
        return ""
    return f"{many(len(values), 'reading')} on {stage}, {figure(values[0])}{unit} to {figure(values[-1])}{unit}"
