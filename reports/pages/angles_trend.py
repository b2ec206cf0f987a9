"""The sections on the angle feet leave with, over the years, and on feet that go lower and longer."""

from reports.charts.dots import MOST_ROWS, Dot, dots, runs_off
from reports.drawing import Chart
from reports.page import Numbers, Section, columns, table
from reports.picking import FEWEST_HORSES, Results, Row, by_name, everything, in_order, known, rows
from reports.wording import figure, level_name, many, percent, sentence, span, whole
from schemas.words import ENDS

BY_HORSE = (
    "Ranges take horses as the units, since the feet of one horse are alike; of fewer than 5 horses none is told."
)
TREND = "Leaving is compared with leaving only, foot by foot: what changes here is how feet are left, or what they are."
ENOUGH_FEET = 20  # a quarter of fewer, which chance alone would bring, is a handful of feet


def trend(results: Results) -> Section:
    """All feet, front and hind, shod and bare."""
    every = everything(results, "angle_trend")
    found = [every] if every else []
    found += in_order(rows(results, "angle_trend", "end"), ENDS)
    found += in_order(rows(results, "angle_trend", "shod"), ("yes", "no"))
    drawn = known(found, "deg_per_year")
    return Section(
        "Do feet leave lower or steeper over the years?",
        _answer(every),
        (_chart("feet", drawn, None),) if drawn else (),
        (_numbers("Feet", found),) if found else (),
        (TREND, BY_HORSE) if found else (),
    )


def limits(row: Row) -> tuple[float | None, float | None]:
    """The range to trust, horses being the units."""
    return row["low_by_horse"], row["high_by_horse"]


def likely(row: Row) -> str:
    """The range in brackets, or nothing."""
    return "" if None in limits(row) else f" (likely {span(*limits(row), 2)})"


def _answer(every: Row | None) -> str:
    if every is None or every["deg_per_year"] is None:
        reason = sentence(every["note"]) if every else ""
        return f"Too few feet have been read on leaving often enough to say. {reason}".strip()
    low, high = limits(every)
    change = (
        f"the mean change is {figure(every['deg_per_year'], 2)}° a year{likely(every)}, from "
        f"{many(every['visits'], 'reading')} on {many(every['feet'], 'foot', 'feet')}"
    )
    if low is None or high is None or low <= 0 <= high:
        return f"Neither, for all that can be told: {change}."
    return f"{'Lower' if high < 0 else 'Steeper'}: {change}."


def trend_by_work(results: Results) -> Section | None:
    """Each kind of work, by name."""
    found = by_name(rows(results, "angle_trend", "discipline"))
    told = known(found, "deg_per_year")
    if not told:
        return None
    most = sorted(told, key=lambda row: (-row["visits"], row["level"]))[:MOST_ROWS]
    drawn = sorted((row for row in told if row in most), key=lambda row: (row["deg_per_year"], row["level"]))
    every = everything(results, "angle_trend")
    return Section(
        "Does that trend differ by kind of work?",
        _compared(told),
        (_chart("discipline", drawn, every["deg_per_year"] if every else None),),
        (_numbers("Work", found),),
    )


def _compared(told: list[Row]) -> str:
    told = known(known(told, "low_by_horse"), "high_by_horse")
    if not told:
        return f"No kind of work has {FEWEST_HORSES} horses or more with a trend, so no range is told."
    falling = [row for row in told if row["high_by_horse"] < 0]
    rising = [row for row in told if row["low_by_horse"] > 0]
    text = (
        f"Of {many(len(told), 'kind')} of work with {FEWEST_HORSES} horses or more the range lies below 0 in "
        f"{whole(len(falling)) if falling else 'none'} and above 0 in {whole(len(rising)) if rising else 'none'}."
    )
    steepest = min(falling, key=lambda row: (row["deg_per_year"], row["level"]), default=None)
    if steepest is None:
        return text
    name = level_name("discipline", steepest["level"]).lower()
    return f"{text} The fastest fall is in {name}, {figure(steepest['deg_per_year'], 2)}° a year{likely(steepest)}."


def _chart(dimension: str, drawn: list[Row], overall: float | None) -> Chart:
    marks = [Dot(level_name(row["dimension"], row["level"]), row["deg_per_year"], *limits(row)) for row in drawn]
    said = "; ".join(f"{mark.label} {figure(mark.value, 2)} (likely {span(mark.low, mark.high, 2)})" for mark in marks)
    caption = "Dot: degrees a year; below 0 feet leave lower. Line: where the true figure likely lies."
    caption += "" if overall is None else f" Dashed: all feet, {figure(overall, 2)}."
    return Chart(
        f"trend-{dimension}",
        dots(marks, "degrees a year", overall),
        f"Change of the angle feet leave with, in degrees a year: {said}.",
        caption + (" A line that ends at the edge goes on beyond it." if runs_off(marks, overall) else ""),
    )


def _numbers(head: str, found: list[Row]) -> Numbers:
    lines = [
        (
            level_name(row["dimension"], row["level"]),
            figure(row["deg_per_year"], 2),
            span(*limits(row), 2),
            whole(row["visits"]),
            whole(row["feet"]),
            sentence(row["note"]),
        )
        for row in found
    ]
    heads = (head, "Degrees a year", "Likely", "Readings", "Feet", "Note *")
    faint = (place for place, row in enumerate(found) if row["deg_per_year"] is None)
    return table(f"Trend of the angle on leaving by {head.lower()}", heads, lines, faint)


def _forward(every: Row) -> str:
    """How many feet go lower and longer, beside how many would by chance; of few feet no share is made much of."""
    feet, sure = every["feet"], every["lower_longer_sure"]
    count = f"{whole(every['lower_longer'])} of {many(feet, 'foot', 'feet')}"
    if feet < ENOUGH_FEET:
        return f"Too few feet have been read often enough to say: {count} leave lower in angle and longer in toe."
    certain = f"In {whole(sure)} of them" if sure else "In none of them do"
    return (
        f"{count} leave lower in angle and longer in toe as time goes on ({percent(every['lower_longer_share'])}); by "
        f"chance alone about one in four would. {certain} both ranges leave out no change."
    )


def lower_and_longer(results: Results) -> Section | None:
    """Feet whose angle goes down while their toe grows."""
    every = everything(results, "toe_directions")
    if every is None or not every["feet"]:
        return None
    found = [every, *in_order(rows(results, "toe_directions", "end"), ENDS)]
    found += by_name(rows(results, "toe_directions", "discipline"))
    lines = [
        (
            level_name(row["dimension"], row["level"]),
            percent(row["lower_longer_share"]),
            whole(row["lower_longer"]),
            whole(row["lower_longer_sure"]),
            whole(row["feet"]),
        )
        for row in found
    ]
    heads = columns("Feet", "Lower and longer", "Counted", "Sure", "Feet read")
    return Section(
        "Do toes run forward?",
        _forward(every),
        numbers=(Numbers("Feet that leave lower and longer, visit after visit", heads, lines),),
        notes=(
            "Both directions are of the same foot on leaving, each drawn toward that of its peers, shod or bare. Sure: "
            "both lie beyond what chance may bring. A foot that does not change goes lower by chance one time in two, "
            "and longer one time in two: both together one time in four.",
        ),
    )
