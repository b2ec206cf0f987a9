"""One horse's shoes in time: a line of visits, then one line a foot, one bar a shoe, a cross where one was lost."""

from datetime import date, timedelta

from reports import svg
from reports.drawing import Chart, Drawn
from reports.picking import Row
from reports.theme import BLUE, CHART_WIDTH, GREY, INK, VERMILLION
from reports.time_axis import TimeAxis
from reports.wording import FOOT_NAMES, day, from_to, listed, many
from schemas.words import FEET

LEFT, ROW, TOP = 66.0, 25.0, 4.0
BOTTOM = TOP + 5 * ROW
LONGEST = timedelta(days=3 * 365)  # more days than this would leave a shoe too short to see


def horse_shoes(shoes: list[Row], visits: list[Row], first: date, last: date) -> Chart:
    """The latest three years at most. shoes, visits: rows of one horse, in order."""
    start = max(first, last - LONGEST)
    shoes = [shoe for shoe in shoes if (shoe["lost_by"] or shoe["ended_on"]) >= start]
    visits = [visit for visit in visits if visit["visit_date"] >= start]
    axis = TimeAxis(start, last, LEFT, CHART_WIDTH - 8)
    parts = axis.drawn(TOP, BOTTOM, size=11, least_gap=42, font_family=None)
    parts += [svg.label(name, 0, _middle(place) + 4) for place, name in enumerate(("Visits", *FOOT_NAMES.values()))]
    parts += [_visit(visit, axis) for visit in visits]
    for shoe in shoes:
        parts += _shoe(shoe, axis, _middle(1 + FEET.index(shoe["foot"])))
    return Chart(
        "shoes",
        Drawn(tuple(parts), CHART_WIDTH, BOTTOM + 18),
        _alt(shoes, visits, start, last),
        "Bar: a shoe, from nailing to its end. Cross: lost; the dashes before it are the days it may have come off. "
        "Arrow: still on; a last bar without one: followed no longer. Above: visits, taller and in another colour "
        "where a shoe had been lost." + (f" From {day(start)}; the table has all." if start > first else ""),
    )


def _middle(place: int) -> float:
    return TOP + (place + 0.5) * ROW


def _visit(visit: Row, axis: TimeAxis) -> str:
    x, lost = axis.at(visit["visit_date"]), visit["visit_kind"] == "lost_shoe"
    half = 9 if lost else 5
    return svg.line(
        x, _middle(0) - half, x, _middle(0) + half, VERMILLION if lost else INK, stroke_width=2 if lost else 1
    )


def _shoe(shoe: Row, axis: TimeAxis, middle: float) -> list[str]:
    start, stop = axis.at(shoe["fitted_on"]), axis.at(shoe["ended_on"])
    if shoe["end_reason"] != "lost":
        bar = svg.element("rect", x=start, y=middle - 4, width=max(1.2, stop - start - 1.2), height=8, fill=BLUE)
        still_on = shoe["end_reason"] == "running" and shoe["ended_on"] >= axis.last
        return [bar, svg.label("›", stop, middle + 4, BLUE)] if still_on else [bar]
    exact = shoe["ended_on"] == shoe["lost_by"]
    sure, found = axis.at(shoe["lost_by"] if exact else shoe["lost_after"]), axis.at(shoe["lost_by"])
    parts = [svg.element("rect", x=start, y=middle - 4, width=max(1.2, sure - start), height=8, fill=BLUE)]
    if not exact:
        parts.append(svg.line(sure, middle, found, middle, GREY, stroke_width=2, stroke_dasharray="3 2"))
    cross = f"M{found - 4:.1f} {middle - 6:.1f}l8 12m0 -12l-8 12"
    return [*parts, svg.element("path", d=cross, stroke=VERMILLION, stroke_width=2.4, fill="none")]


def _alt(shoes: list[Row], visits: list[Row], first: date, last: date) -> str:
    told = []
    for foot in FEET:
        own = [shoe for shoe in shoes if shoe["foot"] == foot]
        lost = sum(shoe["end_reason"] == "lost" for shoe in own)
        told.append(f"{FOOT_NAMES[foot].lower()} {many(len(own), 'shoe')}, {lost} lost")
    return f"Shoes in time, {from_to(day(first), day(last))}: {many(len(visits), 'visit')}; {listed(told)}."
