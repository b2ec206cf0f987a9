"""The season's days and the weeks to come: horses a day, minutes a visit, horses a week."""

from reports import svg
from reports.charts.axes import FIGURES, RIGHT
from reports.charts.dots import Dot, dots
from reports.charts.plot import Field, round_numbers, upright
from reports.drawing import Chart, Drawn
from reports.picking import Row
from reports.theme import BLUE, CHART_WIDTH, SOFT, VERMILLION
from reports.wording import figure, level_name, many, span, whole

TOP, BOTTOM = 8.0, 158.0
WIDEST = 34.0


def day_loads(loads: dict[int, int], chosen: int | None) -> Chart:
    """Days of a farrier by horses seen, those over the load chosen in another colour; loads: horses → days."""
    most = max(loads)
    field = Field((0.5, most + 0.5), (0, max(loads.values())), FIGURES, CHART_WIDTH - RIGHT, TOP, BOTTOM)
    parts = upright(field, round_numbers(0, max(loads.values()), 4), lambda days: f"{days:,.0f}")
    step = 1 if most <= 20 else 5 if most <= 60 else 20
    for horses in range(1, most + 1):
        if days := loads.get(horses):
            parts.append(_column(field, horses, days, chosen is not None and horses > chosen))
        if horses == 1 or horses % step == 0:
            parts.append(svg.label(str(horses), field.across(horses), BOTTOM + 14, text_anchor="middle"))
    middle = (field.left + field.right) / 2
    parts.append(svg.label("horses a day", middle, BOTTOM + 30, SOFT, text_anchor="middle"))
    said = "; ".join(f"{many(horses, 'horse')} on {many(days, 'day')}" for horses, days in sorted(loads.items()))
    over = f" In the other colour: over {whole(chosen)}." if chosen is not None else ""
    return Chart(
        "day-loads",
        Drawn(tuple(parts), CHART_WIDTH, BOTTOM + 36),
        f"Days by horses seen: {said}.",
        f"One column a number of horses: the days on which so many were seen.{over}",
    )


def _column(field: Field, horses: int, days: int, over: bool) -> str:
    width = min(WIDEST, 0.8 * (field.across(2) - field.across(1)))
    top = field.up(days)
    colour = VERMILLION if over else BLUE
    return svg.element(
        "rect", x=field.across(horses) - width / 2, y=top, width=width, height=max(1.0, BOTTOM - top), fill=colour
    )


def minutes_by_work(drawn: list[Row]) -> Chart:
    """Minutes of visits by the work done: the middle one, and the middle half."""
    rows = [
        Dot(level_name("work_done", row["level"]), row["median_minutes"], row["p25_minutes"], row["p75_minutes"])
        for row in drawn
    ]
    said = "; ".join(f"{row.label} {whole(row.value)} ({span(row.low, row.high, 0)})" for row in rows)
    return Chart(
        "minutes-by-work",
        dots(rows, "minutes at the horse"),
        f"Minutes of a visit by the work done, with the middle half: {said}.",
        "Dot: the middle visit. Line: the middle half of them.",
    )


def weeks_to_come(drawn: list[Row]) -> Chart:
    """Horses to be expected week by week, with the band in which the number likely lies."""
    rows = [
        Dot(f"week of {row['starts_on'].day} {row['starts_on']:%b}", row["visits_expected"], row["low"], row["high"])
        for row in drawn
    ]
    said = "; ".join(f"{row.label} {figure(row.value)} ({span(row.low, row.high, 0)})" for row in rows)
    return Chart(
        "weeks-to-come",
        dots(rows, "horses"),
        f"Horses expected, with the likely range: {said}.",
        "Dot: horses to be expected. Line: where their number likely lies.",
    )
