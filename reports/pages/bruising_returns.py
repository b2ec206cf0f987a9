"""The sections on whether bruises come back: over all feet, and by work, foot, site, interval and shoe."""

from collections.abc import Callable

from reports.charts.bruising import bruise_recurrence
from reports.charts.dots import MOST_ROWS
from reports.page import Numbers, Section, table
from reports.picking import (
    NOT_RECORDED,
    Results,
    Row,
    highest_first,
    in_order,
    known,
    rows,
    with_enough_horses,
)
from reports.wording import FOOT_NAMES, figure, level_name, many, percent, percent_span, sentence, span, whole

STAINS = "A stain shows weeks after the hurt: the date is the day it was seen, not the day it was done."
NO_INTERVAL = "not one interval"
INTERVAL_BANDS = ("4 weeks or less", "4 to 6 weeks", "6 to 8 weeks", "over 8 weeks", NO_INTERVAL)
ENDS_OF_ONE = (
    "A band holds looks at the two ends of one interval, from one visit of the round to the next. Where one of the two "
    "was at a call-out, or a visit of the round without a look lies between, they stand under “not one interval” and "
    "are not compared: {} of {}."
)
HEADS = {
    "discipline": "Work",
    "foot": "Foot",
    "site": "Site",
    "interval_band": "Interval",
    "sole_relief": "Shoe",
    "shoe_style": "Style",
}
QUESTIONS = {
    "discipline": "In which work do bruises come back?",
    "foot": "On which foot?",
    "site": "Which site comes back?",
    "interval_band": "Does a longer interval go with more bruises?",
    "sole_relief": "Does keeping the shoe clear of the sole go with fewer bruises?",
    "shoe_style": "Does the style of shoe matter?",
}


def _ranged(found: list[Row]) -> list[Row]:
    """Ranges only where enough horses had a bruise that was looked at again."""
    limits = ("again_low", "again_high", "ratio_low", "ratio_high")
    return with_enough_horses(found, "horses_bruised", *limits, whose="bruises")


def recurrence(results: Results) -> Section:
    """Over all feet, front and hind."""
    every = next(iter(_ranged(rows(results, "bruise_recurrence", "all"))), None)
    drawn = [every] if every and every["chance_again"] is not None else []
    drawn += (
        known(in_order(_ranged(rows(results, "bruise_recurrence", "end")), ("front", "hind")), "chance_again")
        if drawn
        else []
    )
    return Section(
        "Do bruises come back?",
        _answer(every),
        (bruise_recurrence("end", drawn),) if drawn else (),
        (_numbers("end", drawn, "Feet"),) if drawn else (),
        (STAINS,),
    )


def _answer(every: Row | None) -> str:
    if every is None or not every["steps_clear"] + every["steps_bruised"]:
        return "No foot has been looked at twice for a bruise, so nothing can be said yet."
    if every["chance_again"] is None:
        return f"No bruised foot has been looked at again yet. {sentence(every['note'])}"
    likely = "" if every["again_low"] is None else f" (likely {percent_span(every['again_low'], every['again_high'])})"
    text = (
        f"{whole(every['bruised_to_bruised'])} of {many(every['steps_bruised'], 'bruised foot', 'bruised feet')} were "
        f"bruised at the next look too: {percent(every['chance_again'])}{likely}."
    )
    if every["chance_new"] is not None:
        text += f" Of clear feet {percent(every['chance_new'])} were bruised at the next look."
    return text + _times(every)


def _times(every: Row) -> str:
    if every["ratio"] is None:
        return ""
    likely = "" if every["ratio_low"] is None else f" (likely {span(every['ratio_low'], every['ratio_high'])})"
    return f" So a bruise is {figure(every['ratio'])} times as common after a bruise as after a clear look{likely}."


def recurrence_by(results: Results, dimension: str) -> Section | None:
    """One dimension, its levels from the highest chance of coming back to the lowest where they have no own order."""
    found = _order(dimension)(_ranged(rows(results, "bruise_recurrence", dimension)))
    if not found:
        return None
    told = known(found, "chance_again")
    most = sorted(told, key=lambda row: (-row["steps_bruised"], row["level"]))[:MOST_ROWS]
    drawn = [row for row in told if row in most]
    return Section(
        QUESTIONS[dimension],
        _compared(dimension, told),
        (bruise_recurrence(dimension, drawn),) if drawn else (),
        (_numbers(dimension, found, HEADS[dimension]),),
        _without_interval(found) if dimension == "interval_band" else (),
    )


def _without_interval(found: list[Row]) -> tuple[str, ...]:
    """What a band holds, and how many steps no one interval spans."""
    steps = {row["level"]: row["steps_clear"] + row["steps_bruised"] for row in found}
    apart = whole(steps[NO_INTERVAL]) if NO_INTERVAL in steps else "none"
    return (ENDS_OF_ONE.format(apart, many(sum(steps.values()), "pair of looks", "pairs of looks")),)


def _order(dimension: str) -> Callable[[list[Row]], list[Row]]:
    own = {"foot": tuple(FOOT_NAMES), "interval_band": INTERVAL_BANDS}.get(dimension)
    return (lambda found: in_order(found, own)) if own else (lambda found: highest_first(found, "chance_again"))


def _compared(dimension: str, told: list[Row]) -> str:
    """Highest against lowest, of those whose ranges are known: the others rest on too few bruises to name."""
    sure = [row for row in told if row["again_low"] is not None and row["level"] not in (NOT_RECORDED, NO_INTERVAL)]
    if len(sure) < 2:
        return "Too few bruises have been looked at again to compare."
    upper = max(sure, key=lambda row: (row["chance_again"], row["level"]))
    lower = min(sure, key=lambda row: (row["chance_again"], row["level"]))
    apart = upper["again_low"] > lower["again_high"]
    verdict = "The two ranges do not overlap." if apart else "The two ranges overlap, so this may be chance."
    most, least = _said(dimension, upper), _said(dimension, lower)
    return f"Bruises come back most often with {most}, least often with {least}. {verdict}"


def _said(dimension: str, row: Row) -> str:
    name = level_name(dimension, row["level"]).lower()
    likely = percent_span(row["again_low"], row["again_high"])
    return f"“{name}”, {percent(row['chance_again'])} of {whole(row['steps_bruised'])} (likely {likely})"


def _numbers(dimension: str, found: list[Row], head: str) -> Numbers:
    by_site = dimension == "site"  # a clear foot has no site
    heads = (head, "Chance of coming back", "Likely", "Bruised, looked at again", "Bruised again")
    heads += () if by_site else ("Chance of a new one", "Clear, looked at again", "Newly bruised")
    heads += ("Feet", "Horses bruised", "Note *")
    faint = (place for place, row in enumerate(found) if row["again_low"] is None)
    lines = [_line(dimension, row, by_site) for row in found]
    return table(f"Bruises at the next look by {head.lower()}", heads, lines, faint)


def _line(dimension: str, row: Row, by_site: bool) -> tuple[str, ...]:
    new = (percent(row["chance_new"]), whole(row["steps_clear"]), whole(row["clear_to_bruised"]))
    return (
        level_name(dimension, row["level"]),
        percent(row["chance_again"]),
        percent_span(row["again_low"], row["again_high"]),
        whole(row["steps_bruised"]),
        whole(row["bruised_to_bruised"]),
        *(() if by_site else new),
        whole(row["feet"]),
        whole(row["horses_bruised"]),
        "" if by_site and row["again_low"] is not None else sentence(row["note"]),
    )
