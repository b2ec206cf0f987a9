"""Shoes lost by the age of the shoe: one curve with its band, two curves, or one small curve a kind of work."""

import altair as alt

from reports.charts.axes import FIGURES, figures_up, sized
from reports.drawing import Chart, inline_data
from reports.picking import Row
from reports.theme import BLUE, GREY, SMALL_WIDTH, VERMILLION
from reports.wording import END_NAMES, level_name, percent, percent_span

FEWEST = 10  # a curve ends where fewer shoes than this are still followed: beyond, one loss moves it by a tenth
WEEK = "datum.value / 7"


def drawable_days(curve: list[Row]) -> list[Row]:
    """The days of a curve while enough shoes are still followed."""
    return [row for row in curve if row["at_risk"] >= FEWEST]


def lost_at(curve: list[Row], day: int) -> Row | None:
    """The last row of a curve up to this day; None where it does not reach it."""
    days = drawable_days(curve)
    return next((row for row in reversed(days) if row["day"] <= day), None) if days and days[-1]["day"] >= day else None


def retention_all(curve: list[Row]) -> Chart:
    """Share of all shoes lost by age, with the band in which the true curve likely lies."""
    days = drawable_days(curve)
    layers = [_band(days, BLUE, _top([days])), _line(days, BLUE, _top([days]))]
    return Chart(
        "lost-by-age",
        sized(layers, 190, FIGURES),
        "Curve of the share of shoes lost by age: " + _said(days) + ".",
        f"Line: share of shoes lost by that age. Band: where the true share likely lies. Drawn while at least {FEWEST} "
        "shoes are still followed.",
    )


def retention_ends(front: list[Row], hind: list[Row]) -> Chart:
    """Front and hind shoes, one curve each with its band."""
    pair = [(drawable_days(front), BLUE, "front"), (drawable_days(hind), VERMILLION, "hind")]
    top = _top([days for days, _, _ in pair])
    layers: list = [_band(days, colour, top) for days, colour, _ in pair]
    layers.append(_two_lines([(days, END_NAMES[end]) for days, _, end in pair], top))
    said = "; ".join(f"{END_NAMES[end].lower()} {_said(days)}" for days, _, end in pair)
    return Chart(
        "lost-by-age-end",
        sized(layers, 190, FIGURES),
        f"Two curves of the share of shoes lost by age: {said}.",
        "Share of shoes lost by that age. Bands: where the true share likely lies.",
    )


def retention_small(levels: list[tuple[str, list[Row]]], everything: list[Row]) -> tuple[Chart, ...]:
    """One small curve a discipline on one scale, all shoes behind it in grey."""
    behind = drawable_days(everything)
    top = _top([behind, *[drawable_days(curve) for _, curve in levels]], reach=1.2)
    return tuple(_small(place, level, drawable_days(curve), behind, top) for place, (level, curve) in enumerate(levels))


def _small(place: int, level: str, days: list[Row], behind: list[Row], top: float) -> Chart:
    layers = [_band(days, BLUE, top, small=True), _line(behind, GREY, top, small=True)]
    layers.append(_line(days, BLUE, top, small=True))
    name = level_name("discipline", level)
    return Chart(
        f"lost-by-age-{place}",
        sized(layers, 90, FIGURES - 6, SMALL_WIDTH),
        f"{name}: curve of the share of shoes lost by age: {_said(days)}.",
        title=name,
        small=True,
    )


def _across(small: bool) -> alt.X:
    axis = alt.Axis(
        values=[0, 28, 56, 84] if small else [0, 14, 28, 42, 56, 70, 84],
        labelExpr=WEEK,
        title=None if small else "weeks since nailed on",
        grid=not small,
    )
    return alt.X(field="day", type="quantitative", scale=alt.Scale(domain=[0, 84], nice=False), axis=axis)


def _up(field: str, top: float, small: bool) -> alt.Y:
    scale = alt.Scale(domain=[0, top], nice=False)
    return figures_up(field, title=None, format="~%", tickCount=3 if small else 5).scale(scale)


def _line(days: list[Row], colour: str, top: float, small: bool = False) -> alt.Chart:
    mark = alt.Chart(inline_data(_points(days))).mark_line(
        color=colour, interpolate="step-after", strokeWidth=1.2 if colour == GREY else 2.2, clip=True
    )
    return mark.encode(x=_across(small), y=_up("lost", top, small))


def _two_lines(named: list[tuple[list[Row], str]], top: float) -> alt.Chart:
    """Two curves told apart by colour and dash, with a key over the picture."""
    points = [{**point, "feet": name} for days, name in named for point in _points(days)]
    names = [name for _, name in named]
    colour = alt.Scale(domain=names, range=[BLUE, VERMILLION])
    dash = alt.Scale(domain=names, range=[[1, 0], [6, 3]])
    mark = alt.Chart(inline_data(points)).mark_line(interpolate="step-after", strokeWidth=2.2, clip=True)
    return mark.encode(
        x=_across(False),
        y=_up("lost", top, False),
        color=alt.Color(field="feet", type="nominal", scale=colour),
        strokeDash=alt.StrokeDash(field="feet", type="nominal", scale=dash),
    )


def _points(days: list[Row]) -> list[dict]:
    return [{"day": 0, "lost": 0.0}, *[{"day": row["day"], "lost": 1 - row["kept"]} for row in days if row["day"]]]


def _band(days: list[Row], colour: str, top: float, small: bool = False) -> alt.Chart:
    points = [
        {"day": row["day"], "low": 1 - row["kept_high"], "high": 1 - row["kept_low"]}
        for row in days
        if row["kept_low"] is not None
    ]
    mark = alt.Chart(inline_data(points)).mark_area(color=colour, opacity=0.2, interpolate="step-after", clip=True)
    return mark.encode(x=_across(small), y=_up("low", top, small), y2=alt.Y2(field="high"))


def _top(curves: list[list[Row]], reach: float = 2) -> float:
    """Top of the axis: bands as far as they stay under `reach` times the highest curve, rounded up to a twentieth."""
    ends = [days[-1] for days in curves if days]
    lost = max((1 - row["kept"] for row in ends), default=0)
    high = max((1 - row["kept_low"] for row in ends if row["kept_low"] is not None), default=lost)
    return min(1, max(0.02, -(-min(high, reach * lost) // 0.05) * 0.05))


def _said(days: list[Row]) -> str:
    ages = [(weeks, row) for weeks in (4, 6, 8, 10, 12) if (row := lost_at(days, 7 * weeks))]
    said = [f"{percent(1 - row['kept'])} by {weeks} weeks (likely {_likely(row)})" for weeks, row in ages]
    return "; ".join(said) or "too few shoes to draw as far as 4 weeks"


def _likely(row: Row) -> str:
    if row["kept_low"] is None:
        return "not known"
    return percent_span(1 - row["kept_high"], 1 - row["kept_low"])
