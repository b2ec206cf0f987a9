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
from reports.wording import BLANK, day, figure, from_to, level_name, many, percent, percent_span, span

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
    """A whole summary, ready for its templates. none: what is said of a list that holds nothing."""

    name: str
    vet: str
    as_of: date
    facts: tuple[tuple[str, str], ...]
    recalls: tuple[str, ...]
    reading: str
    spread: str
    none: str
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
        none=f"none since {day(cover['since'])}" if cover["since"] else "none on record",
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
    period = from_to(day(first), day(last)) if first else "no visit in the time asked for"
    return (
        ("For", cover["vet_practice"]),
        ("Visits", f"{many(cover['visits'], 'visit')}, {period}"),
        ("Holds", _holds(cover) or "the whole record"),
        ("Read as of", day(cover["as_of"])),
        ("Horses", f"{many(cover['horses'], 'horse')}, each with its owner's consent on that day"),
        ("Questions to", cover["contact"] or "the sender of this summary, who gave no name or number to print here"),
    )


def _holds(cover: dict[str, Any]) -> str:
    """What a summary that begins on a day holds; blank where it holds the whole record."""
    return f"nothing before {day(cover['since'])} but the shoes on the feet now" if cover["since"] else ""


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
        f" The error of one reading is {figure(cover['angle_sd_deg'])}° (standard deviation, told to a tenth): what "
        "growth leaves unexplained between leaving and the next arrival, over all horses."
    )


def _horse(row: dict[str, Any], rows: dict[str, Rows], cover: dict[str, Any], peers: Rows) -> Horse:
    days = (cover["first_day"] or cover["as_of"], cover["as_of"])
    since = f"Since {day(cover['since'])}: " if cover["since"] else ""
    tables = of_horse.tables(rows, cover["as_of"])
    bruises = bruise_map(rows["bruise_looks"])
    return Horse(
        number=row["horse_no"],
        name=row["horse_name"],
        facts=(*_identity(row), *([("Holds", _holds(cover))] if cover["since"] else [])),
        asks=tuple(_ask(ask) for ask in rows["asks"]),
        said={
            "shoes": _shoes_said(row, peers, since),
            "changes": left_out_said(rows["changes"]),
            "bruises": _bruises_said(row, rows["bruise_looks"], peers, since),
            "gaps": of_horse.gaps_said(rows["gaps"], since),
            "visits": of_horse.visits_said(rows["visits"], since),
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


def _shoes_said(row: dict[str, Any], peers: Rows, since: str) -> str:
    if not row["shoes"]:
        return f"{since}no shoe was on." if since else "No shoe is on record."
    lost = f"{since}{many(row['losses'], 'shoe')} lost of {row['shoes']} {'that were on' if since else 'nailed on'}"
    rate = f"{figure(row['per_1000_days'], 2)} per 1,000 shoe-days"
    limits = span(row["per_1000_low"], row["per_1000_high"], 2)
    return f"{lost}, {rate} ({limits}). {beside(peers, 'lost_shoes', row['discipline'])}"


def _bruises_said(row: dict[str, Any], looks: Rows, peers: Rows, since: str) -> str:
    if not row["looks"]:
        missed = f"{many(row['not_looked'], 'chance')} to look passed by"
        return f"{since}{'no' if since else 'No'} foot was looked at for bruises; {missed}."
    return (
        f"{since}{'bruised' if since else 'Bruised'} in {row['bruised']} of {many(row['looks'], 'look')}, "
        f"{percent(row['bruised_share'])} ({percent_span(row['bruised_low'], row['bruised_high'])})"
        f"{_found_again(looks)}. Not looked at: {many(row['not_looked'], 'time')}, which is not the same as clear. "
        f"{beside(peers, 'bruised_looks', row['discipline'])}"
    )


def _found_again(looks: Rows) -> str:
    """How often a bruise was found at the next look too; of the same site only where both looks told theirs."""
    again = [look["same_site_again"] for look in looks if look["again"]]
    told = [same for same in again if same is not None]
    if not again:
        return ""
    if not told:
        where = "the site not told"
    elif len(told) == len(again):
        where = f"{sum(told)} of them at the same site"
    else:
        where = f"at the same site in {sum(told)} of the {many(len(told), 'time')} that the site was told"
    return f"; found again at the next look {many(len(again), 'time')}, {where}"
