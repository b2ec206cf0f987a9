"""How long the intervals between visits are: half of them, four in five of them, and the middle one."""

from reports import svg
from reports.charts.axes import LONGEST, NAMES, RIGHT, shortened
from reports.charts.plot import Field, level
from reports.drawing import Chart, Drawn, drawable
from reports.picking import Row
from reports.theme import BLUE, CHART_WIDTH, INK
from reports.wording import days_and_weeks, level_name, whole

ROW, TOP = 26.0, 4.0
EIGHT_WEEKS = 56


def interval_lengths(dimension: str, drawn: list[Row]) -> Chart:
    """Levels in the order given, each with its middle interval, the middle half and the middle four fifths."""
    rows = [{**row, "label": level_name(dimension, row["level"])} for row in drawn]
    said = "; ".join(
        f"{row['label']} half by {days_and_weeks(row['median_days'])}, a tenth {whole(row['p90_days'])} days or longer"
        for row in rows
    )
    return Chart(
        f"intervals-{dimension.replace('_', '-')}",
        _drawn(rows),
        f"Lengths of intervals between visits: {said}.",
        "Upright mark: the middle interval. Thick bar: the middle half. Thin line: the middle four fifths. Dashed: "
        "8 weeks.",
    )


def _drawn(rows: list[dict]) -> Drawn:
    bottom = TOP + len(rows) * ROW
    most = max([row["p90_days"] for row in rows] + [EIGHT_WEEKS]) * 1.05
    field = Field((0, most), (0, 1), NAMES, CHART_WIDTH - RIGHT, TOP, bottom)
    weeks = range(0, int(most / 7) + 1, 2)
    parts = level(field, [7 * week for week in weeks], "weeks between visits", lambda days: f"{days / 7:g}")
    eight = field.across(EIGHT_WEEKS)
    parts.append(svg.line(eight, TOP, eight, bottom, INK, stroke_width=1, stroke_dasharray="4 3"))
    for place, row in enumerate(rows):
        parts += _row(row, field, TOP + (place + 0.5) * ROW)
    return Drawn(tuple(parts), CHART_WIDTH, bottom + 36)


def _row(row: dict, field: Field, middle: float) -> list[str]:
    p10, p25, half, p75, p90 = (field.across(row[f"{name}_days"]) for name in ("p10", "p25", "median", "p75", "p90"))
    box = {"x": p25, "y": middle - 5.5, "width": max(0.5, p75 - p25), "height": 11}
    return [
        svg.label(drawable(shortened(row["label"], LONGEST)), NAMES - 7, middle + 4, text_anchor="end"),
        svg.line(p10, middle, p90, middle, BLUE, stroke_width=2),
        svg.element("rect", **box, fill=BLUE, opacity=0.7),
        svg.line(half, middle - 8.5, half, middle + 8.5, INK, stroke_width=2.5),
    ]
