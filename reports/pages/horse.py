"""The page of one horse: its shoes in time, its losses beside its peers, its fit, and what its record lacks."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field

from reports.charts.horse_shoes import horse_shoes
from reports.page import Numbers, Page, Section, columns, table
from reports.pages.interval_guide import guide_of_horse
from reports.picking import Results, Row, labelled, rows
from reports.wording import (
    FOOT_NAMES,
    day,
    figure,
    level_name,
    listed,
    many,
    percent,
    plain,
    sentence,
    span,
    whole,
)
from schemas.records import About
from schemas.words import ENDS

FEWEST_LOST = 3
FULL_ENOUGH = 0.8
FIT = {
    "branch_past_heel_mm": ("Steel behind the heel", " mm"),
    "expansion_mm": ("Shoe outside the wall at the heels", " mm"),
    "nails": ("Nails", ""),
    "heel_nails": ("Nails at the heel", ""),
    "clips": ("With clips", "%"),
    "edges_dressed": ("Edges rounded", "%"),
    "sole_relief": ("Clear of the sole", "%"),
    "wall_unsound": ("Wall not sound", "%"),
    "hind_toe_leaving_mm": ("Toe of the hind foot", " mm"),
    "hind_angle_leaving_deg": ("Angle of the hind foot", "°"),
    "hind_shod": ("Hind foot shod", "%"),
}
GAPS = {
    "branch_past_heel_mm": "steel behind the heel",
    "nails_medial": "nails",
    "heel_nails": "nails at the heel",
    "edges_dressed": "edges rounded or not",
    "wall_state": "state of the wall",
    "angle_leaving_deg": "angle on leaving",
    "toe_leaving_mm": "toe on leaving",
    "bruise_grade": "a look for a bruise",
    "planned_weeks": "the interval agreed",
    "cause": "what pulled it",
    "last_seen_on": "day it was last seen on",
}
COUNTED = {"feet": ("foot", "feet"), "visits": ("visit", "visits"), "losses": ("reported loss", "reported losses")}
NAILED = ("branch_past_heel_mm", "nails_medial", "heel_nails", "edges_dressed", "wall_state")
WORTH = (
    "“Worth a look” is what lies further apart than chance sets it in 19 of 20 comparisons. Of every 20 things "
    "compared one or more would be named by chance, and what differs need not be what pulled the shoe."
)
PLACES = {"above_998": "far above", "above_95": "above", "below_95": "below", "below_998": "far below"}


def horse_file(page_no: int) -> str:
    """The file of a horse's page: a number, never a name."""
    return f"horse-{page_no}.html"


@dataclass
class _Horse:
    """All that is on record for one horse: its row of the list, and its rows of every other table."""

    row: Row
    losses: Row | None = None
    shoes: list[Row] = field(default_factory=list)
    visits: list[Row] = field(default_factory=list)
    fit: list[Row] = field(default_factory=list)
    gaps: list[Row] = field(default_factory=list)
    guide: list[Row] = field(default_factory=list)


def horse_pages(results: Results, about: About) -> Iterator[Page]:
    """One page a horse on record, in the order of their numbers, each made when it is asked for."""
    own = {name: _by_horse(rows(results, f"horse_{name}")) for name in ("shoes", "visits", "fit", "gaps")}
    guide = _by_horse(rows(results, "interval_guide", "horse"), "level")
    losses = {row["horse_id"]: row for row in rows(results, "horse_losses")}
    for row in labelled(sorted(rows(results, "horse_list"), key=lambda row: row["page_no"])):
        key = row["horse_id"]
        found = {name: table.get(key, []) for name, table in own.items()}
        yield _page(_Horse(row, losses.get(key), **found, guide=guide.get(key, [])), about)


def _by_horse(found: list[Row], column: str = "horse_id") -> dict[str, list[Row]]:
    horses: dict[str, list[Row]] = defaultdict(list)
    for row in found:
        horses[row[column]].append(row)
    return horses


def _page(horse: _Horse, about: About) -> Page:
    made = [_shoes(horse, about), _peers(horse), _fit(horse), _hinds(horse), guide_of_horse(horse.guide), _lacks(horse)]
    return Page(
        horse_file(horse.row["page_no"]),
        horse.row["label"],
        _lead(horse.row),
        tuple(section for section in made if section),
        names_horses=True,
        under="horses.html",
    )


def _lead(row: Row) -> str:
    work = level_name("discipline", row["discipline"])
    yard = f", at {row['yard']}" if row["yard"] else ""
    if not row["visits"]:
        return f"{work}{yard}. No visit is on record."
    return (
        f"{work}{yard}. {many(row['visits'], 'visit')} on record, {day(row['first_visit_on'])} to "
        f"{day(row['last_visit_on'])}."
    )


def _shoes(horse: _Horse, about: About) -> Section:
    lost = [shoe for shoe in horse.shoes if shoe["end_reason"] == "lost"]
    first = min((visit["visit_date"] for visit in horse.visits), default=about.as_of)
    return Section(
        "What became of each shoe?",
        _shoes_answer(horse.shoes, lost),
        (horse_shoes(horse.shoes, horse.visits, first, about.as_of),) if horse.shoes else (),
        (_lost_numbers(lost),) if lost else (),
    )


def _shoes_answer(shoes: list[Row], lost: list[Row]) -> str:
    if not shoes:
        return "No shoe has been nailed on."
    feet = [
        f"{FOOT_NAMES[foot].lower()} {whole(count)}"
        for foot in FOOT_NAMES
        if (count := sum(shoe["foot"] == foot for shoe in lost))
    ]
    text = f"{many(len(shoes), 'shoe')} nailed on, {whole(len(lost)) if lost else 'none'} lost"
    return f"{text}: {listed(feet)}." if feet else f"{text}."


def _lost_numbers(lost: list[Row]) -> Numbers:
    lines = [
        (
            day(shoe["fitted_on"]),
            FOOT_NAMES[shoe["foot"]],
            _came_off(shoe),
            whole(shoe["days_on"]),
            plain(shoe["cause"] or "–"),
            figure(shoe["branch_past_heel_mm"]),
            whole(shoe["nails"]),
            plain(shoe["wall_state"] or "–"),
            plain(shoe["shoe_style"] or "–"),
        )
        for shoe in sorted(lost, key=lambda shoe: (shoe["fitted_on"], shoe["foot"]), reverse=True)
    ]
    heads = ("Nailed on", "Foot *", "Came off *", "Days on", "Reported cause *", "Steel behind, mm", "Nails", "Wall *")
    return Numbers("Shoes lost, the latest first", columns(*heads, "Style *"), lines)


def _came_off(shoe: Row) -> str:
    if shoe["ended_on"] == shoe["lost_by"]:
        return day(shoe["lost_by"])
    return f"{day(shoe['lost_after'])} to {day(shoe['lost_by'])}"


def _peers(horse: _Horse) -> Section | None:
    row = horse.losses
    if row is None:
        return None
    if row["ratio"] is None:
        reason = sentence(row["note"]) or "Too little is on record to compare it."
        return Section("Does it lose more than its peers?", reason)
    return Section(
        "Does it lose more than its peers?",
        f"{many(row['losses'], 'shoe')} lost where horses in the same work would have lost "
        f"{figure(row['expected'])} in the same time: {figure(row['ratio'])} times "
        f"(likely {span(row['ratio_low'], row['ratio_high'])}). {_place(row)}",
        numbers=(_peers_numbers(row),),
        notes=tuple(note for note in (sentence(row["note"]),) if note),
    )


def _place(row: Row) -> str:
    place = PLACES.get(row["funnel"] or "")
    if place is None:
        return "Chance alone may bring that."
    return f"That lies {place} what chance alone would bring; among many horses a few do so by chance."


def _peers_numbers(row: Row) -> Numbers:
    lines = [("Lost over expected", figure(row["ratio"]), span(row["ratio_low"], row["ratio_high"]))]
    if row["shrunk_ratio"] is not None:
        drawn = (figure(row["shrunk_ratio"]), span(row["shrunk_low"], row["shrunk_high"]))
        lines.append(("Drawn toward 1 by how little is known of it", *drawn))
    if row["chance_above_double"] is not None:
        lines.append(("Chance that it is truly over 2", percent(row["chance_above_double"]), "–"))
    return Numbers("Against horses in the same work", columns("Ratio", "Figure", "Likely"), lines)


def _fit(horse: _Horse) -> Section | None:
    found = [row for row in horse.fit if not row["fit_measure"].startswith("hind_")]
    if not any(row["lost_shoes"] for row in found):
        return None
    ends = [end for end in ENDS if any(row["lost_shoes"] for row in found if row["end"] == end)]
    tables = [_fit_numbers(f"{end.title()} shoes", [row for row in found if row["end"] == end]) for end in ends]
    return Section(
        "How do the shoes it lost differ from those it kept?",
        _fit_answer(found),
        numbers=tuple(tables),
        notes=(WORTH, "Kept: renewed or taken off at a visit. A shoe that is still on is in neither."),
    )


def _hinds(horse: _Horse) -> Section | None:
    found = [row for row in horse.fit if row["fit_measure"].startswith("hind_")]
    if not any(row["lost_shoes"] for row in found):
        return None
    return Section(
        "What were its hind feet like when it lost a front shoe?",
        _fit_answer(found),
        numbers=(_fit_numbers("The hind foot on the same side, when the front shoe was nailed on", found),),
        notes=("A front shoe is mostly trodden off from behind (common practice, no source).",),
    )


def _fit_answer(found: list[Row]) -> str:
    lost = max(row["lost_shoes"] for row in found)
    compared = [row for row in found if row["differs"] is not None]
    if not compared:
        return f"{many(lost, 'lost shoe')} with this on record: too few to say what differs, so only the figures stand."
    apart = [_said(row) for row in compared if row["differs"]]
    if not apart:
        return f"Of {many(len(compared), 'thing')} compared none lies further apart than chance often sets it."
    return f"Worth a look, of {many(len(compared), 'thing')} compared: {'; '.join(apart)}."


def _said(row: Row) -> str:
    name, _ = FIT[row["fit_measure"]]
    end = "" if row["fit_measure"].startswith("hind_") else f"{row['end']} shoes, "
    return f"{end}{name[0].lower()}{name[1:]}, {_value(row, 'lost')} lost and {_value(row, 'kept')} kept"


def _fit_numbers(caption: str, found: list[Row]) -> Numbers:
    lines = [
        (
            FIT[row["fit_measure"]][0],
            _value(row, "lost"),
            _value(row, "kept"),
            f"{whole(row['lost_shoes'])} and {whole(row['kept_shoes'])}",
            "Worth a look" if row["differs"] else "",
        )
        for row in found
    ]
    heads = ("What", "Lost", "Kept", "Shoes", "Differs *")
    faint = [place for place, row in enumerate(found) if row["lost_shoes"] < FEWEST_LOST]
    return table(f"{caption}: mean, or share, of lost beside kept", heads, lines, faint)


def _value(row: Row, side: str) -> str:
    value, unit = row[f"{side}_figure"], FIT[row["fit_measure"]][1]
    if value is None:
        return "–"
    return percent(value) if unit == "%" else f"{figure(value)}{unit}"


def _lacks(horse: _Horse) -> Section | None:
    found = [row for row in horse.gaps if row["column_name"] in GAPS]
    if not found:
        return None
    place = list(GAPS).index
    found.sort(key=lambda row: place(row["column_name"]))
    few = [row for row in found if row["filled"] < FULL_ENOUGH * row["rows"]]
    lines = [
        (_thing(row), percent(row["filled"] / row["rows"]), f"{whole(row['filled'])} of {_rows(row)}") for row in found
    ]
    return Section(
        "What does its record lack?",
        _lacks_answer(few),
        numbers=(Numbers("How far its record is filled", columns("What", "Filled", "Counted *"), lines),),
        notes=(_looked(horse.row),),
    )


def _lacks_answer(few: list[Row]) -> str:
    if not few:
        return f"Little: everything read here is filled in {percent(FULL_ENOUGH)} of its rows or more."
    told = [f"{_thing(row).lower()} (in {whole(row['filled'])} of {_rows(row)})" for row in few]
    return f"Often blank: {listed(told)}."


def _thing(row: Row) -> str:
    return GAPS[row["column_name"]][:1].upper() + GAPS[row["column_name"]][1:]


def _rows(row: Row) -> str:
    if row["column_name"] in NAILED:
        return many(row["rows"], "shoe nailed on", "shoes nailed on")
    return many(row["rows"], *COUNTED[row["table_name"]])


def _looked(row: Row) -> str:
    if not row["feet_looked"]:
        return "None of its feet was looked at for a bruise."
    return (
        f"Bruises: seen at {whole(row['bruised_looks'])} of {many(row['feet_looked'], 'look')}; "
        f"{whole(row['feet_at_visits'] - row['feet_looked'])} times a foot was not looked at."
    )
