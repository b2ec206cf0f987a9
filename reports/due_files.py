"""The due list as files for other programs: `due.csv` for a spreadsheet, `due.ics` (RFC 5545) for a calendar."""

from collections import Counter
from datetime import UTC, date, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID, uuid5

import polars as pl

from reports.drawing import drawable
from reports.picking import Results, Row, labelled, rows
from reports.wording import day, weeks
from schemas.cells import as_cells

CSV_FILE, CALENDAR_FILE = "due.csv", "due.ics"
EVENTS = UUID("5c1a3f2e-8d0b-4e57-9b61-0d2f7a94c3e8")  # the space of names of our events, chosen once


def due_rows(results: Results) -> list[Row]:
    """The due list in the order of days, horses not seen for long last; those without a day after those with one."""
    found = _by_yard(labelled(rows(results, "due_list")))
    return sorted(
        found, key=lambda row: (row["silent"], row["due_on"] is None, row["due_on"] or date.max, row["horse_id"])
    )


def _by_yard(found: list[Row]) -> list[Row]:
    """Horses that share a name are told apart by their yard as it is written, where that does it, and not by a code."""
    places = Counter((row["horse_name"], row["yard"]) for row in found)
    return [
        {**row, "label": f"{row['horse_name']} ({row['yard']})"}
        if row["label"] != row["horse_name"] and row["yard"] and places[row["horse_name"], row["yard"]] == 1
        else row
        for row in found
    ]


def in_calendar(results: Results) -> list[Row]:
    """Entries of the calendar with the horse's label, yard and last visit: those to come, then the cancelled ones."""
    horses = {row["horse_id"]: row for row in due_rows(results)}
    found = [{**horses[row["horse_id"]], **row} for row in rows(results, "calendar_entries")]
    return sorted(found, key=lambda row: (row["seen_again_on"] is not None, row["due_on"], row["horse_id"], _uid(row)))


def write_due_files(results: Results, folder: Path) -> list[Path]:
    """Write both files into `folder` and return them. Without a horse on record, or one due, there is nothing to write.

    No cell of the CSV file is run as a formula by a spreadsheet. An event's UID follows from the horse and the visit
    its due day is counted from, and its SEQUENCE grows with each load that changes it, so a calendar that reads the
    file again moves an event where the plan was corrected, and adds none twice. A horse seen since has its event once
    more as cancelled. The same results give the same bytes.
    """
    written = []
    if rows(results, "due_list"):
        written.append(folder / CSV_FILE)
        _write_csv(results["due_list"], written[-1])
    if events := in_calendar(results):
        written.append(folder / CALENDAR_FILE)
        written[-1].write_bytes(calendar(events))
    return written


def _write_csv(table: pl.DataFrame, path: Path) -> None:
    shown = table.sort("silent", "due_on", "horse_id", nulls_last=True).drop("round_visit_id")
    # the mark at its beginning tells a spreadsheet that the file is UTF-8
    as_cells(shown.with_columns(pl.col("chance_lost").round(4))).write_csv(path, include_bom=True)


def calendar(events: list[Row]) -> bytes:
    """One all-day event a row of `in_calendar`, as iCalendar (RFC 5545)."""
    from icalendar import Calendar

    made = Calendar()
    made.add("prodid", "-//shoeing-outcomes//due list//EN")
    made.add("version", "2.0")
    made.add("calscale", "GREGORIAN")
    for row in events:
        made.add_component(_event(row))
    return made.to_ical()


def _event(row: Row) -> Any:
    from icalendar import Event

    event = Event()
    event.add("uid", _uid(row))
    event.add("dtstamp", row["revised_at"].replace(microsecond=0, tzinfo=UTC))  # 3.8.7.2: the last revision
    event.add("sequence", row["revision"])
    if row["seen_again_on"]:
        event.add("status", "CANCELLED")
    event.add("dtstart", row["due_on"])
    event.add("dtend", row["due_on"] + timedelta(days=1))
    event.add("transp", "TRANSPARENT")  # the day stays free for other things
    event.add("summary", drawable(f"Due: {row['label']}"))
    event.add("description", drawable(_description(row)))
    if row["yard"]:
        event.add("location", drawable(row["yard"]))
    return event


def _uid(row: Row) -> str:
    """The same for one horse and visit whatever else of the row is corrected."""
    return str(uuid5(EVENTS, f"{row['horse_id']}\n{row['round_visit_id']}"))


def _description(row: Row) -> str:
    if row["seen_again_on"]:
        return f"Seen on {day(row['seen_again_on'])}: this day no longer holds."
    seen = f"Last visit {day(row['last_visit_on'])}."
    if row["planned_weeks"] is None:
        return f"{seen} No interval agreed: the day follows from the horse’s own middle interval."
    return f"{seen} Agreed: {weeks(row['planned_weeks'])}."
