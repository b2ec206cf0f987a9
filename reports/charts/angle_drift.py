"""How fast the toe angle changes between visits: levels compared, and how feet differ."""

from collections import Counter

import altair as alt

from reports.charts.axes import FIGURES, figures_up, sized
from reports.charts.dots import Dot, dots, runs_off
from reports.drawing import Chart, inline_data
from reports.picking import Row
from reports.theme import BLUE, INK
from reports.wording import figure, level_name, many, span

BIN = 0.05  # degrees a week: fine enough that the bars of even a small practice make a shape


def angle_drift(dimension: str, drawn: list[Row], overall: float | None) -> Chart:
    """Degrees a week by level in the order given; overall: the drift of all feet, dashed."""
    rows = [Dot(level_name(dimension, row["level"]), row["deg_per_week"], row["low"], row["high"]) for row in drawn]
    said = "; ".join(f"{row.label} {figure(row.value, 2)} (likely {span(row.low, row.high, 2)})" for row in rows)
    caption = "Dot: degrees a week; below 0 the angle falls. Line: where the true figure likely lies."
    caption += "" if overall is None else f" Dashed: all feet, {figure(overall, 2)}."
    return Chart(
        f"drift-{dimension.replace('_', '-')}",
        dots(rows, "degrees a week", overall),
        f"Change of the toe angle in degrees a week: {said}.",
        caption + (" A line that ends at the edge goes on beyond it." if runs_off(rows, overall) else ""),
    )


def feet_by_drift(feet: list[Row]) -> Chart:
    """How many feet drift by how much: bars a twentieth of a degree wide."""
    counts = Counter(round(row["deg_per_week"] / BIN) for row in feet)
    bins = [
        {"from": (place - 0.5) * BIN, "to": (place + 0.5) * BIN, "feet": counts[place], "none": 0}
        for place in sorted(counts)
    ]
    common, most = max(counts.items(), key=lambda item: (item[1], item[0]))
    return Chart(
        "feet-by-drift",
        sized(_histogram(bins), 160, FIGURES),
        f"Bars of feet by change a week, {span(min(counts) * BIN, max(counts) * BIN, 2)} degrees; "
        f"most, {many(most, 'foot', 'feet')}, at about {figure(common * BIN, 2)}.",
        "Each bar: how many feet change by about that much a week.",
    )


def _histogram(bins: list[dict]) -> list[alt.Chart]:
    low, high = min(0.0, bins[0]["from"]), max(0.0, bins[-1]["to"])
    scale = alt.Scale(domain=[low, high], nice=False)
    axis = alt.Axis(title="degrees a week", tickCount=6, format="~f", grid=False)
    across = alt.X(field="from", type="quantitative", scale=scale, axis=axis)
    up = figures_up("feet", title=None, tickCount=4, tickMinStep=1, format="~f")
    data = alt.Chart(inline_data(bins))
    zero = alt.Chart(inline_data([{"zero": 0}])).mark_rule(color=INK, strokeDash=[4, 3])
    columns = data.mark_bar(color=BLUE, binSpacing=1).encode(
        x=across, x2=alt.X2(field="to"), y=up, y2=alt.Y2(field="none")
    )
    return [columns, zero.encode(x=alt.X(field="zero", type="quantitative", scale=scale, axis=axis))]
