"""One or more exports → every row accounted for: accepted, collapsed or set aside with all its reasons."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from pathlib import Path

import numpy as np
import polars as pl

from pipelines.intake import checking, keys, told_again, untold
from pipelines.intake.headers import Meant, may_mean
from pipelines.intake.identify import identify, in_several_yards
from pipelines.intake.layout import Laid, lay_out
from pipelines.intake.no_records import without_notes
from pipelines.intake.orders import settle, years_taken_last
from pipelines.intake.own_words import headers_of
from pipelines.intake.practice import Practice, read_practice
from pipelines.intake.reading import ReadFile, Source, find_files, read_file
from pipelines.intake.reports import apart
from pipelines.intake.roles import role_of
from pipelines.intake.rows import Rows, as_accepted, as_findings, mask_of
from pipelines.intake.rules import foaled_after
from pipelines.intake.sheet import ROW, SOURCE, Sheet
from pipelines.intake.spellings import Habits
from pipelines.intake.told import NOT_READ, Told
from pipelines.intake.twice_a_day import two_that_may_be_one
from pipelines.intake.units import stated
from pipelines.intake.unmet import unmet
from pipelines.intake.wording import Read, read_cells
from pipelines.intake.wording_marks import decimal_commas
from schemas.base import TableError
from schemas.exports import EXPORT_TABLES, SELDOM
from schemas.ledger import Findings
from schemas.problem import Problem
from schemas.records import Known, Records
from schemas.synonyms import plain

Lines = dict[str, list[pl.DataFrame]]
BESIDE_AN_EXPORT = ("README.md", "README.txt", "true_effects.json")
"""Files that stand beside the tables of an export without being one; passed over in silence."""


@dataclass(frozen=True)
class Verdict:
    """lines: what was found on the rows of each table; aside: the rows set aside for it; as_of: the day it holds."""

    lines: Lines
    aside: dict[str, np.ndarray]
    as_of: date


def read_export(
    paths: Sequence[Path],
    known: Known,
    as_of: date | None,
    today: date,
    *,
    dates: str | None = None,
    layout: Path | None = None,
) -> Records:
    """Read and check exports, in order of arrival: where two say different things of one key, the later holds.

    paths: folders, workbooks or single files. known: what the store holds already. as_of: the day to read the record
    as of; None is the last date on record. today: no later date is accepted. dates: day-first or month-first, where
    the files do not tell. layout: a practice's own layout file. Rows that break a rule are set aside with every
    reason; raises Problem where the exports cannot be read at all.
    """
    if as_of and as_of > today:
        raise Problem(f"--as-of {as_of} is after today, {today}: give today or an earlier day")
    practice = read_practice(layout) if layout else Practice()
    sources, left = find_files(paths)
    files = [read_file(source) for source in sources]
    _refuse_empty(files)
    may_lack = bool(len(known.horse_ids)) and all(path.is_file() for path in map(Path, paths))
    there = [part for file in files for sheet in file.sheets for part in apart(sheet)]
    sheets = [sheet for sheet in there if not practice.leaves_out(sheet.name, sheet.source, sheet.file)]
    sheets, noted = without_notes(sheets)
    laid = lay_out(
        sheets, practice.headers, set(practice.defaults), may_lack, set(practice.apart.values()), practice.units,
        bool(len(known.horse_ids)),
    )  # fmt: skip
    laid.left_out += noted
    habits = Habits(None, (as_of or today).year, practice.words)
    by_file = settle(laid.tables, dates or practice.dates, habits)
    by_file |= {source.called: habits for source in sources if source.called not in by_file}
    tables = {name: untold.with_defaults(part, name, practice.defaults) for name, part in laid.tables.items()}
    tables = identify(tables, by_file, practice.same, practice.apart, known.horses)
    commas, told_units = cache(lambda: decimal_commas(tables)), stated(laid.taken)
    read = {name: read_cells(tables[name], EXPORT_TABLES[name], by_file, habits, commas, told_units) for name in tables}
    rows = {name: _rows(name, part) for name, part in read.items()}
    headers = headers_of(laid.taken)
    mistaken = as_findings(rows["horses"], checking.no_disciplines(rows["horses"]), headers)
    agreed = {name: told_again.agree(untold.without_defaults(part)) for name, part in rows.items()}
    rows = {name: part for name, (part, _) in agreed.items()}
    rows["horses"], later = told_again.latest(rows["horses"], lambda: _told_on(rows))
    rows = {name: untold.defaults_again(part, read[name].typed) for name, part in rows.items()}
    rows["horses"], others = checking.taken_as_other(rows["horses"])
    verdict = _judge(rows, known, as_of, today)
    doubts = {name: checking.doubts(rows[name]) for name in rows}
    aside = {name: pl.Series(mask) for name, mask in verdict.aside.items()}
    doubts["visits"] += two_that_may_be_one(rows["visits"], rows["feet"], aside)
    moved = in_several_yards(laid.tables["horses"], tables["horses"], practice.apart)
    met = checking.yard_for_one_without(rows["horses"], known.horses)
    doubts["horses"] = [*others, *checking.one_name_two_yards(rows["horses"], moved), *met, *doubts["horses"]]
    settled = {name: lines for name, (_, lines) in agreed.items()}
    settled["horses"] = [*settled["horses"], *later]
    years = years_taken_last(laid.tables, dates or practice.dates, habits.latest_year)
    unread = [*_unread(laid, left, practice), *years, mistaken, *unmet(practice, there, laid.tables, known.horse_ids)]
    records = _records(rows, verdict, doubts, settled, unread, _files(files, laid), headers)
    by_source = {sheet.source: by_file[sheet.file] for sheet in sheets if sheet.file in by_file}
    return replace(records, taken=tuple(laid.taken), changes=_changes(read), habits=by_source)


def _refuse_empty(files: list[ReadFile]) -> None:
    """Raise Problem for an export in which nothing is written, most likely a file that was never saved whole.

    Beside others of its export an empty file is left unread and named, and one of losses may be empty in earnest.
    """
    written = {file.source.export for file in files if any(sheet.header for sheet in file.sheets)}
    empty = [file.source.called for file in files if file.source.export not in written]
    if empty:
        what = f"{empty[0]} is empty" if len(empty) == 1 else f"{', '.join(empty)} are empty"
        raise Problem(f"{what}: there is nothing in it to read; save your records again, or leave it out")


def outline(paths: Sequence[Path]) -> list[Told]:
    """What the headers of an export may mean, where it cannot be read yet: for a draft of a layout file."""
    sheets = [sheet for source in find_files(paths)[0] for sheet in read_file(source).sheets if sheet.header]
    return [_outlined(sheet) for sheet in sheets]


def _outlined(sheet: Sheet) -> Told:
    """Each header as the sheet would be read with it, else as it may be meant."""
    columns = _columns_of(sheet)
    first = [(header, meant) for header, meant in zip(sheet.header, columns, strict=True) if header]
    known = [
        (header, f"{meant.foot} {meant.column}" if meant.foot else meant.column) for header, meant in first if meant
    ]
    unknown = tuple(header for header, meant in first if meant is None)
    return Told(sheet.source, NOT_READ, sheet.cells.height, len(known), unknown, tuple(known))


def _columns_of(sheet: Sheet) -> list[Meant | None]:
    try:
        role = role_of(sheet, {}, set())
    except Problem:
        role = None
    if role is None:
        return [may_mean(header) for header in sheet.header]
    others = [may_mean(header) for header in sheet.header]
    return [
        meant or (other if other and other.table in role.tables else None)
        for meant, other in zip(role.columns, others, strict=True)
    ]


def _rows(name: str, read: Read) -> Rows:
    return Rows(name, read.texts, read.typed, read.unread, read.whys, read.doubts)


def _told_on(rows: dict[str, Rows]) -> pl.DataFrame:
    """SOURCE, ROW and the day of the visit that each row of a sheet of visits or feet is about."""
    days = rows["visits"].typed.select("visit_id", pl.col("visit_date").alias("day"))
    placed = [
        part.texts.select(SOURCE, ROW).with_columns(part.typed["visit_id"]) for part in (rows["visits"], rows["feet"])
    ]
    days = days.drop_nulls().unique("visit_id", keep="first", maintain_order=True)
    told = pl.concat(placed).join(days, on="visit_id").select(SOURCE, ROW, "day")
    return told.unique([SOURCE, ROW], keep="first", maintain_order=True)


def _changes(read: dict[str, Read]) -> pl.DataFrame:
    """What was changed on the way in, by table, column and kind, with an example each."""
    parts = [part.changes.select(pl.lit(name).alias("table_name"), pl.all()) for name, part in read.items()]
    return pl.concat(parts)


def _judge(rows: dict[str, Rows], known: Known, as_of: date | None, today: date) -> Verdict:
    """Rows by themselves, then twice the same key, then across tables; without an as-of date, the last day accepted.

    A horse's year of birth is held against the as-of date, which itself comes from the rows accepted: judged again
    until both agree. Each round sets the same rows aside or more, so the day can only move back and it ends.
    """
    next_step = "today: mend the day, or send the row in again once that day has come"
    because = "the day the record is read as of" if as_of else next_step
    own: Lines = {name: checking.own_faults(part) for name, part in rows.items()}
    for name, part in rows.items():
        own[name] += checking.dated_after(part, as_of or today, because)
        own[name] += keys.same_key_twice(part, own[name])
    verdict = _across(rows, own, known, as_of or today)
    while as_of is None:
        last = _last_day(rows, verdict, known) or today
        if last == verdict.as_of or not _any_foaled_after(rows["horses"], last):
            return Verdict(verdict.lines, verdict.aside, last)
        verdict = _across(rows, own, known, last)
    return verdict


def _any_foaled_after(horses: Rows, day: date) -> bool:
    youngest = horses.typed["foaled_year"].max()
    return youngest is not None and youngest > day.year


def _across(rows: dict[str, Rows], own: Lines, known: Known, as_of: date) -> Verdict:
    """The rows' own faults and those of the rows they belong to."""
    lines = {name: list(found) for name, found in own.items()}
    too_young = checking.broken(rows["horses"], [foaled_after(as_of.year)], rows["horses"].ragged())
    lines["horses"] += [line for line in too_young if line.height]
    aside = {name: mask_of(rows[name], found) for name, found in lines.items()}
    ids = {"horses": known.horse_ids, "visits": known.visit_ids}
    for link in keys.LINKS:
        parent = rows[link.parent]
        at_fault = mask_of(parent, checking.at_fault(lines[link.parent]))
        lost = keys.orphans(link, rows[link.table], parent, aside[link.parent], ids[link.parent], at_fault)
        lines[link.table] += lost
        aside[link.table] |= mask_of(rows[link.table], lost)
    return Verdict(lines, aside, as_of)


def _last_day(rows: dict[str, Rows], verdict: Verdict, known: Known) -> date | None:
    """The latest visit or loss accepted now or before."""
    dated = {name: checking.DATED[name] for name in checking.OF_THE_RECORD}
    days = [rows[name].typed[day].filter(pl.Series(~verdict.aside[name])).max() for name, day in dated.items()]
    return max((day for day in [*days, known.last_date] if day is not None), default=None)


def _records(
    rows: dict[str, Rows],
    verdict: Verdict,
    doubts: Lines,
    settled: Lines,
    unread: list[pl.DataFrame],
    files: pl.DataFrame,
    headers: pl.DataFrame,
) -> Records:
    """doubts: of rows in force. settled: of rows that are copies of one in force, once a cell was read as theirs."""
    merged = {name: untold.told_so_far(part, verdict.aside[name]) for name, part in rows.items()}
    kept = {name: keys.in_force(part, verdict.aside[name], merged[name][0].typed) for name, part in rows.items()}
    again = {name: int(told_again.times(part).sum()) - part.height for name, part in rows.items()}
    for name in rows:
        doubts[name] = [_of_kept(line, kept[name].keep) for line in doubts[name]]
        doubts[name] += [_of_kept(line, pl.Series(~verdict.aside[name])) for line in settled[name]]
    there = [name for name in rows if rows[name].height or name not in SELDOM]
    records = Records(
        as_of=verdict.as_of,
        tables={name: as_accepted(merged[name][0], kept[name].keep) for name in there},
        rows_read={name: rows[name].height + again[name] for name in there},
        collapsed={name: int((~verdict.aside[name]).sum() - kept[name].keep.sum()) + again[name] for name in there},
        set_aside=pl.concat([as_findings(rows[name], verdict.lines[name], headers) for name in rows]),
        warnings=pl.concat([*unread, *(as_findings(rows[name], doubts[name], headers) for name in rows)]),
        files=files,
        untold={name: merged[name][1].filter(kept[name].keep) for name in there if merged[name][1] is not None},
        superseded={name: as_accepted(part, kept[name].overtaken) for name, part in rows.items()},
    )
    _refuse_lost_rows(records, {name: int(verdict.aside[name].sum()) for name in rows})
    return records


def _of_kept(line: pl.DataFrame, keep: pl.Series) -> pl.DataFrame:
    return line.filter(keep.gather(line["@at"]))


def _refuse_lost_rows(records: Records, aside: dict[str, int]) -> None:
    """Every row read is accepted under a key, collapsed or set aside: anything else is a bug of ours."""
    for name, part in records.tables.items():
        if part.select(pl.any_horizontal(pl.col(EXPORT_TABLES[name].key()).has_nulls()).any()).item():
            raise TableError(f"{name}: a row without a key was accepted")
    for name, read in records.rows_read.items():
        accounted = records.tables[name].height + records.collapsed[name] + aside[name]
        if accounted != read:
            raise TableError(f"{name}: {read} rows read, {accounted} accounted for")


def _files(files: list[ReadFile], laid: Laid) -> pl.DataFrame:
    """`ledger.LoadFiles` without the load's number: each file with the number of its rows that are records."""
    lines = [(file.source.called, file.sha256, laid.rows.get(file.source.called, 0)) for file in files]
    return pl.DataFrame(lines, schema={"file_name": pl.String, "sha256": pl.String, "rows": pl.Int64}, orient="row")


def _unread(laid: Laid, left: list[Source], practice: Practice) -> list[pl.DataFrame]:
    """A finding for each column, sheet and file that was left unread."""
    lines = [_of_sheet(*left_out) for left_out in laid.sheets_left]
    lines += [_of_whole_file(*unread, practice.headers.get(plain(unread[-1]), "")) for unread in laid.unread]
    lines += [_of_whole_file("", source.called, 1, "") for source in left if source.path.name not in BESIDE_AN_EXPORT]
    lines += [_of_whole_row(*noted) for noted in laid.left_out]
    return [pl.DataFrame(lines, schema=Findings.dtypes(), orient="row")] if lines else []


def _of_whole_row(source: str, row: int, why: str) -> tuple:
    return "none", source, row, "row_not_read", None, None, f"{why}: left out", "{}"


def _of_sheet(source: str, row: int, why: str) -> tuple:
    return "none", source, max(row, 1), "file_not_read", None, None, why, "{}"


def _of_whole_file(table: str, source: str, row: int, header: str, named: str = "") -> tuple:
    """named: the column that a layout file says the header is, of another table than the sheet tells."""
    row = max(row, 1)
    if header:
        homes = [name for name, own in EXPORT_TABLES.items() if named.split(" ")[-1] in own.columns()]
        belongs = f": {named} belongs to {' or '.join(homes)}" if homes else ""
        reason = f'column "{header}" is none of the columns of {table} and was left unread{belongs}'
        return table, source, row, "column_not_read", header, None, reason, "{}"
    reason = f"{source} is none of {', '.join(EXPORT_TABLES)} and was left unread"
    return "none", source, row, "file_not_read", None, None, reason, "{}"
