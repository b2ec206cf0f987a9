"""All factors together: one line a ratio on a scale of doublings, under the name of what it belongs to."""

from dataclasses import dataclass
from math import ceil, floor, log2

from reports import svg
from reports.charts.axes import shortened
from reports.drawing import Chart, Drawn, drawable
from reports.theme import BLUE, CARD, CHART_WIDTH, GREY, GRID, INK, SOFT
from reports.wording import figure, span, whole

LEFT, RIGHT, ROW, TOP = 158.0, 296.0, 17.0, 34.0
MOST_DOUBLINGS = 4  # the scale ends at 16 times and a sixteenth, whatever the widest range is


@dataclass(frozen=True)
class Ratio:
    """One line: its group (written over it where it is not blank), its name, ratio and limits, losses and shoes."""

    group: str
    name: str
    ratio: float
    low: float
    high: float
    within: float | None
    losses: int
    shoes: int


def loss_factors(ratios: list[Ratio]) -> Chart:
    """Ratios in the order given, about a line at 1."""
    scale = _Scale.of(ratios)
    lines = _lines(ratios)
    bottom = TOP + len(lines) * ROW
    parts = scale.drawn(TOP - 4, bottom)
    for place, line in enumerate(lines):
        middle = TOP + (place + 0.5) * ROW
        parts += _heading(line, middle) if isinstance(line, str) else _ratio(line, scale, middle)
    return Chart(
        "factors",
        Drawn(tuple(parts), CHART_WIDTH, bottom + 6),
        "Ratios of loss rates, all factors together: " + "; ".join(_said(ratio) for ratio in ratios) + ".",
        "Dot: times the loss rate of what it is set beside, all else being equal. Line: where the true ratio likely "
        "lies; one that ends at the edge goes on. Ring: the same ratio from each horse’s own shoes only. At the right: "
        "shoes lost, of how many.",
        tall=True,
    )


@dataclass(frozen=True)
class _Scale:
    low: float
    high: float

    @classmethod
    def of(cls, ratios: list[Ratio]) -> "_Scale":
        """Ends at whole doublings, which hold all ratios, and their ranges as far as twice that."""
        least, most = min(ratio.ratio for ratio in ratios), max(ratio.ratio for ratio in ratios)
        low = max(floor(log2(max(min(least, *(2 * ratio.low for ratio in ratios)), 1e-9))), -MOST_DOUBLINGS)
        high = min(ceil(log2(max(most, *(ratio.high / 2 for ratio in ratios)))), MOST_DOUBLINGS)
        return cls(min(low, -1), max(high, 1))

    def at(self, ratio: float) -> float:
        place = log2(ratio) if ratio > 0 else self.low
        share = (min(max(place, self.low), self.high) - self.low) / (self.high - self.low)
        return LEFT + share * (RIGHT - LEFT)

    def drawn(self, top: float, bottom: float) -> list[str]:
        parts = [
            svg.label("times the rate", (LEFT + RIGHT) / 2, 11, SOFT, text_anchor="middle"),
            svg.label("lost / of", CHART_WIDTH, 11, SOFT, text_anchor="end"),
        ]
        step = 1 if self.high - self.low <= 5 else 2
        for doubling in range(int(self.low), int(self.high) + 1):
            x = self.at(2.0**doubling)
            one = {"stroke_width": 1, "stroke_dasharray": "4 3"} if doubling == 0 else {"stroke_width": 1}
            parts.append(svg.line(x, top, x, bottom, INK if doubling == 0 else GRID, **one))
            if doubling % step == 0:
                written = f"{2**doubling}" if doubling >= 0 else f"1/{2**-doubling}"
                parts.append(svg.label(written, x, top - 3, text_anchor="middle"))
        return parts


def _lines(ratios: list[Ratio]) -> list[str | Ratio]:
    lines: list[str | Ratio] = []
    last = ""
    for ratio in ratios:
        if ratio.group and ratio.group != last:
            lines.append(ratio.group)
        last = ratio.group
        lines.append(ratio)
    return lines


def _heading(words: str, middle: float) -> list[str]:
    return [svg.label(drawable(shortened(words, RIGHT)), 0, middle + 4, SOFT)]


def _ratio(ratio: Ratio, scale: _Scale, middle: float) -> list[str]:
    x, indent = scale.at(ratio.ratio), 8 if ratio.group else 0
    name = drawable(shortened(ratio.name, LEFT - indent - 6))
    parts = [
        svg.label(name, indent, middle + 4),
        svg.line(scale.at(ratio.low), middle, scale.at(ratio.high), middle, BLUE, stroke_width=2.5, opacity=0.55),
    ]
    if ratio.within is not None:
        ring = {"cx": scale.at(ratio.within), "cy": middle, "r": 3.2}
        parts.append(svg.element("circle", **ring, fill=CARD, stroke=GREY, stroke_width=1.3))
    parts.append(svg.element("circle", cx=x, cy=middle, r=3.6, fill=BLUE))
    counted = f"{whole(ratio.losses)} / {whole(ratio.shoes)}"
    return [*parts, svg.label(counted, CHART_WIDTH, middle + 4, SOFT, 10.5, text_anchor="end")]


def _said(ratio: Ratio) -> str:
    name = f"{ratio.group}: {ratio.name}" if ratio.group else ratio.name
    return f"{name} {figure(ratio.ratio)} (likely {span(ratio.low, ratio.high)})"
