"""What a sheet is: the tables it feeds, and the declared column each of its columns stands for."""

from collections.abc import Iterable
from typing import NamedTuple

from pipelines.intake.headers import ALSO, DECLARED, REASONS_HEADER, Meant, foot_and_rest, meanings_of, normal
from pipelines.intake.sheet import Sheet, cell
from pipelines.intake.spellings import Habits, read
from schemas.exports import EXPORT_TABLES
from schemas.problem import Problem
from schemas.synonyms import plain

CELLS_TRIED = 40
BY_NAME = {
    "horses": ("horse", "animal", "client"),
    "visits": ("visit", "call"),
    "feet": ("feet", "foot", "hoof", "hooves"),
    "losses": ("loss", "lost", "pulled", "cast"),
}
ORDER = {
    "feet": ("feet", "visits", "horses"),
    "visits": ("visits", "horses"),
    "losses": ("losses", "horses"),
    "horses": ("horses",),
}
SAYS = {
    "feet": "one row a foot",
    "visits": "one row a visit",
    "losses": "one row a lost shoe",
    "horses": "one row a horse",
}
NEEDED = {
    "horses": ("horse_name", "discipline"),
    "visits": ("visit_date", "visit_kind"),
    "feet": ("foot", "arrival", "work"),
    "losses": ("foot", "found_off"),
}
HORSE = ("horse_id", "horse_name")
LENT = (*HORSE, "yard", "visit_date", "farrier", "visit_id")
"""Columns that help to find another table's keys, though no row of their own table is made."""


class Role(NamedTuple):
    """primary: the table whose rows the sheet's rows are. tables: all it feeds. columns: by position, None not known.

    by_groups: one row a visit with a group of columns for each foot. canonical: every header is a declared name.
    """

    primary: str
    tables: tuple[str, ...]
    columns: tuple[Meant | None, ...]
    by_groups: bool
    canonical: bool
    says: str


def role_of(sheet: Sheet, named: dict[str, str], given: set[str]) -> Role | None:
    """The role of a sheet, None where its headers are those of no table.

    named: a practice's own headers, plain, and the declared columns they stand for. given: columns it gives a default.
    Raises Problem where the sheet lacks a column which its tables must have, or where a column stands twice.
    """
    options = [_options(header, named) for header in sheet.header]
    primary, by_groups = _primary(sheet, options)
    if primary is None:
        return None
    context = ("visits", "feet", "horses") if by_groups else ORDER[primary]
    columns = _assigned(sheet, options, context, by_groups)
    tables = _tables(primary, by_groups, columns)
    if any(normal(header) == REASONS_HEADER for header in sheet.header):
        tables = (primary,)  # rows that came back from a report: each table stands apart there
    _refuse_missing(sheet, primary, tables, columns, given)
    kept = tuple(meant if meant and _is_used(meant, tables) else None for meant in columns)
    canonical = all(
        meant is not None and header == meant.column for header, meant in zip(sheet.header, kept, strict=True)
    )
    return Role(primary, tables, kept, by_groups, canonical, _says(primary, by_groups, tables))


def _options(header: str, named: dict[str, str]) -> tuple[Meant, ...]:
    said = normal(header)
    own = named.get(said) or named.get(plain(header))
    if own is not None:
        return tuple(meant._replace(rank=DECLARED) for meant in meanings_of(own))
    if named:
        for foot, rest in foot_and_rest(said):
            if rest in named:
                return (Meant("feet", named[rest], DECLARED, foot),)
    return meanings_of(header)


def _primary(sheet: Sheet, options: list[tuple[Meant, ...]]) -> tuple[str | None, bool]:
    groups = {meant.foot for found in options for meant in found if meant.foot}
    if len(groups) >= 2:
        return "visits", True
    may = {
        table: {meant.column for found in options for meant in found if meant.table == table} for table in EXPORT_TABLES
    }
    by_name = _by_name(sheet.name)
    if by_name and (may[by_name] >= set(NEEDED[by_name]) or _exactly_named(sheet.name)):
        return by_name, False
    horse = any(column in may["horses"] | may["visits"] | may["losses"] for column in HORSE)
    if "foot" in may["feet"] and {"arrival", "work"} & may["feet"] and not _only_a_loss(may):
        return "feet", False
    if "foot" in may["losses"] and "found_off" in may["losses"] and horse:
        return "losses", False
    if "visit_date" in may["visits"] and horse and len(may["visits"]) > 2:
        return "visits", False
    return ("horses", False) if may["horses"] >= set(NEEDED["horses"]) else (None, False)


def _only_a_loss(may: dict[str, set[str]]) -> bool:
    """Headers of a loss can look like a foot's: a found-off day and a cause, and no angle, shoe or wall."""
    return {"found_off", "cause"} <= may["losses"] and "work" not in may["feet"]


def _by_name(name: str) -> str | None:
    said = plain(name)
    exact = next((table for table in EXPORT_TABLES if said.startswith(table)), None)
    return exact or next((table for table, starts in BY_NAME.items() if said.startswith(starts)), None)


def _exactly_named(name: str) -> bool:
    return plain(name).startswith(tuple(EXPORT_TABLES))


def _assigned(
    sheet: Sheet, options: list[tuple[Meant, ...]], context: tuple[str, ...], by_groups: bool
) -> list[Meant | None]:
    """One column for each header: the closest that no closer header takes."""
    choices = [_in_context(found, context, by_groups) for found in options]
    choices = [
        _by_cells(sheet, at, found) if len({m.column for m in found}) > 1 else found for at, found in enumerate(choices)
    ]
    taken: dict[tuple[str, str | None], int] = {}
    columns: list[Meant | None] = [None] * len(choices)
    for rank in (DECLARED, 1, ALSO):
        for at, found in enumerate(choices):
            for meant in found:
                place = (meant.column, meant.foot)
                if meant.rank == rank and columns[at] is None:
                    if place in taken and columns[taken[place]].rank == rank:
                        _refuse_twice(sheet, taken[place], at, meant)
                    if place not in taken:
                        taken[place], columns[at] = at, meant
    return columns


def _in_context(found: tuple[Meant, ...], context: tuple[str, ...], by_groups: bool) -> tuple[Meant, ...]:
    """What a header may mean among the tables at hand; feet's columns only in groups where the sheet has groups."""
    inside = [m for m in found if m.table in context and (m.foot is not None) == (by_groups and m.table == "feet")]
    inside.sort(key=lambda meant: (meant.rank, context.index(meant.table)))
    first: dict[str, Meant] = {}
    for meant in inside:
        first.setdefault(meant.column, meant)
    return tuple(first.values())


def _by_cells(sheet: Sheet, at: int, found: tuple[Meant, ...]) -> tuple[Meant, ...]:
    """A header of several meanings, that which most of its cells can be read as first."""
    texts = sheet.cells[cell(at)].drop_nulls().head(500).unique(maintain_order=True).head(CELLS_TRIED).to_list()
    if not texts:
        return found
    return tuple(sorted(found, key=lambda meant: -_readable(texts, meant)))


def _readable(texts: Iterable[str], meant: Meant) -> float:
    meaning = EXPORT_TABLES[meant.table].columns()[meant.column]
    if meaning.kind == "text":
        return 0.5
    readings = [read(text, meant.column, meaning, Habits(day_first=True)) for text in texts if text.strip()]
    return sum(one.value is not None for one in readings) / max(len(readings), 1)


def _refuse_twice(sheet: Sheet, first: int, second: int, meant: Meant) -> None:
    name = f"{meant.foot} {meant.column}" if meant.foot else meant.column
    raise Problem(f"{sheet.source}: columns {first + 1} and {second + 1} are both {name}: keep one of them")


def _tables(primary: str, by_groups: bool, columns: list[Meant | None]) -> tuple[str, ...]:
    """The primary table and those folded into its rows."""
    there = {meant.column for meant in columns if meant and not meant.foot}
    fed = ["visits", "feet"] if by_groups else [primary]
    if primary == "feet" and "visit_date" in there and there & set(HORSE):
        fed.append("visits")
    if primary in ("feet", "visits") and "visits" in fed and {"horse_name", "discipline"} <= there:
        fed.append("horses")
    return tuple(fed)


def _is_used(meant: Meant, tables: tuple[str, ...]) -> bool:
    """Whether a column belongs to a table that is fed, or helps to find its keys."""
    return bool(meant.foot) or meant.table in tables or meant.column in LENT


def _refuse_missing(
    sheet: Sheet, primary: str, tables: tuple[str, ...], columns: list[Meant | None], given: set[str]
) -> None:
    there = {meant.column for meant in columns if meant} | given
    there |= {"foot"} if any(meant and meant.foot for meant in columns) else set()
    need = {column for table in tables for column in NEEDED[table]}
    lacking = [column for table in EXPORT_TABLES for column in EXPORT_TABLES[table].columns() if column in need - there]
    if primary != "horses" and not there & set(HORSE) and not (primary == "feet" and "visit_id" in there):
        lacking.insert(0, "visit_id" if primary == "feet" else "horse_id")
    lacking = list(dict.fromkeys(lacking))
    if lacking:
        noun = "column" if len(lacking) == 1 else "columns"
        raise Problem(
            f"{sheet.source} lacks the {noun} {', '.join(lacking)}, without which {' and '.join(tables)} cannot be "
            "read: "
            "add it, or say in a layout file which header it is or what it always is (shoeing check --write-layout)"
        )


def _says(primary: str, by_groups: bool, tables: tuple[str, ...]) -> str:
    text = "one row a visit with columns for each foot" if by_groups else SAYS[primary]
    folded = [table for table in tables if table != primary and not (by_groups and table == "feet")]
    return f"{text}, {' and '.join(folded)} folded in" if folded else text
