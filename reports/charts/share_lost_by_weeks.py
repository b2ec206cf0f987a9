"""The share of shoes lost by each possible booking interval: a grid of figures, darker where more are lost."""

import altair as alt

from reports.charts.axes import NAMES, rows_down, sized
from reports.drawing import Chart, inline_data
from reports.picking import Row
from reports.theme import BLUE, INK
from reports.wording import level_name, percent

DARKEST = 0.55  # opacity of the darkest tint: text stays readable on it in both schemes


def share_lost_by_weeks(levels: list[tuple[str, list[Row]]]) -> Chart:
    """One row a discipline, one column a week; levels: discipline and its rows with a share, top to bottom."""
    cells = [_cell(level, row) for level, found in levels for row in found]
    names = [level_name("discipline", level) for level, _ in levels]
    return Chart(
        "share-lost-by-weeks",
        sized(_grid(cells, names), len(names) * 25, NAMES),
        "Share of shoes lost by booking interval. " + " ".join(_said(level, found) for level, found in levels),
        "Each figure is the share of shoes lost by the end of that interval. A stronger tint: more lost. Blank: too "
        "few shoes followed that long.",
    )


def _grid(cells: list[dict], names: list[str]) -> list[alt.Chart]:
    weeks = alt.X(
        field="weeks",
        type="ordinal",
        scale=alt.Scale(domain=list(range(4, 11)), paddingInner=0.06),
        axis=alt.Axis(title="weeks between visits", orient="top", labelAngle=0, domain=False),
    )
    level = rows_down(names, 0.1, field="level")
    data = alt.Chart(inline_data(cells)).encode(x=weeks, y=level)
    tint = alt.Opacity(field="tint", type="quantitative", scale=None)
    squares = data.mark_rect(color=BLUE).encode(opacity=tint)
    return [squares, data.mark_text(color=INK, fontSize=11).encode(text=alt.Text(field="text"))]


def _cell(level: str, row: Row) -> dict:
    return {
        "level": level_name("discipline", level),
        "weeks": row["weeks"],
        "text": percent(row["share_lost"]).replace("under ", "<"),
        "tint": round(min(DARKEST, 0.04 + 1.4 * row["share_lost"]), 3),
    }


def _said(level: str, found: list[Row]) -> str:
    ages = ", ".join(f"{percent(row['share_lost'])} by {row['weeks']} weeks" for row in found)
    return f"{level_name('discipline', level)}: {ages}."
