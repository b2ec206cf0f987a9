"""The tables of a summary put in the words of its pages. Nothing here computes an estimate."""

from dataclasses import dataclass
from datetime import date
from typing import Any

import polars as pl

from reports.page import Numbers
from reports.share import reading_lines, shoe_lines
from reports.share import tables_of_horse as of_horse
from reports.share.bruise_map import bruise_map
from reports.share.groups import Group, beside, groups
from reports.share.lines_of_horse import lines
from reports.share.shoe_changes import left_out_said
from reports.wording import BLANK, day, figure, level_name, many, percent, percent_span, span

Rows = list[dict[str, Any]]


@dataclass(frozen=True)
class Horse:
    """One horse's page. facts: label and value; said: sentences with figures; pictures: SVG; tables: by name.

    sheet, lists: the pictures and the tables as paper has them, which is wider and wants sentences.
    """

    number: int
    name: str
    facts: tuple[tuple[str, str], ...]
    asks: tuple[str, ...]
    said: dict[str, str]
    pictures: dict[str, str]
    tables: dict[str, Numbers]
    sheet: dict[str, str]
    lists: dict[str, list[str]]

    @property
    def anchor(self) -> str:
        """The id of its sheet: a number, never a name."""
        return f"horse-{self.number}"

    @property
    def file(self) -> str:
        """The page's file name."""
        return f"{self.anchor}.html"


@dataclass(frozen=True)
class Summary:
    """A whole summary, ready for its templates."""

    name: str
    vet: str
    as_of: date
    facts: tuple[tuple[str, str], ...]
    recalls: tuple[str, ...]
    reading: str
    spread: str
    horses: tuple[Horse, ...]
    peers: tuple[Group, ...]


def summary_of(tables: dict[str, pl.DataFrame]) -> Summary:
    """tables: every table of `schemas.shared`, by name."""
    cover = tables["cover"].to_dicts()[0]
    horses = tables["horses"].to_dicts()
    peers = tables["peers"].to_dicts()
    rows = {name: _by_horse(tables[name]) for name in of_horse.NAMES}
    return Summary(
        name=cover["summary"],
        vet=cover["vet_practice"],
        as_of=cover["as_of"],
        facts=_cover_facts(cover),
        recalls=tuple(
            f"{row['summary']}, made on {day(row['shared_on'])} (manifest SHA-256 {row['sha256'][:16]}…)"
            for row in tables["recalls"].to_dicts()
        ),
        reading=_reading(cover),
        spread=_spread(cover),
        horses=tuple(
            _horse(row, {name: part.get(row["horse_no"], []) for name, part in rows.items()}, cover, peers)
            for row in horses
        ),
        peers=groups(peers, sorted({row["discipline"] for row in horses})),
    )


def _by_horse(table: pl.DataFrame) -> dict[int, Rows]:
    found: dict[int, Rows] = {}
    for row in table.to_dicts():
        found.setdefault(row["horse_no"], []).append(row)
    return found


def _cover_facts(cover: dict[str, Any]) -> tuple[tuple[str, str], ...]:
    first, last = cover["first_day"], cover["last_day"]
    period = f"{day(first)} to {day(last)}" if first else "no visit in the time asked for"
    return (
        ("For", cover["vet_practice"]),
        ("Visits", f"{many(cover['visits'], 'visit')}, {period}"),
        ("Holds", "the whole record" if cover["since"] is None else f"nothing before {day(cover['since'])}"),
        ("Read as of", day(cover["as_of"])),
        ("Horses", f"{many(cover['horses'], 'horse')}, each with its owner's consent on that day"),
        ("Questions to", cover["contact"] or "the sender of this summary, who gave no name or number to print here"),
    )


def _reading(cover: dict[str, Any]) -> str:
    if cover["angle_sd_deg"] is None:
        return "How far one angle reading can be trusted is not known here: it would rest on too few."
    return (
        f"One angle reading is good to about ±{figure(1.96 * cover['angle_sd_deg'])}°; between two readings at the "
        f"same stage a change under {figure(cover['least_change_deg'])}° can't be told from error."
    )


def _spread(cover: dict[str, Any]) -> str:
    if cover["angle_sd_deg"] is None:
        return ""
    return (
        f" That is the standard deviation of readings of all horses about each foot's own line, "
        f"{figure(cover['angle_sd_deg'])}°, told to a tenth."
    )


def _horse(row: dict[str, Any], rows: dict[str, Rows], cover: dict[str, Any], peers: Rows) -> Horse:
    days = (cover["first_day"] or cover["as_of"], cover["as_of"])
    tables = of_horse.tables(rows, cover["as_of"])
    bruises = bruise_map(rows["bruise_looks"])
    return Horse(
        number=row["horse_no"],
        name=row["horse_name"],
        facts=_identity(row),
        asks=tuple(_ask(ask) for ask in rows["asks"]),
        said={
            "shoes": _shoes_said(row, peers),
            "changes": left_out_said(rows["changes"]),
            "bruises": _bruises_said(row, rows["bruise_looks"], peers),
            "gaps": of_horse.gaps_said(rows["gaps"]),
            "visits": of_horse.visits_said(rows["visits"]),
        },
        pictures=_in_time(rows, days, cover, shoe_lines.PAGE, reading_lines.PAGE) | {"bruises": bruises},
        tables=tables,
        sheet=_in_time(rows, days, cover, shoe_lines.PAPER, reading_lines.PAPER) | {"bruises": bruises},
        lists=lines(rows, tables["now"]),
    )


def _in_time(
    rows: dict[str, Rows],
    days: tuple[date, date],
    cover: dict[str, Any],
    of_shoes: shoe_lines.Shape,
    of_readings: reading_lines.Shape,
) -> dict[str, str]:
    readings, error = rows["readings"], cover["angle_sd_deg"]
    return {
        "shoes": shoe_lines.shoe_lines(rows["shoes"], rows["losses"], days, of_shoes),
        "angles": reading_lines.reading_lines(readings, "angle_deg", days, error, of_readings),
        "toes": reading_lines.reading_lines(readings, "toe_mm", days, None, of_readings),
    }


def _identity(row: dict[str, Any]) -> tuple[tuple[str, str], ...]:
    seen = row["looks"] + row["not_looked"]
    return (
        ("Microchip", row["microchip"] or BLANK),
        ("Life number", row["ueln"] or BLANK),
        ("Foaled", str(row["foaled_year"] or BLANK)),
        ("Work", level_name("discipline", row["discipline"])),
        ("Visits", str(row["visits"])),
        ("Feet not looked at", f"{row['not_looked']} of {seen}"),
    )


def _ask(ask: dict[str, Any]) -> str:
    when = f"{day(ask['asked_on'])}: " if ask["asked_on"] else ""
    where = f"{level_name('foot', ask['foot'])}. " if ask["foot"] else ""
    return f"{when}{where}{ask['question']}"


def _shoes_said(row: dict[str, Any], peers: Rows) -> str:
    if not row["shoes"]:
        return "No shoe is on record in this time."
    lost = f"{many(row['losses'], 'shoe')} lost of {row['shoes']} nailed on"
    rate = f"{figure(row['per_1000_days'], 2)} per 1,000 shoe-days"
    limits = span(row["per_1000_low"], row["per_1000_high"], 2)
    return f"{lost}, {rate} ({limits}). {beside(peers, 'lost_shoes', row['discipline'])}"


def _bruises_said(row: dict[str, Any], looks: Rows, peers: Rows) -> str:
    if not row["looks"]:
        return f"No foot was looked at for bruises; {many(row['not_looked'], 'chance')} to look passed by."
    again = sum(bool(look["again"]) for look in looks)
    same = sum(bool(look["same_site_again"]) for look in looks)
    repeats = f"; found again at the next look {many(again, 'time')}, {same} of them at the same site" if again else ""
    return (
        f"Bruised in {row['bruised']} of {many(row['looks'], 'look')}, {percent(row['bruised_share'])} "
        f"({percent_span(row['bruised_low'], row['bruised_high'])}){repeats}. Not looked at: "
        f"{many(row['not_looked'], 'time')}, which is not the same as clear. "
        f"{beside(peers, 'bruised_looks', row['discipline'])}"
    )
