"""What a command says when it is done: text for a person, from data; plain wherever it is read."""

from collections.abc import Iterable
from pathlib import Path
from typing import TextIO

import polars as pl

from pipelines.build import Outcome
from pipelines.next_steps import Checked, next_steps, why_aside
from pipelines.telling_findings import many, rows_of, summed_up

MOST_UNREAD = 8
UNREAD = ("column_not_read", "file_not_read", "row_not_read")
NOT_MET = ("header_not_found", "word_not_found", "column_not_found", "horse_not_found", "sheet_not_found")
"""Rules of a layout file's own entries: each is told by itself."""


def tell_publish(
    outcome: Outcome, site: Path, out: TextIO, asked: Checked | None = None, day_is: str | None = None
) -> None:
    """Say what a run took in, and where the pages are. asked: what it was to read; None where no files were named.

    day_is: what the day is that the record is read as of, where nobody named one but could have.
    """
    out.write(_account(outcome))
    out.writelines(f"{one.source} has no rows: nothing was read from it\n" for one in outcome.taken if not one.rows)
    out.write(f"Read as of {outcome.as_of}. {len(outcome.pages)} pages written; open {site / 'index.html'}\n")
    if asked is not None:
        _tell_why(outcome, asked, out)
    if day_is is not None:
        out.write(f"{outcome.as_of} is {day_is}; --as-of YYYY-MM-DD takes another day.\n")


def _tell_why(outcome: Outcome, asked: Checked, out: TextIO) -> None:
    if outcome.rows_set_aside:
        out.write(f"Which rows were set aside, and why:\n  {why_aside(asked)}\n")
    elif outcome.warnings.height:
        doubts = _about_rows(outcome).height
        said = f"{many(doubts, 'doubt')}. What to look at, and what" if doubts else "No doubt about any row. What"
        out.write(f"{said} was left unread:\n  {why_aside(asked)}\n")


def _about_rows(outcome: Outcome) -> pl.DataFrame:
    """The doubts about rows: neither what was left unread nor what a layout file names and was not met."""
    return outcome.warnings.filter(~pl.col("rule").is_in([*UNREAD, *NOT_MET]))


def tell_check(outcome: Outcome, out: TextIO, asked: Checked) -> None:
    """Say what each sheet was taken for, what was changed on the way in, what would be set aside, why, what is next."""
    for one in outcome.taken:
        out.write(f"{one.line()}\n")
    out.write("\n" + _account(outcome))
    out.write(f"Read as of {outcome.as_of}. Nothing was changed.\n")
    _tell_changes(out, outcome.changes)
    of_rows = _about_rows(outcome)
    _tell_findings(out, "Set aside", outcome.set_aside)
    _tell_findings(out, "Accepted, but look at", of_rows)
    _tell_unread(out, outcome.warnings.filter(pl.col("rule").is_in(UNREAD)))
    _tell_not_met(out, outcome.warnings.filter(pl.col("rule").is_in(NOT_MET)))
    steps = list(next_steps(asked, outcome.rows_set_aside, rows_of(of_rows)))
    out.writelines(f"{line}\n" for line in ["", *steps] if steps)


def tell_taken(lines: Iterable[str], out: TextIO) -> None:
    """Say what each sheet was taken for, where it goes no further."""
    out.writelines(f"{line}\n" for line in lines)


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
            f'  {row["change"]}: {many(row["cells"], "cell")}, like {row["column_name"]} "{row["found"]}" {taken}\n'
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


def _tell_findings(out: TextIO, title: str, findings: pl.DataFrame) -> None:
    if findings.is_empty():
        return
    out.write(f"\n{title}: {many(rows_of(findings), 'row')}\n")
    out.writelines(f"{line}\n" for line in summed_up(findings))


def _tell_unread(out: TextIO, findings: pl.DataFrame) -> None:
    if findings.is_empty():
        return
    out.write("\nLeft unread (a layout file can say what a header means, --write-layout drafts one):\n")
    places = findings.select("source_file", "source_row", "reason")
    for file, row, reason in places.head(MOST_UNREAD).rows():
        out.write(f"  {file} row {row}: {reason}\n")
    if places.height > MOST_UNREAD:
        out.write(f"  and {places.height - MOST_UNREAD:,} more like these\n")


def _tell_not_met(out: TextIO, findings: pl.DataFrame) -> None:
    if findings.is_empty():
        return
    out.write("\nIn the layout file, but not in the records:\n")
    told = findings.sort("source_file", "source_row", maintain_order=True)
    for file, line, reason in told.select("source_file", "source_row", "reason").rows():
        out.write(f"  {file} line {line}: {reason}\n")
