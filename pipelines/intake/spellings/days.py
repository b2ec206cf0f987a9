"""Days as people write them, and which way round a file writes them.

A spreadsheet's serial number counts days from 1899-12-30 (ECMA-376 part 1, 18.17.4.1: day 1 is 1 January 1900, and
1900 is taken for a leap year). Two digits of a year mean the century that does not lie in the future.
"""

import re
from collections.abc import Iterable
from datetime import date, timedelta
from typing import NamedTuple

from pipelines.intake.spellings.said import Habits, Reading

SERIAL_ZERO = date(1899, 12, 30)
FIRST_SERIAL, LAST_SERIAL = 29_221, 65_745
"""1980 and 2079: a number outside is no day of a record."""
AGAINST = "against the order"
"""A numeric day that is one only the other way round than the others are said to be written."""
OLDEST_RECORD_YEARS = 20
"""With two digits of a year, 25-01-01 is hardly the 25th of January 2001: beyond this many years back it is not read."""
MONTHS = {
    name: month
    for month, names in enumerate(
        ("january jan", "february feb", "march mar", "april apr", "may", "june jun", "july jul", "august aug",
         "september sep sept", "october oct", "november nov", "december dec"), start=1,
    )
    for name in names.split()
}  # fmt: skip
TIME = re.compile(
    r"[T ,]+(?:at )?\d{1,2}[:.h]\d{2}(?:[:.]\d{2}(?:\.\d+)?)?\s*(?:am|pm|a\.m\.|p\.m\.)?\s*(?:Z|[+-]\d{2}:?\d{2}|UTC)?$"
    r"|[ ,]+(?:at )?(?:(?:0?[1-9]|1[0-2])\s*)?(?:am|pm|a\.m\.|p\.m\.)$",
    re.I,
)
WEEKDAY = re.compile(r"^(?:mon|tue|tues|wed|wednes|thu|thur|thurs|fri|sat|satur|sun)(?:day)?[.,]?\s+", re.I)
YEAR_FIRST = re.compile(r"(\d{4})[-/. ](\d{1,2})[-/. ](\d{1,2})")
YEAR_MONTH_DAY = re.compile(r"(\d{4})[-\s]([a-z]{3,9})\.?[-\s](\d{1,2})", re.I)
COMPACT = re.compile(r"(19|20)\d{2}(0[1-9]|1[0-2])(0[1-9]|[12]\d|3[01])")
NUMERIC = re.compile(r"(\d{1,2})\s*[-/.\s]\s*(\d{1,2})\s*[-/.\s]\s*(\d{4}|\d{2}|'\d{2})")
DAY_MONTH = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?(?: of)?[-\s./]*([a-z]{3,9})\.?[-\s,./]*(\d{4}|'?\d{2})", re.I)
MONTH_DAY = re.compile(r"([a-z]{3,9})\.?[-\s]*(\d{1,2})(?:st|nd|rd|th)?[-\s,./]+(\d{4}|'?\d{2})", re.I)
YEARLESS = re.compile(
    rf"\d{{1,2}}[-/. ]\d{{1,2}}\.?|\d{{1,2}}(?:st|nd|rd|th)?[-\s]*(?:{'|'.join(MONTHS)})\.?"
    rf"|(?:{'|'.join(MONTHS)})\.?[-\s]*\d{{1,2}}(?:st|nd|rd|th)?",
    re.I,
)


class Evidence(NamedTuple):
    """How many numeric days of a file can only be read day first, only month first, or both ways.

    year_first, year_last: those of three pairs of digits that make a day only so; year_either: those that make one
    both ways.
    """

    day_first: int
    month_first: int
    either: int
    year_first: int = 0
    year_last: int = 0
    year_either: int = 0


def evidence(texts: Iterable[str], latest_year: int = 2099) -> Evidence:
    """What the days of a file say about the order they are written in; day and month alike say nothing."""
    counts = [0, 0, 0, 0, 0, 0]
    for text in texts:
        found = NUMERIC.fullmatch(_bare(text))
        if not found:
            continue
        first, second = int(found[1]), int(found[2])
        way = _year_stands(found, Habits(latest_year=latest_year))
        if way:
            counts[way] += 1
        if way == 3:
            continue
        if first > 12 >= second > 0:
            counts[0] += 1
        elif second > 12 >= first > 0:
            counts[1] += 1
        elif first != second:
            counts[2] += 1
    return Evidence(*counts)


def _year_stands(found: re.Match, habits: Habits) -> int:
    """3 where the digits make a day only with the year first, 4 only with it last, 5 both ways, 0 no way.

    A year is written with two digits or four, never with one.
    """
    if len(found[1]) != 2 or len(found[3]) != 2:
        return 4
    first, second, third = (int(part) for part in found.groups())
    recent = habits.latest_year - OLDEST_RECORD_YEARS
    year_first = _year(found[1], habits) >= recent and second <= 12 and third <= 31
    year_last = _year(found[3], habits) >= recent and first <= 31 and min(first, second) <= 12
    if year_first and year_last:
        return 5 if found[1] != found[3] else 0  # 26/1/26 is one day either way
    return 3 if year_first else 4 if year_last else 0


def years_both_ways(text: str, latest_year: int) -> tuple[int, int] | None:
    """The years of three pairs of digits read with the year first and with it last; None where only one may be."""
    found, habits = NUMERIC.fullmatch(_bare(text)), Habits(latest_year=latest_year)
    both = found and _year_stands(found, habits) == 5
    return (_year(found[1], habits), _year(found[3], habits)) if both else None


def read_day(cell: str, habits: Habits) -> Reading:
    """A day of the calendar. A numeric day that could be read two ways needs `habits.day_first`."""
    bare = _bare(cell)
    changed = None if bare == cell else "time of day or weekday left off"
    for form, reader in FORMS:
        found = form.fullmatch(bare)
        if found:
            return _day(reader(found, habits), changed, cell, habits)
    return Reading(None, why="write the year too, like 2026-03-05" if YEARLESS.fullmatch(bare) else None)


def _bare(text: str) -> str:
    return WEEKDAY.sub("", TIME.sub("", " ".join(text.split())))


def _day(parts: tuple[int, int, int, str | None] | str, changed: str | None, cell: str, habits: Habits) -> Reading:
    if isinstance(parts, str):
        return Reading(None, why=parts)
    year, month, day, form = parts
    try:
        value = date(year, month, day)
    except ValueError:
        return Reading(None)
    if not 1900 <= year <= 2199:
        return Reading(None)
    if form == AGAINST:
        own, other = ("day", "month") if habits.day_first else ("month", "day")
        doubt = (
            f'says "{cell.strip()}", which can only be {value.day} {value:%B} although these days are written '
            f"{own} first: taken as {value}, look whether the {own} or the {other} is mistyped"
        )
        return Reading(value, f"{other} first", doubt)
    return Reading(value, changed or (None if cell == value.isoformat() else form))


def _year_first(found: re.Match, _habits: Habits) -> tuple:
    return int(found[1]), int(found[2]), int(found[3]), "year first"


def _compact(found: re.Match, _habits: Habits) -> tuple:
    return int(found[0][:4]), int(found[0][4:6]), int(found[0][6:]), "year first"


def _numeric(found: re.Match, habits: Habits) -> tuple | str:
    first, second, year = int(found[1]), int(found[2]), _year(found[3], habits)
    if len(found[3]) == 2 and year < habits.latest_year - OLDEST_RECORD_YEARS and second <= 12:
        return "the year first or last? write it like 2026-03-05"
    if first <= 12 < second:
        return year, first, second, AGAINST if habits.day_first else "month first"
    if second <= 12 < first and habits.day_first is False:
        return year, second, first, AGAINST
    if second <= 12 < first:
        return year, second, first, "day first"
    if habits.day_first is None and first != second:
        return "day or month first? write it like 2026-03-05"
    return (year, second, first, "day first") if habits.day_first else (year, first, second, "month first")


def _year_month_day(found: re.Match, habits: Habits) -> tuple | str:
    return _named(found[2], found[3], found[1], habits)


def _day_month(found: re.Match, habits: Habits) -> tuple | str:
    return _named(found[2], found[1], found[3], habits)


def _month_day(found: re.Match, habits: Habits) -> tuple | str:
    return _named(found[1], found[2], found[3], habits)


def _named(name: str, day: str, year: str, habits: Habits) -> tuple | str:
    month = MONTHS.get(name.casefold())
    return (_year(year, habits), month, int(day), "month written out") if month else f"{name} is no month"


def _year(text: str, habits: Habits) -> int:
    digits = text.lstrip("'")
    if len(digits) == 4:
        return int(digits)
    century = habits.latest_year // 100 * 100
    year = century + int(digits)
    return year if year <= habits.latest_year else year - 100


def _serial(found: re.Match, _habits: Habits) -> tuple | str:
    number = int(found[1])
    if not FIRST_SERIAL <= number <= LAST_SERIAL:
        return "a number that is no day: write it like 2026-03-05"
    day = SERIAL_ZERO + timedelta(days=number)
    return day.year, day.month, day.day, "spreadsheet's serial number"


FORMS = (
    (YEAR_FIRST, _year_first),
    (COMPACT, _compact),
    (NUMERIC, _numeric),
    (YEAR_MONTH_DAY, _year_month_day),
    (DAY_MONTH, _day_month),
    (MONTH_DAY, _month_day),
    (re.compile(r"(\d{4,6})(?:[.,]\d+)?"), _serial),
)
