"""Losses month by month: found beside expected, what chance may bring, and the sum of evidence for a doubling."""

from reports import svg
from reports.charts.axes import FIGURES, RIGHT
from reports.drawing import Chart, Drawn
from reports.picking import Row
from reports.theme import BLUE, CHART_WIDTH, GREY, GRID, INK, SOFT, VERMILLION
from reports.wording import figure, many, whole

UPPER, GAP, LOWER, TOP = 150.0, 34.0, 70.0, 20.0
MOST_MONTHS = 60


def loss_watch(months: list[Row]) -> Chart:
    """months: rows of the watch that have limits, in order; the latest five years are drawn."""
    drawn = months[-MOST_MONTHS:]
    step = (CHART_WIDTH - FIGURES - RIGHT) / len(drawn)
    most = max(max(row["losses"], row["high"]) for row in drawn)
    bottom = TOP + UPPER
    parts = [svg.label("shoes lost", 0, 11, SOFT), *_levels(most, TOP, UPPER)]
    for place, row in enumerate(drawn):
        parts += _month(row, FIGURES + place * step, step, lambda value: bottom - value / most * UPPER)
    parts += _years(drawn, step, bottom)
    parts += _sum(drawn, step, bottom + GAP)
    return Chart(
        "watch",
        Drawn(tuple(parts), CHART_WIDTH, bottom + GAP + LOWER + 8),
        _alt(drawn),
        "Above: dot, shoes lost in the month; tick, shoes expected; grey, what chance may bring in 19 of 20 months. "
        "Below: evidence that losses have doubled, summed month by month; dashed, where it signals. Diamond: a month "
        "with a signal." + (f" The latest {MOST_MONTHS} months." if len(months) > MOST_MONTHS else ""),
    )


def _levels(most: float, top: float, height: float) -> list[str]:
    step = next(size for size in (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 10**9) if most / size <= 5)
    parts = []
    for value in range(0, int(most) + 1, step):
        y = top + height - value / most * height
        parts.append(svg.line(FIGURES, y, CHART_WIDTH - RIGHT, y, GRID, stroke_width=1))
        parts.append(svg.label(whole(value), FIGURES - 6, y + 4, text_anchor="end"))
    return parts


def _month(row: Row, left: float, step: float, up) -> list[str]:
    middle = left + step / 2
    low, high = up(row["low"]), up(row["high"])
    band = svg.element("rect", x=left, y=high, width=step, height=low - high, fill=GREY, fill_opacity=0.25)
    y = up(row["expected"])
    tick = svg.line(left + 0.15 * step, y, left + 0.85 * step, y, INK, stroke_width=1.5)
    if row["signal"]:
        return [band, tick, _diamond(middle, up(row["losses"]))]
    return [band, tick, svg.element("circle", cx=middle, cy=up(row["losses"]), r=min(3.4, 0.45 * step), fill=BLUE)]


def _diamond(x: float, y: float) -> str:
    return svg.element("path", d=f"M{x - 6:.1f} {y:.1f}l6 -6 6 6 -6 6z", fill=VERMILLION)


def _years(months: list[Row], step: float, bottom: float) -> list[str]:
    """The year at its first month drawn, where the next one is far enough."""
    parts, last = [], -40.0
    for place, row in enumerate(months):
        x = FIGURES + place * step
        if (place == 0 or row["starts_on"].month == 1) and x - last >= 40 and x < CHART_WIDTH - 34:
            parts.append(svg.line(x, TOP, x, bottom + GAP + LOWER, GRID, stroke_width=1))
            name = f"{row['starts_on']:%b %Y}" if len(months) <= 24 and place == 0 else str(row["starts_on"].year)
            parts.append(svg.label(name, x + 2, bottom + 14))
            last = x + (22 if len(name) > 4 else 0)
    return parts


def _sum(months: list[Row], step: float, top: float) -> list[str]:
    threshold = months[0]["threshold"]
    most = max(threshold, *(row["cusum"] for row in months)) * 1.1
    bottom = top + LOWER
    points = [
        (FIGURES + (place + 0.5) * step, bottom - row["cusum"] / most * LOWER) for place, row in enumerate(months)
    ]
    y = bottom - threshold / most * LOWER
    path = " ".join(f"{x:.1f},{height:.1f}" for x, height in points)
    parts = [
        svg.line(FIGURES, bottom, CHART_WIDTH - RIGHT, bottom, GRID, stroke_width=1),
        svg.line(FIGURES, y, CHART_WIDTH - RIGHT, y, INK, stroke_width=1, stroke_dasharray="4 3"),
        svg.label("evidence of a doubling", FIGURES, top - 4, SOFT),
        svg.element("polyline", points=path, fill="none", stroke=BLUE, stroke_width=2),
    ]
    return parts + [_diamond(*point) for point, row in zip(points, months, strict=True) if row["signal"]]


def _alt(months: list[Row]) -> str:
    lost, expected = sum(row["losses"] for row in months), sum(row["expected"] for row in months)
    signals = [f"{row['starts_on']:%B %Y}" for row in months if row["signal"]]
    above = sum(row["losses"] > row["high"] for row in months)
    return (
        f"{many(len(months), 'month')} of lost shoes: {whole(lost)} lost, {figure(expected)} expected; "
        f"{many(above, 'month')} above what chance may bring; "
        f"the watch signalled in {', '.join(signals) or 'no month'}."
    )
