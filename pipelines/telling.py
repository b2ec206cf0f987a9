"""What a command says when it is done: text for a person, from data; plain wherever it is read."""

import csv
from io import StringIO
from pathlib import Path
from typing import TextIO

import polars as pl

from pipelines.build import Outcome
from schemas.problem import Problem

MOST_ROWS_TOLD = 40


def tell_publish(outcome: Outcome, site: Path, out: TextIO) -> None:
    """Say what a run took in, and where the pages are."""
    out.write(_account(outcome))
    out.write(f"Read as of {outcome.as_of}. {len(outcome.pages)} pages written; open {site / 'index.html'}\n")
    if outcome.rows_set_aside:
        out.write("`shoeing check` with the same files says which rows were set aside, and why.\n")


def tell_check(outcome: Outcome, out: TextIO, report: Path | None = None) -> None:
    """Say what would be taken, what would be set aside and why, and which rows raise a doubt."""
    out.write(_account(outcome))
    out.write(f"Read as of {outcome.as_of}. Nothing was changed.\n")
    _tell_findings(out, "Set aside", outcome.set_aside)
    _tell_findings(out, "Accepted, but look at", outcome.warnings)
    if report is not None:
        out.write(f"\nEvery row set aside, with its reasons: {report}\n")


def write_report(outcome: Outcome, report: Path) -> None:
    """Write each reason for a row set aside as one line of a CSV file, the row itself last."""
    if report.suffix.lower() != ".csv":
        raise Problem(f"--report writes a .csv file, not {report.name}")
    text = StringIO()
    writer = csv.writer(text)
    writer.writerow(outcome.set_aside.columns)
    writer.writerows(outcome.set_aside.rows())
    try:
        report.write_text(text.getvalue(), encoding="utf-8", newline="")
    except OSError as error:
        raise Problem(f"cannot write {report}: {error.strerror}") from error


def _account(outcome: Outcome) -> str:
    if outcome.counts.is_empty():
        return ""
    names = {"rows_read": "read", "rows_new": "new", "rows_changed": "changed"}
    names |= {"rows_unchanged": "unchanged", "rows_set_aside": "set aside"}
    lines = [f"{'':8}" + "".join(f"{title:>11}" for title in names.values())]
    for row in outcome.counts.iter_rows(named=True):
        lines.append(f"{row['table_name']:8}" + "".join(f"{row[name]:>11,}" for name in names))
    return "\n".join(lines) + "\n"


def _tell_findings(out: TextIO, title: str, findings: pl.DataFrame) -> None:
    if findings.is_empty():
        return
    rows = findings.select("source_file", "source_row").unique(maintain_order=True)
    out.write(f"\n{title}: {rows.height:,} {'row' if rows.height == 1 else 'rows'}\n")
    shown = findings.join(rows.head(MOST_ROWS_TOLD), on=["source_file", "source_row"], maintain_order="left")
    for row in shown.iter_rows(named=True):
        out.write(f"  {row['source_file']} row {row['source_row']}: {row['reason']}\n")
    if rows.height > MOST_ROWS_TOLD:
        out.write(f"  … and {rows.height - MOST_ROWS_TOLD:,} more rows; --report FILE.csv writes them all\n")
