"""How long the intervals between visits are: half of them, four in five of them, and the middle one."""

import altair as alt

from reports.charts.axes import NAMES, rows_down, sized
from reports.drawing import Chart, inline_data
from reports.picking import Row
from reports.theme import BLUE, INK
from reports.wording import days_and_weeks, level_name, whole

ROW = 26
EIGHT_WEEKS = 56


def interval_lengths(dimension: str, drawn: list[Row]) -> Chart:
    """Levels in the order given, each with its middle interval, the middle half and the middle four fifths."""
    rows = [{**row, "label": level_name(dimension, row["level"])} for row in drawn]
    said = "; ".join(
        f"{row['label']} half by {days_and_weeks(row['median_days'])}, a tenth over {whole(row['p90_days'])} days"
        for row in rows
    )
    return Chart(
        f"intervals-{dimension.replace('_', '-')}",
        sized(_layers(rows), len(rows) * ROW, NAMES),
        f"Lengths of intervals between visits: {said}.",
        "Upright mark: the middle interval. Thick bar: the middle half. Thin line: all but the shortest and longest "
        "tenth. Dashed: 8 weeks.",
    )


def _layers(rows: list[dict]) -> list:
    most = max([row["p90_days"] for row in rows] + [EIGHT_WEEKS]) * 1.05
    down = rows_down([row["label"] for row in rows])
    data = alt.Chart(inline_data([_drawn(row) for row in rows])).encode(y=down)
    eight = alt.Chart(inline_data([{"days": EIGHT_WEEKS}])).mark_rule(color=INK, strokeDash=[4, 3])
    return [
        eight.encode(x=_across("days", most)),
        data.mark_rule(color=BLUE, strokeWidth=2).encode(x=_across("p10_days", most), x2=alt.X2(field="p90_days")),
        data.mark_bar(color=BLUE, height=11, opacity=0.7).encode(
            x=_across("p25_days", most), x2=alt.X2(field="p75_days")
        ),
        data.mark_tick(color=INK, thickness=2.5, size=17).encode(x=_across("median_days", most)),
    ]


def _across(field: str, most: float) -> alt.X:
    weeks = list(range(0, int(most / 7) + 1, 2))
    axis = alt.Axis(values=[7 * week for week in weeks], labelExpr="datum.value / 7", title="weeks between visits")
    return alt.X(field=field, type="quantitative", scale=alt.Scale(domain=[0, most], nice=False), axis=axis)


def _drawn(row: dict) -> dict:
    return {column: row[column] for column in ("label", "p10_days", "p25_days", "median_days", "p75_days", "p90_days")}
