"""Shoes lost by the age of the shoe: one curve with its band, two curves, or one small curve a kind of work."""

from itertools import pairwise

import altair as alt

from reports.charts.axes import FIGURES, figures_up, sized
from reports.drawing import Chart, inline_data
from reports.picking import Row
from reports.theme import BLUE, GREY, SMALL_WIDTH, VERMILLION
from reports.wording import END_NAMES, level_name, percent, percent_span

FEWEST = 10  # a curve ends where fewer shoes than this are still followed: beyond, one loss moves it by a tenth
WEEK = "datum.value / 7"
SPREAD = "A loss known only to lie between two days is spread over them; how far chance may move the line is not drawn."


def drawable_days(curve: list[Row]) -> list[Row]:
    """The days of a curve while enough shoes are still followed."""
    return [row for row in curve if row["at_risk"] >= FEWEST]


def lost_at(curve: list[Row], day: int) -> Row | None:
    """The last row of a curve up to this day; None where it does not reach it."""
    days = drawable_days(curve)
    return next((row for row in reversed(days) if row["day"] <= day), None) if days and days[-1]["day"] >= day else None


def spread_curve(intervals: list[Row], until: int) -> list[dict]:
    """Points of an interval-censored curve up to a day: flat between intervals, a slope within one.

    intervals: rows of one curve in order. The last one, where it has no end, holds shoes never seen lost: not drawn.
    """
    points: list[dict] = [{"day": 0, "lost": 0.0}]
    for row in intervals:
        if row["day_to"] is not None and row["day_to"] <= until:
            points += [
                {"day": row["day_from"], "lost": points[-1]["lost"]},
                {"day": row["day_to"], "lost": 1 - row["kept"]},
            ]
    return [*points, {"day": until, "lost": points[-1]["lost"]}]


def lost_on(points: list[dict], day: int) -> float | None:
    """What the curve of these points shows at a day; None beyond its end."""
    for before, after in pairwise(points):
        if before["day"] <= day <= after["day"] and after["day"] > before["day"]:
            share = (day - before["day"]) / (after["day"] - before["day"])
            return before["lost"] + share * (after["lost"] - before["lost"])
    return None


def retention_all(curve: list[Row], spread: list[dict] | None = None) -> Chart:
    """Share of all shoes lost by age: with the band in which the true curve likely lies, or, spread, without one."""
    days = drawable_days(curve)
    top = _top([days])
    line = f"Line: share of shoes lost by that age. Drawn while at least {FEWEST} shoes are still followed."
    if spread:
        layers, said, caption = [_line(spread, BLUE, top, linear=True)], _told(spread), f"{line} {SPREAD}"
    else:
        layers, said = [_band(days, BLUE, top), _line(_points(days), BLUE, top)], _said(days)
        caption = f"{line} Band: where the true share likely lies."
    return Chart(
        "lost-by-age",
        sized(layers, 190, FIGURES),
        f"Curve of the share of shoes lost by age: {said}.",
        caption,
    )


def retention_ends(front: list[Row], hind: list[Row], spread: dict[str, list[dict]] | None = None) -> Chart:
    """Front and hind shoes, one curve each with its band; spread: the points of both, without bands."""
    pair = [(drawable_days(front), BLUE, "front"), (drawable_days(hind), VERMILLION, "hind")]
    top = _top([days for days, _, _ in pair])
    layers: list = [] if spread else [_band(days, colour, top) for days, colour, _ in pair]
    points = spread or {end: _points(days) for days, _, end in pair}
    layers.append(_two_lines([(points[end], END_NAMES[end]) for _, _, end in pair], top, linear=bool(spread)))
    said = "; ".join(
        f"{END_NAMES[end].lower()} {_told(points[end]) if spread else _said(days)}" for days, _, end in pair
    )
    return Chart(
        "lost-by-age-end",
        sized(layers, 190, FIGURES),
        f"Two curves of the share of shoes lost by age: {said}.",
        "Share of shoes lost by that age. " + (SPREAD if spread else "Bands: where the true share likely lies."),
    )


def retention_small(
    levels: list[tuple[str, list[Row]]], everything: list[Row], spread: dict[str, list[dict]] | None = None
) -> tuple[Chart, ...]:
    """One small curve a discipline on one scale, all shoes behind it in grey; spread: points by level, and of `all`."""
    behind = drawable_days(everything)
    top = _top([behind, *[drawable_days(curve) for _, curve in levels]], reach=1.2)
    return tuple(
        _small(place, level, drawable_days(curve), behind, top, spread) for place, (level, curve) in enumerate(levels)
    )


def _small(
    place: int, level: str, days: list[Row], behind: list[Row], top: float, spread: dict[str, list[dict]] | None
) -> Chart:
    own, grey = (spread[level], spread["all"]) if spread else (_points(days), _points(behind))
    layers = [] if spread else [_band(days, BLUE, top, small=True)]
    layers += [_line(grey, GREY, top, True, bool(spread)), _line(own, BLUE, top, True, bool(spread))]
    name = level_name("discipline", level)
    return Chart(
        f"lost-by-age-{place}",
        sized(layers, 90, FIGURES - 6, SMALL_WIDTH),
        f"{name}: curve of the share of shoes lost by age: {_told(own) if spread else _said(days)}.",
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


def _line(points: list[dict], colour: str, top: float, small: bool = False, linear: bool = False) -> alt.Chart:
    mark = alt.Chart(inline_data(points)).mark_line(
        color=colour,
        interpolate="linear" if linear else "step-after",
        strokeWidth=1.2 if colour == GREY else 2.2,
        clip=True,
    )
    return mark.encode(x=_across(small), y=_up("lost", top, small))


def _two_lines(named: list[tuple[list[dict], str]], top: float, linear: bool) -> alt.Chart:
    """Two curves told apart by colour and dash, with a key over the picture."""
    points = [{**point, "feet": name} for own, name in named for point in own]
    names = [name for _, name in named]
    colour = alt.Scale(domain=names, range=[BLUE, VERMILLION])
    dash = alt.Scale(domain=names, range=[[1, 0], [6, 3]])
    shape = "linear" if linear else "step-after"
    mark = alt.Chart(inline_data(points)).mark_line(interpolate=shape, strokeWidth=2.2, clip=True)
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
        {"day": row["day"], "low": 1 - row["kept_high_left_out"], "high": 1 - row["kept_low_left_out"]}
        for row in days
        if row["kept_low_left_out"] is not None
    ]
    mark = alt.Chart(inline_data(points)).mark_area(color=colour, opacity=0.2, interpolate="step-after", clip=True)
    return mark.encode(x=_across(small), y=_up("low", top, small), y2=alt.Y2(field="high"))


def _top(curves: list[list[Row]], reach: float = 2) -> float:
    """Top of the axis: bands as far as they stay under `reach` times the highest curve, rounded up to a twentieth."""
    ends = [days[-1] for days in curves if days]
    lost = max((1 - row["kept"] for row in ends), default=0)
    high = max((1 - row["kept_low_left_out"] for row in ends if row["kept_low_left_out"] is not None), default=lost)
    return min(1, max(0.02, -(-min(high, reach * lost) // 0.05) * 0.05))


def _said(days: list[Row]) -> str:
    ages = [(weeks, row) for weeks in (4, 6, 8, 10, 12) if (row := lost_at(days, 7 * weeks))]
    said = [f"{percent(1 - row['kept'])} by {weeks} weeks (likely {_likely(row)})" for weeks, row in ages]
    return "; ".join(said) or "too few shoes to draw as far as 4 weeks"


def _told(points: list[dict]) -> str:
    ages = [(weeks, lost) for weeks in (4, 6, 8, 10, 12) if (lost := lost_on(points, 7 * weeks)) is not None]
    said = [f"{percent(lost)} by {weeks} weeks" for weeks, lost in ages]
    return "; ".join(said) or "too few shoes to draw as far as 4 weeks"


def _likely(row: Row) -> str:
    if row["kept_low_left_out"] is None:
        return "not known"
    return percent_span(1 - row["kept_high_left_out"], 1 - row["kept_low_left_out"])
