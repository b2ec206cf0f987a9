"""The season's work: visits week by week, visits by kind, and what lost shoes took."""

from datetime import UTC, date, datetime, timedelta

import altair as alt

from reports.charts.axes import FIGURES, figures_up, sized
from reports.charts.bars import bars
from reports.drawing import Chart, inline_data
from reports.picking import Row
from reports.theme import BLUE, CARD, VERMILLION
from reports.wording import day, from_to, level_name, many, whole

PLANNED, LOST = "other visits", "for a lost shoe"


def visits_by_period(found: list[Row], period: str) -> Chart:
    """Visits a week or month, those for a lost shoe set off; found: starts_on, visits, lost_shoe_visits, in order."""
    columns = [column for row in found for column in _two_parts(row, period)]
    busiest = max(found, key=lambda row: (row["visits"], row["starts_on"]))
    lost = sum(row["lost_shoe_visits"] for row in found)
    return Chart(
        "visits-by-period",
        sized([_columns(columns)], 170, FIGURES),
        f"Bars of visits a {period}, {from_to(day(found[0]['starts_on']), day(found[-1]['starts_on']))}; busiest the "
        f"{period} of {day(busiest['starts_on'])} with {whole(busiest['visits'])}"
        + (f"; {many(lost, 'visit')} in all for lost shoes." if lost else "."),
        f"Visits, one bar a {period}." + (" Weeks start on Monday." if period == "week" else ""),
    )


def visits_by_kind(kinds: list[Row]) -> Chart:
    """Visits of the season by why they took place, in the order given."""
    rows = [(level_name("visit_kind", row["visit_kind"]), row["visits"], whole(row["visits"])) for row in kinds]
    said = "; ".join(f"{label} {written}" for label, _, written in rows)
    return Chart("visits-by-kind", bars(rows), f"Bars of visits by kind: {said}.", "Visits of the season by kind.")


def lost_shoe_time(months: list[Row]) -> Chart:
    """Unpaid minutes of lost-shoe call-outs by month: months with starts_on and lost_shoe_minutes, in order."""
    columns = [{**_edges(row, "month"), "count": row["lost_shoe_minutes"] or 0, "part": LOST} for row in months]
    worst = max(months, key=lambda row: (row["lost_shoe_minutes"] or 0, row["starts_on"]))
    return Chart(
        "lost-shoe-time",
        sized([_columns(columns, legend=False)], 150, FIGURES),
        f"Bars of unpaid minutes a month, most in {worst['starts_on']:%B %Y} with {whole(worst['lost_shoe_minutes'])}.",
        "Unpaid minutes of lost-shoe call-outs, one bar a month, as far as they were written down.",
    )


def _two_parts(row: Row, period: str) -> list[dict]:
    lost, visits = row["lost_shoe_visits"], row["visits"]
    edges = _edges(row, period)
    return [
        {**edges, "count": lost, "base": 0, "top": lost, "part": LOST},
        {**edges, "count": visits - lost, "base": lost, "top": visits, "part": PLANNED},
    ]


def _edges(row: Row, period: str) -> dict:
    start: date = row["starts_on"]
    stop = start + timedelta(days=7) if period == "week" else (start + timedelta(days=32)).replace(day=1)
    return {"from": start.isoformat(), "to": stop.isoformat(), "base": 0, "top": row.get("lost_shoe_minutes") or 0}


def _columns(columns: list[dict], legend: bool = True) -> alt.Chart:
    across = alt.X(field="from", type="temporal", scale=alt.Scale(type="utc", nice=False), axis=_months(columns))
    up = figures_up("base", title=None, tickCount=4, tickMinStep=1, format=",~f")
    part = alt.Color(
        field="part",
        type="nominal",
        scale=alt.Scale(domain=[PLANNED, LOST], range=[BLUE, VERMILLION]),
        legend=alt.Legend() if legend else None,
    )
    mark = alt.Chart(inline_data(columns)).mark_bar(stroke=CARD, strokeWidth=0.7)
    return mark.encode(x=across, x2=alt.X2(field="to"), y=up, y2=alt.Y2(field="top"), color=part)


def _months(columns: list[dict]) -> alt.Axis:
    """An axis with the first of a month marked, every third one in a long season."""
    # dates are read and written in universal time: the picture must not depend on where it is drawn
    first, last = date.fromisoformat(columns[0]["from"]), date.fromisoformat(columns[-1]["to"])
    months = [date(year, month, 1) for year in range(first.year, last.year + 1) for month in range(1, 13)]
    shown = [month for month in months if first <= month < last]
    step = 1 if len(shown) <= 5 else 3
    values = [int(datetime(month.year, month.month, 1, tzinfo=UTC).timestamp() * 1000) for month in shown[::step]]
    return alt.Axis(
        title=None, format="%b %Y", values=values, grid=False, ticks=True, labelAlign="left", labelOffset=-3
    )
