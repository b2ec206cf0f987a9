"""One horse's angles or toes in time, a field a foot: filled as it left, hollow as it came, never joined."""

from datetime import date, timedelta
from itertools import chain

from reports import svg
from reports.charts.plot import Field, joined, plain_number, round_numbers, spots
from reports.drawing import Chart, Drawn
from reports.picking import Row
from reports.theme import BLUE, CARD, CHART_WIDTH, GRID, SOFT, VERMILLION
from reports.time_axis import TimeAxis
from reports.wording import FOOT_NAMES, day, figure, from_to, many
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
    panels = [_Panel(foot, place, (first, last), ends) for place, foot in enumerate(FEET)]
    parts = [*_key(), _grid(panels), *[label for panel in panels for label in panel.labels()]]
    came, left = ([panel.points(known, column, stage) for panel in panels] for stage in ("arrival", "leaving"))
    parts += [line for points in left for line in joined(points, BLUE)]
    parts += [*_hollow(list(chain(*came))), *spots(list(chain(*left)), BLUE, 5.6)]
    name, unit, _ = NAMES[column]
    return Chart(
        f"{column.replace('_', '-')}-in-time",
        Drawn(tuple(parts), CHART_WIDTH, 20 + 2 * DOWN),
        f"{name} in time, {from_to(day(first), day(last))}: {_said(known, column)}.",
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


class _Panel:
    """The field of one foot: two stand side by side, the hinds under the fronts."""

    def __init__(self, foot: str, place: int, days: tuple[date, date], ends: tuple[float, float]):
        left, top = (place % 2) * (WIDE + GAP) + LEFT, 20 + (place // 2) * DOWN + TOP
        self.foot, self.ends = foot, ends
        self.field = Field((0, 1), ends, left, left - LEFT + WIDE, top, top + HIGH)
        self.axis = TimeAxis(*days, left + 5, self.field.right - 10)
        self.marks = self.axis.marks(46)

    def points(self, rows: list[Row], column: str, stage: str) -> list[tuple[float, float]]:
        own = (row for row in rows if row["foot"] == self.foot and row["angle_at"] == stage)
        return [(self.axis.at(row["visit_date"]), self.field.up(row[column])) for row in own]

    def lines(self) -> str:
        field = self.field
        across = [
            f"M{field.left:.1f} {field.up(value):.1f}H{field.right:.1f}" for value in round_numbers(*self.ends, 3)
        ]
        return "".join(across + [f"M{x:.1f} {field.top:.1f}V{field.bottom:.1f}" for x, _ in self.marks])

    def labels(self) -> list[str]:
        field = self.field
        parts = [svg.label(FOOT_NAMES[self.foot], field.left, field.top - 8)]
        for value in round_numbers(*self.ends, 3):
            parts.append(svg.label(plain_number(value), field.left - 4, field.up(value) + 4, SOFT, text_anchor="end"))
        named = [(x, name) for x, name in self.marks if name]
        return parts + [svg.label(name, x, field.bottom + 13, SOFT, text_anchor="middle") for x, name in named]


def _grid(panels: list[_Panel]) -> str:
    """Every line of every field as one path."""
    return svg.element("path", d="".join(panel.lines() for panel in panels), fill="none", stroke=GRID, stroke_width=1)


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
    first, last = (f"{figure(value)}{unit}" for value in (values[0], values[-1]))
    return f"{many(len(values), 'reading')} on {stage}, {first}{f' to {last}' if len(values) > 1 else ''}"
