"""How long the intervals between visits are: half of them, four in five of them, and the middle one."""

import altair as alt

from reports.drawing import Chart, inline_data, sized
from reports.picking import Row
from reports.theme import BLUE, CARD, INK
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
        sized(alt.layer(*_layers(rows)), len(rows) * ROW + 46),
        f"Lengths of intervals between visits: {said}.",
        "White mark: the middle interval. Thick bar: the middle half. Thin line: all but the shortest and the longest "
        "tenth. Dashed: 8 weeks.",
    )


def _layers(rows: list[dict]) -> list:
    most = max([row["p90_days"] for row in rows] + [EIGHT_WEEKS]) * 1.05
    down = alt.Y(field="label", type="nominal", sort=[row["label"] for row in rows], title=None)
    data = alt.Chart(inline_data([_drawn(row) for row in rows])).encode(y=down)
    eight = alt.Chart(inline_data([{"days": EIGHT_WEEKS}])).mark_rule(color=INK, strokeDash=[4, 3])
    return [
        eight.encode(x=_across("days", most)),
        data.mark_rule(color=BLUE, strokeWidth=2).encode(x=_across("p10_days", most), x2=alt.X2(field="p90_days")),
        data.mark_bar(color=BLUE, height=11).encode(x=_across("p25_days", most), x2=alt.X2(field="p75_days")),
        data.mark_tick(color=CARD, thickness=3, size=11).encode(x=_across("median_days", most)),
    ]


def _across(field: str, most: float) -> alt.X:
    weeks = list(range(0, int(most / 7) + 1, 2))
    axis = alt.Axis(values=[7 * week for week in weeks], labelExpr="datum.value / 7", title="weeks between visits")
    return alt.X(field=field, type="quantitative", scale=alt.Scale(domain=[0, most], nice=False), axis=axis)


def _drawn(row: dict) -> dict:
    return {column: row[column] for column in ("label", "p10_days", "p25_days", "median_days", "p75_days", "p90_days")}
