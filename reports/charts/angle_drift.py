"""How fast the toe angle changes: levels compared, and how feet and pairs of feet differ."""

from collections import Counter

from reports import svg
from reports.charts.dots import Dot, dots, runs_off
from reports.charts.plot import Field, level, plain_number, round_numbers, upright
from reports.drawing import Chart, Drawn
from reports.picking import Row
from reports.theme import BLUE, CHART_WIDTH, INK, VERMILLION
from reports.wording import figure, level_name, many, span

BIN = 0.05  # degrees a week: fine enough that the bars of even a small practice make a shape
GAP_BIN = 0.5
LEFT, RIGHT, TOP, BOTTOM = 36.0, 12.0, 8.0, 168.0


def angle_drift(dimension: str, drawn: list[Row], overall: float | None) -> Chart:
    """Degrees a week by level in the order given, with limits by horse; overall: the drift of all of them, dashed."""
    rows = [
        Dot(level_name(dimension, row["level"]), row["deg_per_week"], row["low_by_horse"], row["high_by_horse"])
        for row in drawn
    ]
    said = "; ".join(f"{row.label} {figure(row.value, 2)} (likely {span(row.low, row.high, 2)})" for row in rows)
    caption = "Dot: degrees a week; below 0 the angle falls. Line: where the true figure likely lies."
    caption += "" if overall is None else f" Dashed: all together, {figure(overall, 2)}."
    return Chart(
        f"drift-{dimension.replace('_', '-')}",
        dots(rows, "degrees a week", overall),
        f"Change of the toe angle in degrees a week: {said}.",
        caption + (" A line that ends at the edge goes on beyond it." if runs_off(rows, overall) else ""),
    )


def feet_by_drift(feet: list[Row]) -> Chart:
    """How many feet drift by how much beside their peers: bars a twentieth of a degree wide."""
    counts = Counter(round((row["deg_per_week"] - row["peers_deg_per_week"]) / BIN) for row in feet)
    common, most = max(counts.items(), key=lambda item: (item[1], item[0]))
    return Chart(
        "feet-by-drift",
        _histogram(counts, BIN, "degrees a week beside peers", (0.0,)),
        f"Bars of feet by change a week beside their peers, {span(min(counts) * BIN, max(counts) * BIN, 2)} degrees; "
        f"most, {many(most, 'foot', 'feet')}, at about {figure(common * BIN, 2)}.",
        "Each bar: how many feet change by about that much more a week than their peers; below 0 it falls faster.",
    )


def pairs_by_gap(pairs: list[Row], cut_off: float) -> Chart:
    """How many pairs of feet differ by how much: bars half a degree wide, and the cut-off on both sides."""
    counts = Counter(round(row["latest_gap_deg"] / GAP_BIN) for row in pairs)
    return Chart(
        "pairs-by-gap",
        _histogram(counts, GAP_BIN, "left minus right, degrees", (-cut_off, cut_off)),
        f"Bars of {many(len(pairs), 'pair')} of feet by left minus right, "
        f"{span(min(counts) * GAP_BIN, max(counts) * GAP_BIN)} degrees; dashed, the cut-off of {figure(cut_off)}.",
        f"Each bar: how many pairs differ by about that much. Dashed: the cut-off, {figure(cut_off)}° either way.",
    )


def _histogram(counts: Counter, width: float, title: str, marked: tuple[float, ...]) -> Drawn:
    low, high = (min(counts) - 0.5) * width, (max(counts) + 0.5) * width
    ends = min(low, *marked, 0.0), max(high, *marked, 0.0)
    field = Field(ends, (0, max(counts.values()) * 1.05), LEFT, CHART_WIDTH - RIGHT, TOP, BOTTOM)
    parts = upright(field, [value for value in round_numbers(*field.y, 4) if value == int(value)])
    parts += level(field, round_numbers(*ends, 6), title, plain_number)
    for place, feet in sorted(counts.items()):
        start, stop = field.across((place - 0.5) * width), field.across((place + 0.5) * width)
        bar = {"x": start + 0.5, "y": field.up(feet), "width": max(0.5, stop - start - 1)}
        parts.append(svg.element("rect", **bar, height=BOTTOM - field.up(feet), fill=BLUE))
    for value in marked:
        x = field.across(value)
        parts.append(
            svg.line(x, TOP, x, BOTTOM, VERMILLION if value else INK, stroke_width=1.2, stroke_dasharray="4 3")
        )
    return Drawn(tuple(parts), CHART_WIDTH, BOTTOM + 38)
