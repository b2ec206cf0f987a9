"""Sheets → the tables: which tables a sheet feeds, and which of its columns is which."""

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass, field

import polars as pl

from pipelines.intake.folding import OWN_KEY, folded
from pipelines.intake.headers import ORIGIN_HEADER, REASONS_HEADER, Meant, normal
from pipelines.intake.roles import Role, refuse_lacking, role_of
from pipelines.intake.sheet import BEYOND, EXPORT, FILE, HIDDEN, RAGGED, ROW, SOURCE, SURPLUS, TOLD_ON, Sheet, cell
from pipelines.intake.side_sheets import is_no_table, why_left_out
from pipelines.intake.told import MOST_NAMED, Told
from pipelines.intake.totals import records
from pipelines.intake.units import with_units
from pipelines.intake.untold import marked
from schemas import words
from schemas.exports import EXPORT_TABLES, REQUIRED_TABLES
from schemas.problem import Problem
from schemas.synonyms import plain

KEYS_OF_A_HORSE = ("horse_id", "horse_name", "yard")
KEYS_OF_A_VISIT = (*KEYS_OF_A_HORSE, "visit_date", "farrier")
LENT = {
    "visits": KEYS_OF_A_HORSE[1:],
    "losses": KEYS_OF_A_HORSE[1:],
    "feet": KEYS_OF_A_VISIT,
    "horses": (),
    "changes": KEYS_OF_A_HORSE[1:],
}
"""Columns of other tables that help to find a table's keys where it has none of its own."""
OF_A_FOOT = ("horse_id", "foot")


@dataclass
class Laid:
    """The rows of each table as text under the declared names, other columns under their own headers, and META.

    unread: (table, source, row, header) of columns and, with an empty header, whole sheets not understood.
    left_out: (source, row, why) of rows that are no records: totals, headers written again. sheets_left: the same of
    whole sheets beside the records.
    taken: how each sheet was understood. rows: how many records each file holds, by its name.
    """

    tables: dict[str, pl.DataFrame] = field(default_factory=dict)
    unread: list[tuple[str, str, int, str]] = field(default_factory=list)
    left_out: list[tuple[str, int, str]] = field(default_factory=list)
    sheets_left: list[tuple[str, int, str]] = field(default_factory=list)
    taken: list[Told] = field(default_factory=list)
    rows: dict[str, int] = field(default_factory=lambda: defaultdict(int))


def lay_out(
    sheets: list[Sheet],
    named: dict[str, str],
    given: set[str],
    may_lack_tables: bool,
    telling: Collection[str] = (),
    units: dict[str, str] | None = None,
    in_store: bool = False,
) -> Laid:
    """The tables, pieces of one table put together in order of arrival.

    named: a practice's own headers, plain, and the declared columns they stand for. given: columns that it gives a
    default. may_lack_tables: whether the rest is in the store already. telling: columns of horses that tell apart two
    of one name. units: the unit of a column's bare numbers, by column. in_store: whether the store holds horses.
    Raises Problem where a table or column that must be there is missing, or a column stands twice in one sheet.
    """
    laid, pieces = Laid(), defaultdict(list)
    roles = _roles(sheets, named, given, may_lack_tables)
    whole = [(sheet.export, role) for sheet, role in roles if role and not role.lacks_its_own]
    told = {(export, table) for export, role in whole for table in set(role.tables) - set(role.lacking)}
    # A year on another sheet with one row a foot tells its own visits and not those of this one.
    of_visits = {(export, "visits") for export, role in whole if role.primary == "visits"}
    for sheet, role in roles:
        if role is None:
            _not_understood(sheet, laid)
            continue
        if role.lacks_its_own:
            _left_out(sheet, role, {table for export, table in told if export == sheet.export}, may_lack_tables, laid)
            continue
        role = _told_elsewhere(sheet, role, told - {(sheet.export, "visits")} | of_visits)
        cells, left_out = records(sheet, role)
        laid.left_out += left_out
        body = with_units(sheet, role, cells, units or {})
        laid.rows[sheet.file] += body.height
        for table, piece in _pieces(sheet, role, body, telling).items():
            pieces[table].append(piece)
        laid.taken.append(_told(sheet, role, body, laid, {said for said, column in named.items() if not column}))
    if not may_lack_tables:
        naming = [sheet.source for sheet, role in roles if role and _names_horses(role)]
        _refuse_missing_tables(pieces, sheets, naming, in_store)
    for table in EXPORT_TABLES:
        found = pieces.get(table, [])
        laid.tables[table] = pl.concat(found, how="diagonal") if found else _no_rows()
    return laid


def _roles(
    sheets: list[Sheet], named: dict[str, str], given: set[str], may_lack_tables: bool
) -> list[tuple[Sheet, Role | None]]:
    """Each sheet with its role. A default tells the horses of an export only where none of its sheets does, nor the
    store: a sheet of visits is none of horses.
    """
    roles = [(sheet, role_of(sheet, named, given) if sheet.header else None) for sheet in sheets]
    if may_lack_tables or "discipline" not in given:
        return roles
    telling = {sheet.export for sheet, role in roles if role and "horses" in set(role.tables) - set(role.lacking)}
    return [
        (sheet, role if role is None or sheet.export in telling else role_of(sheet, named, given, by_default=True))
        for sheet, role in roles
    ]


def _left_out(sheet: Sheet, role: Role, others: set[str], may_lack_tables: bool, laid: Laid) -> None:
    """Note a sheet beside the records that is no table. Raises Problem where it may be one and lacks a column.

    others: tables that other sheets of its export tell in full.
    """
    complete = bool(others) and (may_lack_tables or others >= set(REQUIRED_TABLES))
    if not complete or not is_no_table(sheet, role, others):
        refuse_lacking(sheet, role.says, role.columns, role.lacking)
    laid.sheets_left.append((sheet.source, sheet.header_row, why_left_out(sheet, role)))


def _told_elsewhere(sheet: Sheet, role: Role, told: set[tuple[int, str]]) -> Role:
    """A table folded in without all it needs is left to the sheets of the same export that tell it in full."""
    lacking = {table: found for table, found in role.lacking.items() if (sheet.export, table) not in told}
    if lacking:
        refuse_lacking(sheet, role.says, role.columns, lacking)
    return role.without(set(role.lacking)) if role.lacking else role


def _not_understood(sheet: Sheet, laid: Laid) -> None:
    if not sheet.header and plain(sheet.name).startswith(REQUIRED_TABLES):
        raise Problem(f"{sheet.source} is empty: it needs at least a row of headers")
    if sheet.header:
        laid.unread.append(("", sheet.source, sheet.header_row, ""))
    elif not plain(sheet.name).startswith(tuple(EXPORT_TABLES)):  # a practice may have no losses to tell
        laid.sheets_left.append((sheet.source, sheet.header_row, f"{sheet.source} is empty and was left unread"))


def _pieces(sheet: Sheet, role: Role, body: pl.DataFrame, telling: Collection[str]) -> dict[str, pl.DataFrame]:
    """The rows of each table that a sheet feeds, as text."""
    meta = [
        *(pl.col(name) for name in (ROW, RAGGED) if name in body.columns),
        *([pl.col(SURPLUS).alias(BEYOND)] if SURPLUS in body.columns else []),
    ]
    whence = (
        pl.lit(sheet.export, pl.Int64).alias(EXPORT),
        pl.lit(sheet.file).alias(FILE),
        pl.lit(sheet.source).alias(SOURCE),
    )
    pieces = {}
    for table in role.tables:
        own = _columns_of(table, role, telling)
        if table == "feet" and role.by_groups:
            piece = _feet_of_groups(role, body, own, meta)
        elif table == role.primary:
            piece = body.select(*own, *_unknown(sheet, role), *meta)
        elif table == "losses":
            piece = _losses_of_feet(body.select(*own, *meta))
        else:
            piece = folded(body.select(*own, *meta), table)
        pieces[table] = marked(piece, table).with_columns(whence)
    return pieces


def _columns_of(table: str, role: Role, telling: Collection[str]) -> list[pl.Expr]:
    """The table's own columns of a sheet, and those of others that help to find its keys."""
    own = {
        meant.column: at for at, meant in enumerate(role.columns) if meant and not meant.foot and meant.table == table
    }
    taken = [pl.col(cell(at)).alias(column) for column, at in own.items()]
    shared = {meant.column: at for at, meant in enumerate(role.columns) if meant and not meant.foot}
    key = OWN_KEY[table]
    if key in shared and key not in own:
        taken.append(pl.col(cell(shared[key])).alias(key))
    if table == "losses" and role.primary == "feet":
        taken.append(pl.col(cell(shared["foot"])).alias("foot"))
    if table in ("visits", "losses") and "horse_id" in shared and "horse_id" not in own:
        taken.append(pl.col(cell(shared["horse_id"])).alias("horse_id"))
    if table == "horses" and "visit_date" in shared:
        taken.append(pl.col(cell(shared["visit_date"])).alias(TOLD_ON))
    helpful = [*LENT[table], *(telling if LENT[table] else ())]
    lent = [column for column in helpful if column in shared and column not in own and column != key]
    return taken + [pl.col(cell(shared[column])).alias(HIDDEN + column) for column in lent]


def _unknown(sheet: Sheet, role: Role) -> list[pl.Expr]:
    """Columns that mean nothing here are kept beside the row, under their own header, for the ledger."""
    used = set(EXPORT_TABLES[role.primary].columns())
    names = []
    for at, meant in enumerate(role.columns):
        if meant is None and not _means_nothing(sheet, at):
            names.append((at, _own_name(sheet.header, at, used)))
    return [pl.col(cell(at)).alias(name) for at, name in names]


def _own_name(header: list[str], at: int, used: set[str]) -> str:
    """The header as written; with its position where it is blank, stands twice or looks like one of ours."""
    own = header[at]
    if own and not own.startswith("@") and header.count(own) == 1 and own != BEYOND and own not in used:
        return own
    return f"{own} (column {at + 1})".strip()


def _means_nothing(sheet: Sheet, at: int) -> bool:
    """A column without a cell, or with the places or reasons of an earlier report of rows set aside."""
    return _blank(sheet.cells[cell(at)]) or normal(sheet.header[at]) in (REASONS_HEADER, ORIGIN_HEADER)


def _blank(column: pl.Series) -> bool:
    return column.null_count() == len(column) or not (column.str.strip_chars().fill_null("") != "").any()


def _feet_of_groups(role: Role, body: pl.DataFrame, keys: list[pl.Expr], meta: list[pl.Expr]) -> pl.DataFrame:
    """One row a foot from one row a visit; a foot of which nothing is written was not looked at and gives no row."""
    pieces = []
    for foot in words.FEET:
        group = {meant.column: at for at, meant in enumerate(role.columns) if meant and meant.foot == foot}
        if group:
            written = pl.any_horizontal(pl.col(cell(at)).str.strip_chars().fill_null("") != "" for at in group.values())
            columns = [pl.col(cell(at)).alias(column) for column, at in group.items()]
            pieces.append(body.filter(written).select(*columns, pl.lit(foot).alias("foot"), *keys, *meta))
    return pl.concat(pieces, how="diagonal").sort(ROW, maintain_order=True)


def _losses_of_feet(piece: pl.DataFrame) -> pl.DataFrame:
    """One row a loss from one row a foot: those on which anything of a loss is written."""
    told = [name for name in EXPORT_TABLES["losses"].columns() if name in piece.columns and name not in OF_A_FOOT]
    piece = piece.filter(pl.any_horizontal(pl.col(name).str.strip_chars().fill_null("") != "" for name in told))
    if RAGGED in piece.columns:  # such a line is named once, where it belongs
        piece = piece.filter(pl.col(RAGGED).is_null()).drop(RAGGED, BEYOND, strict=False)
    return piece


def _told(sheet: Sheet, role: Role, body: pl.DataFrame, laid: Laid, ignored: Collection[str]) -> Told:
    unknown = []
    for at, meant in enumerate(role.columns):
        if meant is None and not _means_nothing(sheet, at) and plain(sheet.header[at]) not in ignored:
            name = _own_name(sheet.header, at, set())
            unknown.append(name)
            laid.unread.append((role.primary, sheet.source, sheet.header_row, name))
    understood = sum(meant is not None for meant in role.columns)
    read_as = [(header, meant) for header, meant in zip(sheet.header, role.columns, strict=True) if meant]
    others = tuple(_other_names(read_as))
    return Told(sheet.source, role.says, body.height, understood, tuple(unknown), others, role.settled)


def _other_names(read_as: list[tuple[str, Meant]]) -> list[tuple[str, str]]:
    """Headers that are not the declared names, with the column each was taken for."""
    return [
        (header, f"{meant.foot} {meant.column}" if meant.foot else meant.column)
        for header, meant in read_as
        if header != meant.column
    ]


def _names_horses(role: Role) -> bool:
    return any(meant and meant.column == "horse_name" for meant in role.columns)


def _refuse_missing_tables(
    pieces: dict[str, list], sheets: list[Sheet], naming_horses: list[str], in_store: bool
) -> None:
    """in_store: whether the store holds horses, to which a file may add; a folder is taken for a whole export."""
    lacking = [table for table in REQUIRED_TABLES if table not in pieces]
    way_in = "give the file itself and not its folder" if in_store else "name that store with --store"
    if lacking == ["horses"] and naming_horses:
        raise Problem(
            f"{naming_horses[0]} names its horses and no sheet tells of them: if your store holds them already, "
            f"{way_in}; if not, add a sheet of horses or a column Discipline, or say in a layout file which header it "
            "is (shoeing check --write-layout)"
        )
    if lacking:
        found = "; ".join(map(_headed, sheets)) or "no sheet with a header"
        rest = f"if your store holds the rest already, {way_in}; if not, " if pieces else ""
        raise Problem(
            f"no file or sheet holds {' or '.join(lacking)} (found: {found}): {rest}add one, or say in a layout file "
            "which header is which column (shoeing check --write-layout)"
        )


def _headed(sheet: Sheet) -> str:
    named = [header for header in sheet.header if header]
    more = ", …" if len(named) > MOST_NAMED else ""
    return f"{sheet.source} with {', '.join(named[:MOST_NAMED])}{more}" if named else sheet.source


def _no_rows() -> pl.DataFrame:
    return pl.DataFrame(schema={EXPORT: pl.Int64, FILE: pl.String, SOURCE: pl.String, ROW: pl.Int64})
