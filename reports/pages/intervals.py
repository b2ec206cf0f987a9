"""Intervals: how long horses go between visits, whether what was agreed is kept, and what goes with running late."""

from reports.charts.dots import MOST_ROWS
from reports.charts.interval_lengths import interval_lengths
from reports.charts.late_share import share_over_eight_weeks
from reports.page import Numbers, Page, Section, table
from reports.pages.agreed import agreed
from reports.pages.lateness import feet_when_late, losses_when_late
from reports.pages.slipping import slipping
from reports.picking import NOT_RECORDED, Results, Row, everything, in_order, known, rows
from reports.wording import days, days_and_weeks, level_name, many, percent, sentence, whole
from schemas.records import About
from schemas.words import SEASONS

HEADS = {"discipline": "Work", "season": "Season", "yard": "Yard"}
TEN = 10  # with fewer intervals the longest alone is more than one in ten


def intervals(results: Results, about: About) -> Page:
    """The page of intervals, over the whole record."""
    made = [_work(results), _long(results), agreed(results), losses_when_late(results), feet_when_late(results)]
    made += [slipping(results), _season(results), _yards(results)]
    return Page(
        "intervals.html",
        "Intervals",
        "How long horses go from one planned visit to the next. Call-outs for a lost shoe do not end an interval. All "
        "figures here are of the whole record.",
        tuple(section for section in made if section),
        names_horses=bool(rows(results, "lateness_trend")),
    )


def _work(results: Results) -> Section:
    every = everything(results, "interval_lengths")
    found = _longest_first(rows(results, "interval_lengths", "discipline"))
    drawn = _drawable(([every] if every else []) + found)
    return Section(
        "How long are intervals?",
        _work_answer(every),
        (interval_lengths("discipline", drawn),) if drawn else (),
        (_numbers("discipline", ([every] if every else []) + found),) if found else (),
        _left_out(known(found, "median_days"), drawn),
    )


def _longest_first(found: list[Row]) -> list[Row]:
    return sorted(
        found,
        key=lambda row: (
            row["level"] == NOT_RECORDED,
            row["median_days"] is None,
            -(row["median_days"] or 0),
            row["level"],
        ),
    )


def _drawable(found: list[Row]) -> list[Row]:
    """At most so many levels as a picture can hold, those with the most intervals, in the order they stand in."""
    told = known(found, "median_days")
    most = sorted(told, key=lambda row: (-row["intervals"], row["level"]))[:MOST_ROWS]
    return [row for row in told if row in most]


def _left_out(told: list[Row], drawn: list[Row]) -> tuple[str, ...]:
    missing = sum(row not in drawn for row in told)
    return (f"{whole(missing)} more with fewer intervals are in the table only.",) if missing else ()


def _work_answer(every: Row | None) -> str:
    if every is None or every["median_days"] is None:
        return "No horse has been seen twice yet, so there is no interval to measure."
    if every["intervals"] == 1:
        return f"The one interval on record was {days_and_weeks(every['median_days'])}."
    tenth = every["intervals"] >= TEN and every["p90_days"] is not None
    rest = f" One in ten took {days_and_weeks(round(every['p90_days']))} or longer." if tenth else ""
    note = f" {sentence(every['note'])}" if every["note"] else ""
    return (
        f"Half of {many(every['intervals'], 'interval')} of {many(every['horses'], 'horse')} are "
        f"{days_and_weeks(every['median_days'])} or shorter.{rest}{note}"
    )


def _long(results: Results) -> Section | None:
    every = everything(results, "interval_lengths")
    found = known(rows(results, "interval_lengths", "discipline"), "share_over_56")
    if every is None or not found:
        return None
    drawn = _drawable(found)
    drawn.sort(key=lambda row: (-row["share_over_56"], row["level"]))
    return Section(
        "How many run past 8 weeks, and past what was agreed?",
        f"{percent(every['share_over_56'])} of intervals ran longer than 8 weeks. {_late(every)}",
        (share_over_eight_weeks("discipline", drawn),) if drawn else (),
        notes=("What shoes such intervals would lose, each and in a year, is on the page Horses, for 4 to 10 weeks.",),
    )


def _late(every: Row) -> str:
    if every["late_share"] is None:
        return "No interval was agreed beforehand, so none can be called late."
    return f"Of those with an agreed interval, {percent(every['late_share'])} ran more than a week over it."


def _season(results: Results) -> Section | None:
    found = in_order(rows(results, "interval_lengths", "season"), SEASONS)
    drawn = known(found, "median_days")
    if not drawn:
        return None
    return Section(
        "Do intervals stretch with the season?",
        _season_answer(drawn),
        (interval_lengths("season", drawn),),
        (_numbers("season", found),),
    )


def _season_answer(drawn: list[Row]) -> str:
    longest = max(drawn, key=lambda row: row["median_days"])
    shortest = min(drawn, key=lambda row: row["median_days"])
    if longest["median_days"] == shortest["median_days"]:
        return "The middle interval is the same in every season on record."
    return (
        f"Longest in {longest['level']}, with half at {days(longest['median_days'])} or less; shortest in "
        f"{shortest['level']}, with half at {days(shortest['median_days'])} or less."
    )


def _yards(results: Results) -> Section | None:
    found = _longest_first(rows(results, "interval_lengths", "yard"))
    drawn = _drawable(found)
    if not drawn:
        return None
    return Section(
        "Which yards go longest?",
        _yards_answer([row for row in drawn if row["level"] != NOT_RECORDED]),
        (interval_lengths("yard", drawn),),
        (_numbers("yard", found),),
        _left_out(known(found, "median_days"), drawn),
    )


def _yards_answer(named: list[Row]) -> str:
    """named: yards by name, the longest interval first."""
    if not named:
        return "No yard with an interval is on record by name."
    longest, shortest = (days(row["median_days"]) for row in (named[0], named[-1]))
    if len(named) == 1:
        return f"The middle interval is {longest} at {named[0]['level']}, with no other yard to set it beside."
    if longest == shortest:
        return f"The middle interval is {longest} at every yard."
    return f"The middle interval runs from {shortest} at {named[-1]['level']} to {longest} at {named[0]['level']}."


def _numbers(dimension: str, found: list[Row]) -> Numbers:
    head = HEADS[dimension]
    heads = (head, "Half by", "Middle half", "Nine in ten by", "Over 8 weeks", "Late", "Intervals", "Horses", "Note *")
    faint = (place for place, row in enumerate(found) if row["note"])
    return table(f"Days between visits by {head.lower()}", heads, [_line(dimension, row) for row in found], faint)


def _line(dimension: str, row: Row) -> tuple[str, ...]:
    return (
        level_name(dimension, row["level"]),
        whole(row["median_days"]),
        f"{whole(row['p25_days'])} to {whole(row['p75_days'])}",
        whole(row["p90_days"]),
        percent(row["share_over_56"]),
        percent(row["late_share"]),
        whole(row["intervals"]),
        whole(row["horses"]),
        sentence(row["note"]),
    )
