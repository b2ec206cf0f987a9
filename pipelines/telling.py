"""What a command says when it is done: text for a person, from data; plain wherever it is read."""

from collections.abc import Sequence
from pathlib import Path
from typing import TextIO

import polars as pl

from pipelines.build import Outcome

MOST_ROWS_TOLD = 100
UNREAD = ("column_not_read", "file_not_read", "row_not_read", "header_not_found", "word_not_found", "column_not_found", "horse_not_found")


def tell_publish(outcome: Outcome, site: Path, out: TextIO) -> None:
    """Say what a run took in, and where the pages are."""
    out.write(_account(outcome))
    out.write(f"Read as of {outcome.as_of}. {len(outcome.pages)} pages written; open {site / 'index.html'}\n")
    if outcome.rows_set_aside:
        out.write("`shoeing check` with the same files says which rows were set aside, and why.\n")
    elif outcome.warnings.height:
        doubts = _many(outcome.warnings.height, "doubt")
        out.write(f"{doubts}: `shoeing check` with the same files names what to look at and what was left unread.\n")


def tell_check(outcome: Outcome, out: TextIO, written: Sequence[Path] = ()) -> None:
    """Say what each sheet was taken for, what was changed on the way in, what would be set aside and why."""
    for one in outcome.taken:
        out.write(f"{one.line()}\n")
    out.write("\n" + _account(outcome))
    out.write(f"Read as of {outcome.as_of}. Nothing was changed.\n")
    _tell_changes(out, outcome.changes)
    unread = pl.col("rule").is_in(UNREAD)
    _tell_findings(out, "Set aside", outcome.set_aside)
    _tell_findings(out, "Accepted, but look at", outcome.warnings.filter(~unread))
    _tell_findings(out, "Left unread", outcome.warnings.filter(unread))
    if outcome.rows_set_aside and not written:
        out.write("\n--report FILE.xlsx writes the rows set aside there, to be mended and sent in again.\n")
    for path in written:
        out.write(f"\nWritten: {path}\n")


def _tell_changes(out: TextIO, changes: pl.DataFrame) -> None:
    if changes.is_empty():
        return
    out.write("\nUnderstood on the way in:\n")
    kinds = changes.group_by("change", maintain_order=True).agg(
        pl.col("cells").sum(), pl.col("column_name", "found", "taken").first()
    )
    for row in kinds.sort("cells", descending=True).iter_rows(named=True):
        taken = f"as {row['taken']}" if row["taken"] else "as not filled in"
        out.write(
            f'  {row["change"]}: {_many(row["cells"], "cell")}, like {row["column_name"]} "{row["found"]}" {taken}\n'
        )


def _account(outcome: Outcome) -> str:
    if outcome.counts.is_empty():
        return ""
    names = {"rows_read": "read", "rows_new": "new", "rows_changed": "changed"}
    names |= {"rows_unchanged": "unchanged", "rows_set_aside": "set aside"}
    lines = [f"{'':8}" + "".join(f"{title:>11}" for title in names.values())]
    for row in outcome.counts.iter_rows(named=True):
        lines.append(f"{row['table_name']:8}" + "".join(f"{row[name]:>11,}" for name in names))
    return "\n".join(lines) + "\n"


def _many(count: int, what: str) -> str:
    return f"{count:,} {what}" + ("" if count == 1 else "s")


def _by_rule(findings: pl.DataFrame) -> str:
    """How many rows each rule found, most first, under the names the ledger knows; "" where there is but one rule."""
    counts = findings.group_by("rule").agg(pl.struct("source_file", "source_row").n_unique().alias("rows"))
    if counts.height < 2:
        return ""
    named = [f"{rule} {rows:,}" for rule, rows in counts.sort("rows", "rule", descending=[True, False]).rows()]
    return f" ({', '.join(named)})"


def _tell_findings(out: TextIO, title: str, findings: pl.DataFrame) -> None:
    if findings.is_empty():
        return
    rows = findings.select("source_file", "source_row").unique(maintain_order=True)
    out.write(f"\n{title}: {_many(rows.height, 'row')}{_by_rule(findings)}\n")
    shown = findings.join(rows.head(MOST_ROWS_TOLD), on=["source_file", "source_row"], maintain_order="left")
    for row in shown.iter_rows(named=True):
        out.write(f"  {row['source_file']} row {row['source_row']}: {row['reason']}\n")
    if rows.height > MOST_ROWS_TOLD:
        out.write(f"  … and {rows.height - MOST_ROWS_TOLD:,} more rows; --report FILE.xlsx writes them all\n")
