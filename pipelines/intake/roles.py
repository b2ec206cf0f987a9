"""What a sheet is: the tables it feeds, and the declared column each of its columns stands for."""

from collections.abc import Iterable
from typing import NamedTuple

from pipelines.intake.headers import ALSO, DECLARED, REASONS_HEADER, Meant, foot_and_rest, meanings_of, normal
from pipelines.intake.sheet import Sheet, cell
from pipelines.intake.spellings import Habits, read
from pipelines.intake.told import MOST_NAMED
from schemas import words
from schemas.exports import EXPORT_TABLES, SELDOM
from schemas.fields import MEANINGS
from schemas.problem import Problem
from schemas.synonyms import plain

CELLS_TRIED = 40
MOSTLY = 2
BY_NAME = {
    "horses": ("horse", "animal", "client"),
    "visits": ("visit", "call"),
    "feet": ("feet", "foot", "hoof", "hooves"),
    "losses": ("loss", "lost", "pulled", "cast"),
    "changes": ("change", "tried"),
}
ORDER = {
    "feet": ("feet", "visits", "horses", "losses"),
    "visits": ("visits", "horses"),
    "losses": ("losses", "horses"),
    "horses": ("horses",),
    "changes": ("changes", "horses"),
}
SAYS = {
    "feet": "one row a foot",
    "visits": "one row a visit",
    "losses": "one row a lost shoe",
    "horses": "one row a horse",
    "changes": "one row a change that was tried",
}
NEEDED = {
    "horses": ("horse_name", "discipline"),
    "visits": ("visit_date", "visit_kind"),
    "feet": ("foot", "arrival", "work"),
    "losses": ("foot", "found_off"),
    "changes": ("foot", "changed_on", "what"),
}
HORSE = ("horse_id", "horse_name")
WHICH_SHOE = ("shoe", "which shoe", "shoe lost", "lost shoe")
LENT = (*HORSE, "yard", "visit_date", "farrier", "visit_id")
"""Columns that help to find another table's keys, though no row of their own table is made."""


class Role(NamedTuple):
    """primary: the table whose rows the sheet's rows are. tables: all it feeds. columns: by position, None not known.

    by_groups: one row a visit with a group of columns for each foot. canonical: every header is a declared name.
    lacking: by table, the columns it needs and has not: a table folded in can then only be told by another sheet.
    settled: headers that could mean several columns, with the one each was taken for.
    """

    primary: str
    tables: tuple[str, ...]
    columns: tuple[Meant | None, ...]
    by_groups: bool
    canonical: bool
    says: str
    lacking: dict[str, list[str]]
    settled: tuple[tuple[str, str], ...]

    @property
    def lacks_its_own(self) -> bool:
        """Whether the sheet lacks what its very rows need, so that nothing can be read from it."""
        return self.primary in self.lacking or (self.by_groups and "feet" in self.lacking)

    def without(self, tables: set[str]) -> "Role":
        """The role where these tables are told by sheets of their own: their columns here only help to find keys."""
        left = tuple(table for table in self.tables if table not in tables)
        columns = tuple(meant if meant and _is_used(meant, left) else None for meant in self.columns)
        return self._replace(tables=left, columns=columns, says=_says(self.primary, self.by_groups, left))


def role_of(sheet: Sheet, named: dict[str, str], given: set[str], by_default: bool = False) -> Role | None:
    """The role of a sheet, None where its headers are those of no table.

    named: a practice's own headers, plain, and the declared columns they stand for. given: columns it gives a default.
    by_default: whether horses may be told by their names and a default alone, as nothing else tells them.
    Raises Problem where a column stands twice.
    """
    options = [_options(header, named) for header in sheet.header]
    if _by_name(sheet.name) == "losses":
        options = [_which_shoe(sheet, at, named) or found for at, found in enumerate(options)]
    primary, by_groups = _primary(sheet, options)
    if primary is None:
        return None
    context = ("visits", "feet", "horses") if by_groups else ORDER[primary]
    columns = _assigned(sheet, options, context, by_groups)
    tables = _tables(primary, by_groups, columns, given if by_default else set())
    if primary == "feet" and _tells_losses(sheet, columns):
        tables = (*tables, "losses")
    if any(normal(header) == REASONS_HEADER for header in sheet.header):
        tables = (primary,)  # rows that came back from a report: each table stands apart there
    lacking = {table: found for table in tables if (found := _lacking(table, primary, columns, given))}
    kept = tuple(meant if meant and _is_used(meant, tables) else None for meant in columns)
    canonical = all(
        meant is not None and header == meant.column for header, meant in zip(sheet.header, kept, strict=True)
    )
    settled = tuple(
        (header, meant.column)
        for header, meant in zip(sheet.header, kept, strict=True)
        if meant and normal(header) != plain(meant.column) and len(_columns_it_may_be(header)) > 1
    )
    return Role(primary, tables, kept, by_groups, canonical, _says(primary, by_groups, tables), lacking, settled)


def _columns_it_may_be(header: str) -> set[str]:
    """Of the tables that every practice keeps."""
    return {meant.column for meant in meanings_of(header) if meant.table not in SELDOM}


def _options(header: str, named: dict[str, str]) -> tuple[Meant, ...]:
    said = normal(header)
    own = named.get(said, named.get(plain(header)))
    if own == "":
        return ()
    for foot, rest in foot_and_rest(said) if named else ():
        column = own if own in EXPORT_TABLES["feet"].columns() else named.get(rest)
        if column:
            return (Meant("feet", column, DECLARED, foot),)
    if own is not None:
        return tuple(meant._replace(rank=DECLARED) for meant in meanings_of(own))
    return meanings_of(header)


def _primary(sheet: Sheet, options: list[tuple[Meant, ...]]) -> tuple[str | None, bool]:
    groups = {meant.foot for found in options for meant in found if meant.foot}
    if len(groups) >= 2 or (groups and not any(meant.column == "foot" for found in options for meant in found)):
        return "visits", True
    may = {
        table: {meant.column for found in options for meant in found if meant.table == table} for table in EXPORT_TABLES
    }
    by_name = _by_name(sheet.name)
    if by_name and (may[by_name] >= set(NEEDED[by_name]) or _exactly_named(sheet.name)):
        return by_name, False
    horse = any(column in may["horses"] | may["visits"] | may["losses"] for column in HORSE)
    if by_name == "losses" and horse and _tells_a_loss_or_a_part(may):
        return "losses", False
    if "foot" in may["feet"] and {"arrival", "work"} & may["feet"] and not _only_a_loss(may):
        return "feet", False
    if "foot" in may["losses"] and "found_off" in may["losses"] and horse:
        return "losses", False
    if {"foot", "changed_on", "what"} <= may["changes"] and horse and not {"arrival", "work"} & may["feet"]:
        return "changes", False
    if "visit_date" in may["visits"] and horse and len(may["visits"]) > 2:
        return "visits", False
    return ("horses", False) if may["horses"] >= set(NEEDED["horses"]) else (None, False)


def _which_shoe(sheet: Sheet, at: int, named: dict[str, str]) -> tuple[Meant, ...]:
    """On a sheet of lost shoes "Shoe" is the foot it came off, where its cells are feet."""
    said, of_foot = normal(sheet.header[at]), Meant("losses", "foot", ALSO)
    if said not in WHICH_SHOE or said in named:
        return ()
    texts = sheet.cells[cell(at)].drop_nulls().unique(maintain_order=True).head(CELLS_TRIED)
    written = [text for text in texts if text.strip()]
    return (of_foot,) if written and readable(written, of_foot) > 0.5 else ()


def _tells_a_loss_or_a_part(may: dict[str, set[str]]) -> bool:
    """Whether a sheet named after lost shoes says of what foot, or on which day, and nothing of a visit."""
    visited = {"arrival", "work"} & may["feet"] or {"visit_kind", "visit_date"} <= may["visits"]
    return bool({"foot", "found_off"} & may["losses"]) and not visited


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
    """One column for each header, no column twice: what its cells can be read as comes first, then the closer name."""
    choices = [_in_context(found, context, by_groups) for found in options]
    wishes = [
        (-fit, meant.rank, at, meant)
        for at, found in enumerate(choices)
        for fit, meant in zip(_fits(sheet, at, found), found, strict=True)
    ]
    taken: dict[tuple[str, str | None], int] = {}
    columns: list[Meant | None] = [None] * len(choices)
    for unfit, _, at, meant in sorted(wishes, key=lambda wish: wish[:3]):
        place = (meant.column, meant.foot)
        if columns[at] is None and place not in taken and (unfit or len(choices[at]) == 1):
            taken[place], columns[at] = at, meant
    for at, found in enumerate(choices):
        closest = found[0] if found and columns[at] is None else None
        other = closest and taken.get((closest.column, closest.foot))
        if closest and other is None:
            taken[closest.column, closest.foot], columns[at] = at, closest
        elif closest and columns[other].rank == closest.rank:
            _refuse_twice(sheet, *sorted((other, at)), closest)
    return columns


def _in_context(found: tuple[Meant, ...], context: tuple[str, ...], by_groups: bool) -> tuple[Meant, ...]:
    """What a header may mean among the tables at hand; feet's columns only in groups where the sheet has groups."""
    inside = [m for m in found if m.table in context and (m.foot is not None) == (by_groups and m.table == "feet")]
    inside.sort(key=lambda meant: (meant.rank, context.index(meant.table)))
    first: dict[str, Meant] = {}
    for meant in inside:
        first.setdefault(meant.column, meant)
    return tuple(first.values())


def _fits(sheet: Sheet, at: int, found: tuple[Meant, ...]) -> list[int]:
    """How well the cells of a column read as each of its meanings: 2 mostly, 1 some (or none written), 0 hardly."""
    if len(found) < 2:
        return [MOSTLY] * len(found)
    texts = sheet.cells[cell(at)].drop_nulls().head(500).unique(maintain_order=True).head(CELLS_TRIED).to_list()
    written = [text for text in texts if text.strip()]
    if not written:
        return [1] * len(found)
    shares = [readable(written, meant) for meant in found]
    return [MOSTLY if share > 0.7 else int(share > 0.2) for share in shares]


def readable(texts: list[str], meant: Meant) -> float:
    """The share of these texts that can be read as cells of a column."""
    meaning = EXPORT_TABLES[meant.table].columns()[meant.column]
    if meaning.kind == "text":
        return 0.5
    readings = [read(text, meant.column, meaning, Habits(day_first=True)) for text in texts]
    return sum(one.value is not None or one.blank for one in readings) / len(readings)


def _refuse_twice(sheet: Sheet, first: int, second: int, meant: Meant) -> None:
    name = f"{meant.foot} {meant.column}" if meant.foot else meant.column
    raise Problem(f"{sheet.source}: columns {first + 1} and {second + 1} are both {name}: keep one of them")


def _tables(primary: str, by_groups: bool, columns: list[Meant | None], given: set[str]) -> tuple[str, ...]:
    """The primary table and those folded into its rows."""
    there = {meant.column for meant in columns if meant and not meant.foot}
    fed = ["visits", "feet"] if by_groups else [primary]
    if primary == "feet" and "visit_date" in there and there & set(HORSE):
        fed.append("visits")
    if primary in ("feet", "visits") and "horse_name" in there and "discipline" in there | given:
        fed.append("horses")
    return tuple(fed)


def _tells_losses(sheet: Sheet, columns: list[Meant | None]) -> bool:
    """Whether a row a foot also says on which day that foot's shoe was found off: then it tells a loss as well."""
    at = next((at for at, meant in enumerate(columns) if meant and meant.column == "found_off"), None)
    if at is None or not {meant.column for meant in columns if meant} & set(HORSE):
        return False
    written = [text.strip().casefold() for text in sheet.cells[cell(at)].drop_nulls().unique() if text.strip()]
    return any(text not in words.YES and text not in words.NO for text in written)


def _is_used(meant: Meant, tables: tuple[str, ...]) -> bool:
    """Whether a column belongs to a table that is fed, or helps to find its keys."""
    return bool(meant.foot) or meant.table in tables or meant.column in LENT


def _lacking(table: str, primary: str, columns: list[Meant | None], given: set[str]) -> list[str]:
    """The columns without which a table cannot be told by a sheet, in the declared order."""
    there = {meant.column for meant in columns if meant} | given
    there |= {"foot"} if any(meant and meant.foot for meant in columns) else set()
    lacking = [column for column in EXPORT_TABLES[table].columns() if column in NEEDED[table] and column not in there]
    if table == primary != "horses" and not there & set(HORSE) and not (primary == "feet" and "visit_id" in there):
        lacking.insert(0, "visit_id" if primary == "feet" else "horse_id")
    elif table == primary == "feet" and not there & {"visit_id", "visit_date"}:
        lacking.insert(0, "visit_date")
    return lacking


def refuse_lacking(sheet: Sheet, says: str, columns: tuple[Meant | None, ...], lacking: dict[str, list[str]]) -> None:
    """Raise Problem: what a sheet was taken for, the columns it lacks and what they mean, the headers left over."""
    places = dict.fromkeys(column for found in lacking.values() for column in found)
    left = [(at, header) for at, (header, meant) in enumerate(zip(sheet.header, columns, strict=True))
            if header and meant is None]  # fmt: skip
    may_be = [f'"{header}"' for at, header in left if _may_be_one_of(sheet, at, places)]
    if not may_be and set(places) - {"visit_kind"}:
        may_be = [f'"{header}"' for _, header in left if not meanings_of(header)]
    over = f", and nothing is understood by {', '.join(may_be[:MOST_NAMED])}" if may_be else ""
    always = ', like visit_kind = "routine" under [defaults]' if "visit_kind" in places else ""
    raise Problem(
        f"{sheet.source} was taken for {says}, but {_missing(columns, places)}{over}: add each column, or say in a "
        f"layout file which header it is, what it always is{always}, or that the sheet is to be left out (shoeing "
        "check --write-layout practice.toml drafts one)"
    )


def _missing(columns: tuple[Meant | None, ...], places: dict[str, str]) -> str:
    """What a sheet lacks: its horse first. A row with a day is about a horse, and only a code could stand for both."""
    there = {meant.column for meant in columns if meant}
    nameless = "horse_id" in places or ("visit_id" in places and "visit_date" in there)
    others = [name for name in places if not nameless or name not in ("horse_id", "visit_id")]
    needed = " or ".join(f"{name} ({_meaning(name)})" for name in others)
    said = [*(["no column names the horse"] if nameless else []), *([f"no column of it is {needed}"] if needed else [])]
    return " and ".join(said)


def _may_be_one_of(sheet: Sheet, at: int, columns: Iterable[str]) -> bool:
    """Whether the cells under a header that is not understood read as one of the columns that are lacking."""
    texts = [text for text in sheet.cells[cell(at)].drop_nulls().head(500).unique().head(CELLS_TRIED) if text.strip()]
    homes = {name: table for table in reversed(EXPORT_TABLES) for name in EXPORT_TABLES[table].columns()}
    return bool(texts) and any(readable(texts, Meant(homes[name], name, DECLARED)) > 0.5 for name in columns)


def _meaning(column: str) -> str:
    text = MEANINGS[column].text.rstrip(".")
    return text[:1].lower() + text[1:]


def _says(primary: str, by_groups: bool, tables: tuple[str, ...]) -> str:
    text = "one row a visit with columns for each foot" if by_groups else SAYS[primary]
    folded = [table for table in tables if table != primary and not (by_groups and table == "feet")]
    *most, last = folded or [""]
    named = f"{', '.join(most)} and {last}" if most else last
    return f"{text}, {named} folded in" if folded else text
