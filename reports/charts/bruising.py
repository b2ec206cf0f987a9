"""Do bruises come back? Chance of a bruise at the next look, after a bruise and after a clear look."""

from math import ceil

from reports import svg
from reports.charts.axes import LONGEST, NAMES, RIGHT, shortened
from reports.charts.plot import Field, level, round_numbers
from reports.drawing import Chart, Drawn, drawable
from reports.picking import Row
from reports.theme import BLUE, CARD, CHART_WIDTH, INK, VERMILLION
from reports.wording import level_name, percent, percent_span

ROW, TOP = 28.0, 24.0
AGAIN, NEW = "after a bruise", "after a clear look"


def bruise_recurrence(dimension: str, drawn: list[Row]) -> Chart:
    """Levels in the order given, each with both chances and the limits of the chance of a bruise coming back."""
    rows = [{**row, "label": level_name(dimension, row["level"])} for row in drawn]
    by_site = dimension == "site"  # a clear foot has no site
    return Chart(
        f"bruises-{dimension.replace('_', '-')}",
        _drawn(rows, by_site),
        "Chance of a bruise at the next look: " + "; ".join(_said(row) for row in rows) + ".",
        "Diamond: the foot was bruised; its line is where the true chance likely lies."
        + ("" if by_site else " Ring: the foot was clear."),
    )


def _drawn(rows: list[dict], by_site: bool) -> Drawn:
    bottom = TOP + len(rows) * ROW
    top = _top(rows)
    # a little air on both sides, so that a mark at 0 does not lie on a label
    field = Field((-0.03 * top, 1.02 * top), (0, 1), NAMES, CHART_WIDTH - RIGHT, TOP, bottom)
    parts = [*_key(by_site), *level(field, round_numbers(0, top), "chance of a bruise at the next look", percent)]
    for place, row in enumerate(rows):
        parts += _row(row, field, TOP + (place + 0.5) * ROW)
    return Drawn(tuple(parts), CHART_WIDTH, bottom + 36)


def _key(by_site: bool) -> list[str]:
    parts = [_diamond(NAMES + 6, 9), svg.label(AGAIN, NAMES + 16, 13)]
    return parts if by_site else [*parts, _ring(NAMES + 106, 9), svg.label(NEW, NAMES + 116, 13)]


def _row(row: dict, field: Field, middle: float) -> list[str]:
    parts = [svg.label(drawable(shortened(row["label"], LONGEST)), NAMES - 7, middle + 4, INK, text_anchor="end")]
    if row["again_low"] is not None:
        start, stop = field.across(row["again_low"]), field.across(row["again_high"])
        parts.append(svg.line(start, middle, stop, middle, VERMILLION, stroke_width=2.5, opacity=0.55))
    if row["chance_new"] is not None:
        parts.append(_ring(field.across(row["chance_new"]), middle))
    return [*parts, _diamond(field.across(row["chance_again"]), middle)]


def _diamond(x: float, y: float) -> str:
    return svg.element("path", d=f"M{x:.1f} {y - 6:.1f}l5 6l-5 6l-5 -6Z", fill=VERMILLION)


def _ring(x: float, y: float) -> str:
    return svg.element("circle", cx=x, cy=y, r=4.2, fill=CARD, stroke=BLUE, stroke_width=2)


def _top(rows: list[dict]) -> float:
    """Right end of the axis: the highest figure or limit, up to the next tenth."""
    ends = [row[column] or 0 for row in rows for column in ("chance_new", "chance_again", "again_high")]
    return min(1.0, ceil(10 * max(ends) + 1e-9) / 10)


def _said(row: dict) -> str:
    likely = "" if row["again_low"] is None else f" (likely {percent_span(row['again_low'], row['again_high'])})"
    return f"{row['label']} {percent(row['chance_again'])} {AGAIN}{likely}, {percent(row['chance_new'])} {NEW}"
