"""Files that help to mend an export: the rows set aside, to be mended and sent in again, and a draft layout file."""

import csv
import io
import json
from collections.abc import Collection, Mapping, Sequence
from datetime import UTC, date, datetime
from pathlib import Path

import polars as pl

from pipelines.build import Outcome
from pipelines.intake.drafting import draft
from pipelines.intake.export import outline
from pipelines.intake.headers import DOUBTS_HEADER, ORIGIN_HEADER, REASONS_HEADER, TABLE_HEADER
from pipelines.intake.practice import Practice, read_practice
from pipelines.intake.spellings import Habits, read
from pipelines.next_steps import free_name
from schemas.exports import EXPORT_TABLES
from schemas.fields import MEANINGS
from schemas.ledger import Findings
from schemas.problem import Problem

TO_FILL_IN = ("horse_name", "yard", "visit_date", "foot", "arrival", "work", "visit_kind", "discipline", "found_off")
"""What a row cannot do without: these stand in a report even where all of its rows leave them blank."""
DAYS = ("visit_date", "found_off", "last_seen_on", "changed_on")
SOME_DAY = datetime(2020, 1, 1, tzinfo=UTC)
"""The day a workbook says it was made on: always the same, so that the same rows make the same file."""
DECLARED = list(dict.fromkeys(column for table in EXPORT_TABLES.values() for column in table.columns()))


def write_report(
    set_aside: pl.DataFrame,
    report: Path,
    exports: Sequence[Path] = (),
    doubts: pl.DataFrame | None = None,
    habits: Mapping[str, Habits] | None = None,
) -> None:
    """Every row set aside, whole, with the place it stood in and all its reasons in the two last columns.

    A .xlsx holds a sheet a table, and one that names each row accepted with a doubt; a .csv holds all tables, the
    table's name in its first column. Mended and sent in again, each row goes to its table; the two last columns and
    the doubts are passed over. habits: how each source writes its days: a day that could be read stands in the report
    as 2026-03-05, since the rows that told which way round it was may not stand there. Never over a file that says
    anything else: it may hold what was mended.
    """
    kind = report.suffix.lower()
    if kind not in (".csv", ".xlsx"):
        raise Problem(f"--report writes a .csv or .xlsx file, not {report.name}")
    if report.resolve() in [path.resolve() for path in exports]:
        raise Problem(f"{report} is a file of the export itself: name another, so that no record is lost")
    if report.resolve().parent in [path.resolve() for path in exports]:
        raise Problem(
            f"{report} stands in the folder of the export itself, where it would be read as records the next time: "
            f"name a file outside it, like {free_name(report, exports)}"
        )
    tables = {
        name: rows
        for name, table in EXPORT_TABLES.items()
        if (rows := _rows(set_aside.filter(table_name=name), habits or {}, table.required())).height
    }
    data = _workbook(tables, doubts) if kind == ".xlsx" else _text(tables)
    try:
        if report.exists() and report.read_bytes() not in (b"", data):
            raise Problem(
                f"{report} is there already and may hold what you mended: name a new file, like "
                f"{free_name(report, exports)}"
            )
        report.write_bytes(data)
    except OSError as error:
        raise Problem(f"cannot write {report}: {error.strerror}") from error


def write_outline(exports: Sequence[Path], path: Path, layout: Path | None = None) -> None:
    """A draft of a layout file for an export that cannot be read yet, from its headers alone, as `write_layout`."""
    _write(draft(outline(exports), Findings.empty(), _practice(layout)), path)


def write_layout(outcome: Outcome, path: Path, layout: Path | None = None) -> None:
    """A commented draft of a layout file from what was understood and what was not. Never over a file that is there.

    layout: the layout file the export was read with; all of it stands in the draft as well.
    """
    _write(draft(outcome.taken, pl.concat([outcome.set_aside, outcome.warnings]), _practice(layout)), path)


def _practice(layout: Path | None) -> Practice | None:
    return read_practice(layout) if layout is not None else None


def _write(text: str, path: Path) -> None:
    if path.exists():
        raise Problem(f"{path} is there already: name a new file, so that nothing written by hand is lost")
    try:
        path.write_text(text, encoding="utf-8")
    except OSError as error:
        raise Problem(f"cannot write {path}: {error.strerror}") from error


def _rows(findings: pl.DataFrame, habits: Mapping[str, Habits], needed: Collection[str] = ()) -> pl.DataFrame:
    """One row a row set aside: its cells as they were found, but for days; its place and its reasons."""
    rows = findings.group_by("source_file", "source_row", "row_json", maintain_order=True).agg("reason")
    cells = [
        _with_days(json.loads(text), habits.get(source))
        | {ORIGIN_HEADER: f"{source} row {row}", REASONS_HEADER: "; ".join(why)}
        for source, row, text, why in rows.rows()
    ]
    names = {name for row in cells for name, text in row.items() if text is not None or name in TO_FILL_IN}
    names |= {name for name in needed if name in TO_FILL_IN}
    if "same_key_twice" in findings["rule"]:  # where they are two, a code for each tells them apart
        names |= {name for name in needed if name in ("horse_id", "visit_id")}
    declared = [name for name in DECLARED if name in names]
    others = sorted(names - {*declared, ORIGIN_HEADER, REASONS_HEADER})
    columns = [*declared, *others, ORIGIN_HEADER, REASONS_HEADER]
    return pl.DataFrame(
        [{name: row.get(name) for name in columns} for row in cells], schema=dict.fromkeys(columns, pl.String)
    )


def _with_days(row: dict[str, str | None], habits: Habits | None) -> dict[str, str | None]:
    """The row with each of its days that could be read written year first, which can mean nothing else."""
    if habits is None:
        return row
    days = {name: read(row[name], name, MEANINGS[name], habits).value for name in DAYS if row.get(name)}
    return row | {name: day.isoformat() for name, day in days.items() if isinstance(day, date)}


def _text(tables: dict[str, pl.DataFrame]) -> bytes:
    parts = [rows.select(pl.lit(name).alias(TABLE_HEADER), pl.all()) for name, rows in tables.items()]
    last = [ORIGIN_HEADER, REASONS_HEADER]
    whole = pl.concat(parts, how="diagonal") if parts else pl.DataFrame(schema=[TABLE_HEADER, *last])
    whole = whole.select(pl.exclude(last), *last)
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow(whole.columns)
    writer.writerows(whole.rows())
    return text.getvalue().encode("utf-8-sig")


def _workbook(tables: dict[str, pl.DataFrame], doubts: pl.DataFrame | None) -> bytes:
    import xlsxwriter

    sheets = tables or {"nothing set aside": pl.DataFrame()}
    if doubts is not None and doubts.height:
        sheets = {**sheets, "to look at": _named(doubts)}
    data = io.BytesIO()
    with xlsxwriter.Workbook(data, {"strings_to_formulas": False, "strings_to_numbers": False}) as book:
        book.set_properties({"created": SOME_DAY})
        for name, rows in sheets.items():
            sheet = book.add_worksheet(name)
            for at, line in enumerate([rows.columns, *rows.rows()]):
                sheet.write_row(at, 0, line)
    return data.getvalue()


def _named(doubts: pl.DataFrame) -> pl.DataFrame:
    """Where each doubt is and what it is: two columns of text, so that no row of them can be taken for headers."""
    where = pl.concat_str("source_file", pl.lit(" row "), "source_row")
    return doubts.select(where.alias("where"), pl.col("reason").alias(DOUBTS_HEADER))
