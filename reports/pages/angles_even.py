"""The sections on how even left and right are, and on flat and upright feet."""

from reports.charts.angle_drift import pairs_by_gap
from reports.charts.hoof_classes import CLASSES, Level, hoof_classes
from reports.page import Numbers, Section, columns
from reports.pages.horse_names import Herd
from reports.picking import Results, Row, by_name, one, rows
from reports.wording import END_NAMES, day, figure, level_name, many, percent, plain, whole
from schemas.words import ENDS

MOST_PAIRS = 60  # rows of the table; each horse’s own page has its pairs
SOURCE = "Wiggers 2015, PLoS ONE 10:e0114836"
PAIR_NAMES = {"front": "Fronts", "hind": "Hinds"}


def gaps(results: Results) -> Section | None:
    """Left minus right on the latest day both were read on leaving."""
    found = rows(results, "angle_gaps")
    if not found:
        return None
    cut_off = found[0]["cut_off_deg"]
    herd = Herd(results)
    ranked = sorted(found, key=lambda row: (-abs(row["mean_gap_deg"]), herd.name(row["horse_id"]), row["end"]))
    shown = ranked[:MOST_PAIRS]
    return Section(
        "How even are left and right?",
        _gaps_answer(found, cut_off),
        (pairs_by_gap(found, cut_off),),
        (_gaps_numbers(shown, herd),),
        (_alone(results, cut_off), *_left_out(len(found) - len(shown))),
    )


def _gaps_answer(found: list[Row], cut_off: float) -> str:
    told = []
    for end in ENDS:
        pairs = [row for row in found if row["end"] == end]
        uneven = sum(row["latest_uneven"] for row in pairs)
        told += [f"{whole(uneven)} of {many(len(pairs), f'{end} pair')}"] if pairs else []
    return (
        f"Uneven, by more than {figure(cut_off)}° when last read on leaving, are {' and '.join(told)}. The cut-off is "
        f"that of {SOURCE}."
    )


def _alone(results: Results, cut_off: float) -> str:
    """The cut-off beside what two readings alone may differ by."""
    leaving = one(results, "angle_precision", angle_at="leaving")
    least = leaving["smallest_change_deg"] if leaving else None
    if least is None:
        return "The error of reading is not known yet: a gap seen at one visit alone may be the reading."
    if least > cut_off:
        return (
            f"By error of reading alone two feet that are alike differ by up to {figure(least)}° 19 times in 20, more "
            "than the cut-off: a smaller gap at one visit says little, a gap at visit after visit does."
        )
    return (
        f"By error of reading alone two feet that are alike differ by up to {figure(least)}° 19 times in 20: a gap "
        "beyond that is likely real."
    )


def _left_out(count: int) -> tuple[str, ...]:
    return (f"{many(count, 'more pair')} with smaller gaps stand on the horses’ own pages.",) if count else ()


def _gaps_numbers(shown: list[Row], herd: Herd) -> Numbers:
    lines = [
        (
            herd.name(row["horse_id"]),
            PAIR_NAMES[row["end"]],
            figure(row["mean_gap_deg"]),
            figure(row["latest_gap_deg"]),
            day(row["measured_on"]),
            f"{whole(row['uneven_visits'])} of {whole(row['visits'])}",
        )
        for row in shown
    ]
    heads = columns("Horse", "Pair *", "Mean gap", "Latest gap", "Read on *", "Uneven visits")
    links = tuple(herd.file(row["horse_id"]) for row in shown)
    return Numbers("Left minus right in degrees, the widest mean gap first", heads, lines, links=links)


def classes(results: Results) -> Section | None:
    """Flat, medium and upright feet."""
    every = _levels(rows(results, "hoof_classes", "all"), {})
    if not every:
        return None
    ends = _levels(rows(results, "hoof_classes", "end"), END_NAMES)
    works = _levels(rows(results, "hoof_classes", "discipline"), {})
    lines = [
        (level.name, *[percent(level.shares[kind]) for kind in CLASSES], whole(level.feet))
        for level in (*every, *ends, *works)
    ]
    shares = every[0].shares
    return Section(
        "How many feet are flat or upright?",
        f"Of {many(every[0].feet, 'foot', 'feet')} {percent(shares['flat'])} are flat, {percent(shares['medium'])} "
        f"medium and {percent(shares['upright'])} upright.",
        (hoof_classes([*every, *ends, *works]),),
        (Numbers("Feet by class", columns("Feet", *[plain(kind) for kind in CLASSES], "Feet read"), lines),),
        (f"Flat is under 50°, medium 50 to 55°, upright over 55° ({SOURCE}), by the foot’s latest angle on leaving.",),
    )


def _levels(found: list[Row], order: dict[str, str]) -> list[Level]:
    names = list(order) or [row["level"] for row in by_name(found)]
    levels = []
    for name in dict.fromkeys(names):
        own = {row["hoof_class"]: row for row in found if row["level"] == name}
        if own:
            dimension = next(iter(own.values()))["dimension"]
            shares = {kind: own[kind]["class_share"] if kind in own else 0.0 for kind in CLASSES}
            levels.append(Level(level_name(dimension, name), shares, sum(row["feet"] for row in own.values())))
    return levels
