"""Angles: how the toe angle changes between visits, how far one reading can be trusted, and which feet drift most."""

from math import sqrt

from reports.charts.angle_drift import angle_drift, feet_by_drift
from reports.charts.dots import MOST_ROWS
from reports.page import Numbers, Page, Section, columns, table
from reports.picking import Results, Row, everything, highest_first, in_order, known, labelled, rows
from reports.wording import FOOT_NAMES, figure, level_name, many, sentence, span, whole
from schemas.records import About

STAGES = (
    "An angle on leaving is compared only with the angle on the next arrival. Readings of different stages are never "
    "mixed: before and after a trim they differ by themselves."
)
HEADS = {"discipline": "Work", "end": "Feet", "shod": "Feet"}


def angles(results: Results, about: About) -> Page:
    """The page of angles, over the whole record. It names horses, so it carries the cautions."""
    made = [_growth(results), _by(results, "discipline", "Does the change differ by kind of work?")]
    made += [_trust(results), _feet(results)]
    return Page(
        "angles.html",
        "Angles",
        "How the angle of the toe to the ground changes while the foot grows from one visit to the next. All figures "
        "here are of the whole record.",
        tuple(section for section in made if section),
        names_horses=True,
        remarks=(STAGES,),
    )


def _growth(results: Results) -> Section:
    every = everything(results, "angle_drift")
    found = [every] if every else []
    found += in_order(rows(results, "angle_drift", "end"), ("front", "hind"))
    found += [{**row, "dimension": "shod"} for row in in_order(rows(results, "angle_drift", "shod"), ("yes", "no"))]
    drawn = known(found, "deg_per_week")
    return Section(
        "How does the angle change between visits?",
        _growth_answer(every),
        (angle_drift("feet", [_renamed(row) for row in drawn], None),) if drawn else (),
        (_numbers("feet", [_renamed(row) for row in found], "Feet"),) if found else (),
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


def _by(results: Results, dimension: str, question: str) -> Section | None:
    found = highest_first(rows(results, "angle_drift", dimension), "deg_per_week")
    if not found:
        return None
    told = known(found, "deg_per_week")
    most = sorted(told, key=lambda row: (-row["steps"], row["level"]))[:MOST_ROWS]
    drawn = sorted((row for row in told if row in most), key=lambda row: (row["deg_per_week"], row["level"]))
    every = everything(results, "angle_drift")
    return Section(
        question,
        _compared(dimension, drawn),
        (angle_drift(dimension, drawn, every["deg_per_week"] if every else None),) if drawn else (),
        (_numbers(dimension, found, HEADS[dimension]),),
    )


def _compared(dimension: str, drawn: list[Row]) -> str:
    if len(drawn) < 2:
        return "Too few feet have both angles to compare."
    first, last = drawn[0], drawn[-1]
    sure = None not in (first["high"], last["low"]) and first["high"] < last["low"]
    verdict = "The two ranges do not overlap." if sure else "The two ranges overlap, so this may be chance."
    return f"It runs from {_said(dimension, first)} to {_said(dimension, last)}. {verdict}"


def _said(dimension: str, row: Row) -> str:
    likely = "" if row["low"] is None else f" (likely {span(row['low'], row['high'], 2)})"
    return f"{figure(row['deg_per_week'], 2)}° a week in {level_name(dimension, row['level']).lower()}{likely}"


def _trust(results: Results) -> Section | None:
    every = everything(results, "angle_drift")
    if every is None or every["residual_sd_deg"] is None:
        return None
    spread = every["residual_sd_deg"]
    return Section(
        "How far can one reading be trusted?",
        f"Readings scatter about their foot’s own line by {figure(spread)}° (one standard deviation: two in three "
        f"lie within it). A change of one foot under {figure(smallest_real_change(spread))}° may be the reading alone.",
        notes=(
            "The smallest change of one foot that is likely real is 1.96 × √2 × that scatter, as for any two readings.",
        ),
    )


def smallest_real_change(spread: float) -> float:
    """The scatter of one reading written as the smallest difference of two that is likely real: 1.96·√2·sd."""
    return 1.96 * sqrt(2) * spread


def _feet(results: Results) -> Section:
    found = rows(results, "horse_angle_drift")
    told = known(found, "deg_per_week")
    names = {row["horse_id"]: row["label"] for row in labelled(rows(results, "horse_losses"))}
    place = list(FOOT_NAMES).index
    told.sort(key=lambda row: (row["deg_per_week"], names.get(row["horse_id"], row["horse_id"]), place(row["foot"])))
    lines = [_foot_line(row, names) for row in told]
    heads = columns("Horse", "Foot *", "Degrees a week", "Likely", "Pairs of readings")
    return Section(
        "Which feet drift most?",
        _feet_answer(told, names, len(found)),
        (feet_by_drift(told),) if told else (),
        (Numbers("Change of the toe angle by foot, fastest fall first", heads, lines),) if told else (),
        ("A foot’s own figure is drawn toward the mean of all feet by how few its readings are.",) if told else (),
    )


def _feet_answer(told: list[Row], names: dict[str, str], feet: int) -> str:
    if not told:
        return "No foot has enough readings of its own yet."
    first = told[0]
    return (
        f"Fastest is the {FOOT_NAMES[first['foot']].lower()} of {names.get(first['horse_id'], first['horse_id'])}, at "
        f"{figure(first['deg_per_week'], 2)}° a week (likely {span(first['low'], first['high'], 2)}). "
        f"{whole(len(told))} of {many(feet, 'foot', 'feet')} have enough readings to tell."
    )


def _foot_line(row: Row, names: dict[str, str]) -> tuple[str, ...]:
    return (
        names.get(row["horse_id"], row["horse_id"]),
        FOOT_NAMES[row["foot"]],
        figure(row["deg_per_week"], 2),
        span(row["low"], row["high"], 2),
        whole(row["steps"]),
    )


def _numbers(dimension: str, found: list[Row], head: str) -> Numbers:
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
