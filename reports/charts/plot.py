"""A field of figures drawn by hand: where they lie, round numbers for its axes, lines, steps and bands.

A picture of this kind takes a thousandth of a second where the converter takes thirty, so a page may hold many.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from math import ceil, floor, log10

from reports import svg
from reports.theme import GRID, INK, SOFT

Point = tuple[float, float]


@dataclass(frozen=True)
class Field:
    """x, y: the figures at the edges, lowest first; left, right, top, bottom: those edges in px."""

    x: tuple[float, float]
    y: tuple[float, float]
    left: float
    right: float
    top: float
    bottom: float

    def across(self, value: float) -> float:
        """Where a figure lies from left to right; one beyond the edges lies on them."""
        return self.left + _share(value, *self.x) * (self.right - self.left)

    def up(self, value: float) -> float:
        """Where a figure lies from top to bottom, the highest at the top; one beyond the edges lies on them."""
        return self.bottom - _share(value, *self.y) * (self.bottom - self.top)


def _share(value: float, low: float, high: float) -> float:
    return min(1.0, max(0.0, (value - low) / (high - low or 1)))


def round_numbers(low: float, high: float, about: int = 5) -> list[float]:
    """Some so many figures from low to high that are whole steps of 1, 2 or 5 times a power of ten."""
    rough = (high - low or 1) / about
    size = 10.0 ** floor(log10(rough))
    step = next(size * times for times in (1, 2, 5, 10) if size * times >= rough * 0.999)
    return [round(step * place, 10) for place in range(ceil(low / step - 1e-9), floor(high / step + 1e-9) + 1)]


def plain_number(value: float) -> str:
    """A figure of an axis: no needless decimals, a true minus."""
    return f"{value:g}".replace("-", "−")


def upright(field: Field, values: Iterable[float], written: Callable[[float], str] = plain_number) -> list[str]:
    """Lines across the field at these figures, each written at the left."""
    parts = []
    for value in values:
        y = field.up(value)
        parts.append(svg.line(field.left, y, field.right, y, GRID, stroke_width=1))
        parts.append(svg.label(written(value), field.left - 5, y + 4, INK, text_anchor="end"))
    return parts


def level(
    field: Field, values: Iterable[float], title: str = "", written: Callable[[float], str] = plain_number
) -> list[str]:
    """Lines down the field at these figures, each written below it, and under them what they count."""
    parts = []
    for value in values:
        x = field.across(value)
        parts.append(svg.line(x, field.top, x, field.bottom, GRID, stroke_width=1))
        parts.append(svg.label(written(value), x, field.bottom + 14, INK, text_anchor="middle"))
    middle = (field.left + field.right) / 2
    return [*parts, *([svg.label(title, middle, field.bottom + 30, SOFT, text_anchor="middle")] if title else [])]


def steps(field: Field, points: list[Point], stroke: str, width: float = 2.2, dash: str | None = None) -> str:
    """A line that stays at each figure until the next one."""
    path = f"M{field.across(points[0][0]):.1f} {field.up(points[0][1]):.1f}"
    path += "".join(f"H{field.across(x):.1f}V{field.up(y):.1f}" for x, y in points[1:])
    return svg.element("path", d=path, fill="none", stroke=stroke, stroke_width=width, stroke_dasharray=dash)


def band(field: Field, limits: list[tuple[float, float, float]], fill: str, opacity: float = 0.2) -> str:
    """The surface between two such lines; limits: x, lower and upper figure."""
    over = [(x, high) for x, _, high in limits]
    under = [(x, low) for x, low, _ in limits]
    path = f"M{field.across(over[0][0]):.1f} {field.up(over[0][1]):.1f}"
    path += "".join(f"H{field.across(x):.1f}V{field.up(y):.1f}" for x, y in over[1:])
    path += f"V{field.up(under[-1][1]):.1f}"
    for (x, _), (_, before) in zip(reversed(under), [*reversed(under[:-1]), under[0]], strict=True):
        path += f"H{field.across(x):.1f}V{field.up(before):.1f}"
    return svg.element("path", d=path + "Z", fill=fill, fill_opacity=opacity)


def joined(points: list[Point], stroke: str, width: float = 1.2, dash: str | None = None) -> list[str]:
    """A line from point to point, in px."""
    if len(points) < 2:
        return []
    path = "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points)
    return [svg.element("path", d=path, fill="none", stroke=stroke, stroke_width=width, stroke_dasharray=dash)]


def spots(points: list[Point], colour: str, across: float) -> list[str]:
    """Round marks at points in px, all as one path: strokes too short to see but for their round ends."""
    path = "".join(f"M{x:.1f} {y:.1f}h.01" for x, y in points)
    return [svg.element("path", d=path, stroke=colour, stroke_width=across, stroke_linecap="round")] if path else []
