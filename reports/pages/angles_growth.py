"""The sections on growth drift: how the angle changes between visits, by kind of work, and in single feet."""

from reports.charts.angle_drift import angle_drift, feet_by_drift
from reports.charts.dots import MOST_ROWS
from reports.page import Numbers, Section, columns, table
from reports.pages.horse_names import Herd
from reports.picking import Results, Row, everything, highest_first, in_order, known, rows
from reports.wording import FOOT_NAMES, figure, level_name, many, sentence, span, whole

HEADS = {"discipline": "Work", "feet": "Feet"}


def growth(results: Results) -> Section:
    """All feet, front and hind, shod and bare."""
    every = everything(results, "angle_drift")
    found = [every] if every else []
    found += in_order(rows(results, "angle_drift", "end"), ("front", "hind"))
    found += [{**row, "dimension": "shod"} for row in in_order(rows(results, "angle_drift", "shod"), ("yes", "no"))]
    drawn = known(found, "deg_per_week")
    return Section(
        "How does the angle change between visits?",
        _growth_answer(every),
        (angle_drift("feet", [_renamed(row) for row in drawn], None),) if drawn else (),
        (_numbers("feet", [_renamed(row) for row in found]),) if found else (),
    )


def _renamed(row: Row) -> Row:
    return {**row, "level": level_name(row["dimension"], row["level"])}


def _growth_answer(every: Row | None) -> str:
    if every is None or every["deg_per_week"] is None:
        reason = sentence(every["note"]) if every else ""
        return f"Too few feet have an angle on leaving and on the next arrival to say. {reason}".strip()
    way = "falls" if every["deg_per_week"] < 0 else "rises"
    likely = "" if every["low"] is None else f" (likely {span(every['low'], every['high'], 2)})"
    return (
        f"It {way}: the mean change is {figure(every['deg_per_week'], 2)}° a week{likely}, from "
        f"{many(every['steps'], 'pair')} of readings on {many(every['feet'], 'foot', 'feet')}."
    )


def growth_by_work(results: Results) -> Section | None:
    """Each kind of work, fastest fall first."""
    found = highest_first(rows(results, "angle_drift", "discipline"), "deg_per_week")
    if not found:
        return None
    told = known(found, "deg_per_week")
    most = sorted(told, key=lambda row: (-row["steps"], row["level"]))[:MOST_ROWS]
    drawn = sorted((row for row in told if row in most), key=lambda row: (row["deg_per_week"], row["level"]))
    every = everything(results, "angle_drift")
    return Section(
        "Does the change differ by kind of work?",
        _compared(drawn),
        (angle_drift("discipline", drawn, every["deg_per_week"] if every else None),) if drawn else (),
        (_numbers("discipline", found),),
    )


def _compared(drawn: list[Row]) -> str:
    if len(drawn) < 2:
        return "Too few feet have both angles to compare."
    first, last = drawn[0], drawn[-1]
    sure = None not in (first["high"], last["low"]) and first["high"] < last["low"]
    verdict = "The two ranges do not overlap." if sure else "The two ranges overlap, so this may be chance."
    return f"It runs from {_said(first)} to {_said(last)}. {verdict}"


def _said(row: Row) -> str:
    likely = "" if row["low"] is None else f" (likely {span(row['low'], row['high'], 2)})"
    return f"{figure(row['deg_per_week'], 2)}° a week in {level_name('discipline', row['level']).lower()}{likely}"


def feet(results: Results) -> Section:
    """Single feet, each drawn toward all."""
    herd = Herd(results)
    found = rows(results, "horse_angle_drift")
    told = known(found, "deg_per_week")
    place = list(FOOT_NAMES).index
    told.sort(key=lambda row: (row["deg_per_week"], herd.name(row["horse_id"]), place(row["foot"])))
    heads = columns("Horse", "Foot *", "Degrees a week", "Likely", "Pairs of readings")
    lines = [_foot_line(row, herd) for row in told]
    links = tuple(herd.file(row["horse_id"]) for row in told)
    return Section(
        "Which feet drift most?",
        _feet_answer(told, herd, len(found)),
        (feet_by_drift(told),) if told else (),
        (Numbers("Change of the toe angle by foot, fastest fall first", heads, lines, links=links),) if told else (),
        ("A foot’s own figure is drawn toward the mean of all feet by how few its readings are.",) if told else (),
    )


def _feet_answer(told: list[Row], herd: Herd, count: int) -> str:
    if not told:
        return "No foot has enough readings of its own yet."
    first = told[0]
    return (
        f"Fastest is the {FOOT_NAMES[first['foot']].lower()} of {herd.name(first['horse_id'])}, at "
        f"{figure(first['deg_per_week'], 2)}° a week (likely {span(first['low'], first['high'], 2)}). "
        f"{whole(len(told))} of {many(count, 'foot', 'feet')} have enough readings to tell."
    )


def _foot_line(row: Row, herd: Herd) -> tuple[str, ...]:
    return (
        herd.name(row["horse_id"]),
        FOOT_NAMES[row["foot"]],
        figure(row["deg_per_week"], 2),
        span(row["low"], row["high"], 2),
        whole(row["steps"]),
    )


def _numbers(dimension: str, found: list[Row]) -> Numbers:
    head = HEADS[dimension]
    heads = (head, "Degrees a week", "Likely", "Scatter of a reading", "Pairs of readings", "Feet", "Note *")
    faint = (place for place, row in enumerate(found) if row["deg_per_week"] is None)
    lines = [_line(dimension, row) for row in found]
    return table(f"Change of the toe angle between visits by {head.lower()}", heads, lines, faint)


def _line(dimension: str, row: Row) -> tuple[str, ...]:
    return (
        level_name(dimension, row["level"]),
        figure(row["deg_per_week"], 2),
        span(row["low"], row["high"], 2),
        figure(row["residual_sd_deg"]),
        whole(row["steps"]),
        whole(row["feet"]),
        sentence(row["note"]),
    )
