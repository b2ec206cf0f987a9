"""The page of one horse: shoes in time, losses beside peers, fit, angles, bruises, and what its record lacks."""

from collections.abc import Iterator
from dataclasses import dataclass, field

import polars as pl

from reports.charts.horse_shoes import horse_shoes
from reports.page import Numbers, Page, Section, columns
from reports.pages.horse_angles import angles_of_horse
from reports.pages.horse_bruises import bruises_of_horse
from reports.pages.horse_changes import tried
from reports.pages.horse_fit import fit, hinds
from reports.pages.horse_gaps import lacks
from reports.pages.horse_intervals import intervals_of_horse
from reports.pages.horse_peers import peers
from reports.pages.interval_guide import guide_of_horse
from reports.picking import Results, Row, known, labelled, rows
from reports.wording import (
    FOOT_NAMES,
    day,
    figure,
    from_to,
    level_name,
    listed,
    many,
    plain,
    whole,
)
from schemas.records import About


def horse_file(page_no: int) -> str:
    """The file of a horse's page: a number, never a name."""
    return f"horse-{page_no}.html"


def horse_files(results: Results) -> dict[str, str]:
    """horse_id → the file of the horse’s page."""
    return {row["horse_id"]: horse_file(row["page_no"]) for row in rows(results, "horse_list")}


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
    angles: list[Row] = field(default_factory=list)
    pair_gaps: list[Row] = field(default_factory=list)
    drifts: list[Row] = field(default_factory=list)
    changes: list[Row] = field(default_factory=list)
    bruises: list[Row] = field(default_factory=list)
    tried: list[Row] = field(default_factory=list)
    rounds: list[Row] = field(default_factory=list)
    intervals: list[Row] = field(default_factory=list)
    lateness: list[Row] = field(default_factory=list)
    due: list[Row] = field(default_factory=list)
    error_known: bool = False


# Where the rows of a horse’s own come from.
OWN = {
    "shoes": "horse_shoes",
    "visits": "horse_visits",
    "fit": "horse_fit",
    "gaps": "horse_gaps",
    "angles": "horse_angles",
    "pair_gaps": "angle_gaps",
    "drifts": "horse_angle_drift",
    "changes": "angle_changes",
    "bruises": "horse_bruises",
    "tried": "changes_tried",
    "rounds": "horse_rounds",
    "intervals": "horse_intervals",
    "lateness": "lateness_trend",
    "due": "due_list",
}


OF_A_HORSE = (*OWN.values(), "angle_precision", "interval_guide", "horse_losses", "horse_list")
"""Every result table that a page of a horse is made of."""


def horse_pages(results: Results, about: About, first: int = 0, step: int = 1) -> Iterator[Page]:
    """One page a horse on record, in the order of their numbers, each made when it is asked for.

    first, step: of all pages the one at the place `first`, and every `step`th from there.
    """
    own = {name: _by_horse(results.get(table)) for name, table in OWN.items()}
    guide = results.get("interval_guide")
    own["guide"] = _by_horse(None if guide is None else guide.filter(dimension="horse"), "level")
    losses = {row["horse_id"]: row for row in rows(results, "horse_losses")}
    error_known = bool(known(rows(results, "angle_precision"), "error_sd_deg"))
    for row in labelled(sorted(rows(results, "horse_list"), key=lambda row: row["page_no"]))[first::step]:
        key = row["horse_id"]
        found = {name: parts[key].to_dicts() if key in parts else [] for name, parts in own.items()}
        yield _page(_Horse(row, losses.get(key), error_known=error_known, **found), about)


def _by_horse(frame: pl.DataFrame | None, column: str = "horse_id") -> dict[str, pl.DataFrame]:
    """Each horse's part of a table. Parts become rows one horse at a time: those of all at once would fill memory."""
    if frame is None or frame.is_empty():
        return {}
    parts = frame.partition_by(column, maintain_order=True)
    return {part[column][0]: part for part in parts}


def _page(horse: _Horse, about: About) -> Page:
    made = [
        _shoes(horse, about),
        peers(horse.losses),
        fit(horse.fit),
        hinds(horse.fit),
        tried(horse.tried),
        intervals_of_horse(horse.rounds, horse.intervals, horse.lateness, horse.due, about.as_of),
        guide_of_horse(horse.guide),
        angles_of_horse(horse.angles, horse.pair_gaps, horse.drifts, horse.changes, about.as_of, horse.error_known),
        bruises_of_horse(horse.bruises),
        lacks(horse.gaps, horse.row),
    ]
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
    days = from_to(day(row["first_visit_on"]), day(row["last_visit_on"]))
    return f"{work}{yard}. {many(row['visits'], 'visit')} on record, {days}."


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
