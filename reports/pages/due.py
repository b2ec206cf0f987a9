"""Due: who is overdue, who is due in the weeks ahead, and how likely a shoe is lost meanwhile."""

from dataclasses import replace
from datetime import timedelta

from reports.due_files import CALENDAR_FILE, CSV_FILE, due_rows, in_calendar
from reports.page import Numbers, Page, Section, columns, table
from reports.pages.horse import horse_files
from reports.picking import Results, Row
from reports.wording import BLANK, day, many, percent, sentence, short_day, weeks, whole
from schemas.records import About

WEEKS_AHEAD = 6
MOST_OPEN = 100  # a longer table stays folded
WORTH_NAMING = 0.1  # a chance of a lost shoe below this is usual
DAY = (
    "A horse is due after the interval agreed at its latest visit of the round; a call-out for a lost shoe moves no "
    "day. Where nothing was agreed it goes by the middle one of its own intervals, if it has three."
)
CHANCE = (
    "The chance is that of losing at least one shoe before the day it is due, or within 7 days where it is overdue. It "
    "goes on from the age of each shoe, by what the record says of the work and of the horse; it is no more than that. "
    "Where there has been no word of a shoe for long it is not known whether it is on, so both are left blank."
)
CALENDAR = (
    "The calendar file holds one all-day entry a horse. A calendar that reads it again moves an entry whose day has "
    "been corrected and adds none twice. Once a horse has been seen its next day is a new entry, and for 60 days the "
    "old one is written once more as cancelled: a calendar that knows it strikes it or takes it away. A file read "
    "later than that, or from a new store, leaves it in place: delete it by hand."
)


def due(results: Results, about: About) -> Page:
    """The page of horses to be seen next. It names horses, so it carries the cautions."""
    found = due_rows(results)
    files = horse_files(results)
    seen = [row for row in found if not row["silent"]]
    dated = [row for row in seen if row["due_on"]]
    made = [
        _overdue([row for row in dated if row["days_overdue"] > 0], dated, about, files),
        _ahead([row for row in dated if -7 * WEEKS_AHEAD <= row["days_overdue"] <= 0], about, files),
        _later([row for row in seen if row["due_on"] is None or row["days_overdue"] < -7 * WEEKS_AHEAD], about, files),
        _silent([row for row in found if row["silent"]], files),
        _files(results, bool(found)),
    ]
    return Page(
        "due.html",
        "Due",
        f"Which horses should be seen next, as of {day(about.as_of)}.",
        tuple(section for section in made if section),
        names_horses=True,
        ranges=False,
    )


def _overdue(found: list[Row], dated: list[Row], about: About, files: dict[str, str]) -> Section:
    return Section(
        "Who is overdue?",
        _overdue_answer(found, dated),
        numbers=(_numbers("Horses overdue, the longest first", found, about, files, "Days over"),) if found else (),
        notes=(DAY, CHANCE) if found else (DAY,),
    )


def _overdue_answer(found: list[Row], dated: list[Row]) -> str:
    if not dated:
        return "No horse on record has a day on which it is due."
    if not found:
        return f"None of {many(len(dated), 'horse')} with a due day is overdue."
    first = found[0]
    since = f"{first['label']}, due on {day(first['due_on'])}, {many(first['days_overdue'], 'day')} ago."
    if len(found) == 1:
        return f"1 of {many(len(dated), 'horse')} with a due day is overdue: {since}"
    week = sum(row["days_overdue"] > 7 for row in found)
    return (
        f"{whole(len(found))} of {many(len(dated), 'horse')} with a due day are overdue, "
        f"{whole(week) if week else 'none'} of them by more than a week. The longest is {since}"
    )


def _ahead(found: list[Row], about: About, files: dict[str, str]) -> Section:
    until = about.as_of + timedelta(weeks=WEEKS_AHEAD)
    return Section(
        f"Who is due in the next {WEEKS_AHEAD} weeks?",
        f"{many(len(found), 'horse')} by {day(until)}.{_likeliest(found)}" if found else f"No horse by {day(until)}.",
        numbers=(_numbers("Horses due, the earliest first", found, about, files, "In days"),) if found else (),
        notes=("How many horses each week is likely to bring is on the page Season.",),
    )


def _likeliest(found: list[Row]) -> str:
    told = [row for row in found if (row["chance_lost"] or 0) >= WORTH_NAMING]
    if not told:
        return ""
    first = max(told, key=lambda row: (row["chance_lost"], row["horse_id"]))
    others = f"; {whole(len(told) - 1)} more at {percent(WORTH_NAMING)} or over" if len(told) > 1 else ""
    return (
        f" The highest chance of losing a shoe before its day is that of {first['label']}, "
        f"{percent(first['chance_lost'])}{others}."
    )


def _later(found: list[Row], about: About, files: dict[str, str]) -> Section | None:
    if not found:
        return None
    undated = sum(row["due_on"] is None for row in found)
    told = [f"{many(len(found) - undated, 'horse')} later than that"] if undated < len(found) else []
    told += [f"{many(undated, 'horse')} with nothing to go by"] if undated else []
    return Section(
        "Who is due later, or on no day that is known?",
        " and ".join(told)[:1].upper() + " and ".join(told)[1:] + ".",
        numbers=(_numbers("Horses due later or on no known day", found, about, files, "In days"),),
    )


def _silent(found: list[Row], files: dict[str, str]) -> Section | None:
    if not found:
        return None
    verb = "has" if len(found) == 1 else "have"
    latest = sorted(found, key=lambda row: (row["last_visit_on"], row["horse_id"]), reverse=True)
    lines = [
        (row["label"], day(row["last_visit_on"]), day(row["due_on"]) if row["due_on"] else BLANK, row["yard"] or BLANK)
        for row in latest
    ]
    links = tuple(files.get(row["horse_id"], "") for row in latest)
    heads = columns("Horse", "Last seen *", "Was due *", "Yard *")
    return Section(
        "Who has not been seen for half a year?",
        f"{many(len(found), 'horse')} {verb} not been seen for over 26 weeks: they may have left, and are in no count "
        "and no calendar.",
        numbers=(Numbers("Horses not seen for over 26 weeks, the latest first", heads, lines, links=links),),
    )


def _files(results: Results, any_horse: bool) -> Section | None:
    if not any_horse:
        return None
    links = [(CALENDAR_FILE, "Calendar file")] if in_calendar(results) else []
    return Section(
        "How does this list get into a calendar or a spreadsheet?",
        f"Take the files beside this page: {CALENDAR_FILE} for a calendar, {CSV_FILE} for a spreadsheet. They name "
        "horses and yards, no owner."
        if links
        else f"Take the file beside this page: {CSV_FILE} for a spreadsheet. It names horses and yards, no owner.",
        notes=(CALENDAR,) if links else (),
        links=(*links, (CSV_FILE, "Spreadsheet file")),
    )


def _numbers(caption: str, found: list[Row], about: About, files: dict[str, str], away: str) -> Numbers:
    heads = ("Horse", "Due *", away, "Chance of a loss", "Shoes on", "Agreed *", "Last seen *", "Yard *", "Note *")
    links = tuple(files.get(row["horse_id"], "") for row in found)
    made = table(caption, heads, [_line(row, about) for row in found])
    return replace(made, open=len(found) <= MOST_OPEN, links=links)


def _line(row: Row, about: About) -> tuple[str, ...]:
    return (
        row["label"],
        short_day(row["due_on"], about.as_of) if row["due_on"] else BLANK,
        BLANK if row["days_overdue"] is None else whole(abs(row["days_overdue"])),
        percent(row["chance_lost"]),
        whole(row["shoes_on"]),
        "Nothing" if row["planned_weeks"] is None else weeks(row["planned_weeks"]),
        short_day(row["last_visit_on"], about.as_of),
        row["yard"] or BLANK,
        sentence(row["chance_note"]),
    )
