"""Do bruises come back? Chance of a bruise at the next look, after a bruise and after a clear look."""

from math import ceil

import altair as alt

from reports.charts.axes import NAMES, rows_down, sized
from reports.drawing import Chart, inline_data
from reports.picking import Row
from reports.theme import BLUE, CARD, VERMILLION
from reports.wording import level_name, percent, percent_span

ROW = 28
AGAIN, NEW = "after a bruise", "after a clear look"


def bruise_recurrence(dimension: str, drawn: list[Row]) -> Chart:
    """Levels in the order given, each with both chances and the limits of the chance of a bruise coming back."""
    rows = [{**row, "label": level_name(dimension, row["level"])} for row in drawn]
    return Chart(
        f"bruises-{dimension.replace('_', '-')}",
        sized(_layers(rows), len(rows) * ROW, NAMES),
        "Chance of a bruise at the next look: " + "; ".join(_said(row) for row in rows) + ".",
        "Diamond: the foot was bruised; its line is where the true chance likely lies."
        + ("" if dimension == "site" else " Ring: the foot was clear."),
    )


def _layers(rows: list[dict]) -> list:
    down = rows_down([row["label"] for row in rows])
    top = _top(rows)
    ranges = [row for row in rows if row["again_low"] is not None]
    line = alt.Chart(inline_data([{k: row[k] for k in ("label", "again_low", "again_high")} for row in ranges]))
    points = [{"label": row["label"], "chance": row["chance_new"], "look": NEW} for row in rows]
    points += [{"label": row["label"], "chance": row["chance_again"], "look": AGAIN} for row in rows]
    marks = alt.Chart(inline_data([point for point in points if point["chance"] is not None]))
    return [
        line.mark_rule(color=VERMILLION, strokeWidth=2.5, opacity=0.55).encode(
            y=down, x=_across("again_low", top), x2=alt.X2(field="again_high")
        ),
        marks.mark_point(size=75, opacity=1, strokeWidth=2).encode(y=down, x=_across("chance", top), **_looks()),
    ]


def _top(rows: list[dict]) -> float:
    """Right end of the axis: the highest figure or limit, up to the next tenth."""
    ends = [row[column] or 0 for row in rows for column in ("chance_new", "chance_again", "again_high")]
    return min(1.0, ceil(10 * max(ends) + 1e-9) / 10)


def _looks() -> dict:
    both = [AGAIN, NEW]
    return {
        "color": alt.Color(field="look", type="nominal", scale=alt.Scale(domain=both, range=[VERMILLION, BLUE])),
        "fill": alt.Fill(field="look", type="nominal", scale=alt.Scale(domain=both, range=[VERMILLION, CARD])),
        "shape": alt.Shape(field="look", type="nominal", scale=alt.Scale(domain=both, range=["diamond", "circle"])),
    }


def _across(field: str, top: float) -> alt.X:
    axis = alt.Axis(title="chance of a bruise at the next look", format="%", tickCount=5)
    # a little air on both sides, so that a mark at 0 does not lie on a label
    scale = alt.Scale(domain=[-0.03 * top, 1.02 * top], nice=False, zero=False)
    return alt.X(field=field, type="quantitative", scale=scale, axis=axis)


def _said(row: dict) -> str:
    likely = "" if row["again_low"] is None else f" (likely {percent_span(row['again_low'], row['again_high'])})"
    return f"{row['label']} {percent(row['chance_again'])} {AGAIN}{likely}, {percent(row['chance_new'])} {NEW}"
