"""How many feet are flat, medium or upright: one bar a level, cut into the three."""

from dataclasses import dataclass

from reports import svg
from reports.charts.axes import LONGEST, NAMES, RIGHT, shortened
from reports.drawing import Chart, Drawn, drawable
from reports.theme import AMBER, BLUE, CHART_WIDTH, GREY, INK
from reports.wording import listed, percent

CLASSES = ("flat", "medium", "upright")
COLOURS = {"flat": AMBER, "medium": GREY, "upright": BLUE}
ROW, TOP, TINT = 26.0, 26.0, 0.35


@dataclass(frozen=True)
class Level:
    """One bar: its name, the share of each class, and how many feet it rests on."""

    name: str
    shares: dict[str, float]
    feet: int


def hoof_classes(levels: list[Level]) -> Chart:
    """Levels from top to bottom as given."""
    width = CHART_WIDTH - RIGHT - NAMES
    parts = [
        part
        for place, name in enumerate(CLASSES)
        for part in (_box(NAMES + 78 * place, 5, 12, 10, name), svg.label(name, NAMES + 78 * place + 17, 14))
    ]
    for place, row in enumerate(levels):
        parts += _bar(row, TOP + place * ROW, width)
    said = "; ".join(f"{row.name} {listed([f'{percent(row.shares[n])} {n}' for n in CLASSES])}" for row in levels)
    return Chart(
        "hoof-classes",
        Drawn(tuple(parts), CHART_WIDTH, TOP + len(levels) * ROW + 4),
        f"Share of feet by class: {said}.",
        "Each bar: all feet of that kind by their latest angle on leaving, flat at the left, upright at the right.",
    )


def _bar(row: Level, top: float, width: float) -> list[str]:
    name = drawable(shortened(row.name, LONGEST))
    parts = [svg.label(name, NAMES - 7, top + 16, text_anchor="end")]
    x = NAMES
    for kind in CLASSES:
        wide = row.shares[kind] * width
        parts += [_box(x, top + 2, wide, ROW - 6, kind)] if wide else []
        if wide > 30:
            parts.append(svg.label(percent(row.shares[kind]), x + wide / 2, top + 16, INK, text_anchor="middle"))
        x += wide
    return parts


def _box(x: float, y: float, wide: float, high: float, kind: str) -> str:
    look = {"fill": COLOURS[kind], "fill_opacity": TINT, "stroke": COLOURS[kind], "stroke_width": 1}
    return svg.element("rect", x=x, y=y, width=wide, height=high, **look)
