"""Columns with a way of writing of their own: hands, minutes, weeks, chip numbers. Common practice, no source.

A hand is 4 inches, 10.16 cm exactly.
"""

import re

from pipelines.intake.spellings.numbers import read_number, without_doubt
from pipelines.intake.spellings.said import Habits, Reading
from schemas.fields import Meaning

CM_A_HAND = 10.16
HANDS = re.compile(
    r"(\d{1,2})\s*(?:(?:[.,:]|\s|hh?|hands?)\s*(\d)(?:\s*(?:in|ins|inches|\"|”))?)?\s*(?:hh?|hands?|hds?)?\.?", re.I
)
HALF_HANDS = re.compile(r"(\d{1,2})\s*(?:½|1/2)\s*(?:hh?|hands?)?", re.I)
CENTIMETRES = re.compile(r"(1\d{2}|[4-9]\d)(?:[.,]\d{1,2})?\s*cms?\.?", re.I)
INCHES = re.compile(r"(\d{2})\s*(?:in|ins|inch|inches|\"|''|”|″)\.?", re.I)
METRES = re.compile(r"1[.,](\d{2,3})\s*m", re.I)
CLOCK = re.compile(
    r"(\d{1,2})\s*(?::|h|hr|hrs|hours?|hour)\s*(?:and\s*)?(\d{1,2})?\s*(?:m|min|mins|minutes?)?\.?", re.I
)
CLOCK_OF_A_SHEET = re.compile(r"(?:1899-12-3[01]|1900-01-0[01])[T ](\d{2}):(\d{2}):\d{2}")
HOURS = re.compile(r"(\d{1,2}(?:[.,]\d{1,2})?|[.,]\d{1,2}|\d{0,2}\s*[½¼¾])\s*(?:h|hr|hrs|hours?)\.?", re.I)
MINUTES = re.compile(r"(\d+(?:[.,]\d+)?)\s*(?:m|min|mins|minutes?|′|')?\.?", re.I)
ALL_DIGITS_WITH_POWER = re.compile(r"([1-9])[.,](\d{14})e\+?14", re.I)
QUARTERS = {"½": 0.5, "¼": 0.25, "¾": 0.75}
FRACTIONS_OF_HOUR = (("1/2", "½"), ("1/4", "¼"), ("3/4", "¾"))
HOURS_IN_WORDS = {
    "an hour": 60.0, "half an hour": 30.0, "half hour": 30.0, "quarter of an hour": 15.0, "quarter hour": 15.0,
    "three quarters of an hour": 45.0, "hour and a half": 90.0, "an hour and a half": 90.0,
}  # fmt: skip
CLOCK_WITH_SECONDS = re.compile(r"(\d{1,2}):(\d{2}):00")
HOURS_WITH_MINUTES_OR_HUNDREDTHS = re.compile(r"\d*[.,](?!25|50|75|00)\d{2}\s*h.*", re.I)
LONGEST_BY_THE_CLOCK = 300
"""Five hours: past it 9:15 is rather the time of day."""


def read_hands(cell: str, _meaning: Meaning, _habits: Habits) -> Reading:
    """Hands and inches as 15.2; 62 in are 15.2 exactly. Centimetres are turned into hands and doubted: they may fall
    between.
    """
    inches = INCHES.fullmatch(cell)
    if inches:
        return Reading(f"{int(inches[1]) // 4}.{int(inches[1]) % 4}", "inches turned into hands")
    found = HANDS.fullmatch(cell)
    half = HALF_HANDS.fullmatch(cell)
    if half:
        return Reading(f"{int(half[1])}.2", "hands and inches")
    metric = CENTIMETRES.fullmatch(cell) or METRES.fullmatch(cell)
    if metric:
        return _from_metric(cell)
    if not found:
        return Reading(cell)
    if int(found[2] or 0) > 3:
        return Reading(cell)
    value = f"{int(found[1])}.{found[2] or 0}"
    return Reading(value, None if value == cell else "hands and inches")


def _from_metric(cell: str) -> Reading:
    number = float(re.match(r"\d+(?:\.\d+)?", cell.replace(",", "."))[0])
    inches = round((number * 100 if number < 3 else number) / (CM_A_HAND / 4))
    value = f"{inches // 4}.{inches % 4}"
    return Reading(value, "cm turned into hands", f'height_hands says "{cell}", taken as {value} hands: look again')


def read_minutes(cell: str, meaning: Meaning, habits: Habits) -> Reading:
    """Minutes: 75, 75 mins, 1h15, 1:15, 1 hr 15, 1.5 h."""
    bare, vague = without_doubt(cell)
    if vague:
        return _doubted(_minutes(bare, meaning, habits), "minutes", cell)
    return _minutes(cell, meaning, habits)


def _doubted(found: Reading, column: str, cell: str) -> Reading:
    """A reading of what stands around a word of doubt."""
    if found.value is None:
        return found
    value = found.value if isinstance(found.value, str) else f"{found.value:g}"
    doubt = f'{column} says "{cell}", taken as {value}: the row is kept, measure or look again'
    return found._replace(changed=found.changed or "word of doubt left off", doubt=doubt)


def _minutes(cell: str, meaning: Meaning, habits: Habits) -> Reading:
    clock = CLOCK_OF_A_SHEET.fullmatch(cell)
    if clock:
        return _by_the_clock(int(clock[1]) * 60 + int(clock[2]))
    if cell.casefold() in HOURS_IN_WORDS:
        return Reading(HOURS_IN_WORDS[cell.casefold()], "hours and minutes", unit="min")
    if HOURS_WITH_MINUTES_OR_HUNDREDTHS.fullmatch(cell):
        return Reading(None, why="minutes after the point, or parts of an hour? write minutes")
    plain = MINUTES.fullmatch(cell)
    if plain:
        number = read_number(plain[1], "minutes", meaning, habits)
        unit = "" if plain[1] == cell else "min"
        return number._replace(changed=number.changed or ("unit left off" if unit else None), unit=unit)
    hours = HOURS.fullmatch(_marked(cell))
    if hours:
        return Reading(round(_hours(hours[1]) * 60, 6), "hours and minutes", unit="h")
    clock = CLOCK_WITH_SECONDS.fullmatch(cell) or CLOCK.fullmatch(cell)
    if clock and int(clock[2] or 0) < 60:
        return _by_the_clock(int(clock[1]) * 60 + int(clock[2] or 0))
    return read_number(cell, "minutes", meaning, habits)


def _marked(cell: str) -> str:
    """1 1/2 h as 1½ h."""
    for written, mark in FRACTIONS_OF_HOUR:
        cell = re.sub(rf"(?<![\d/]){written}(?=\s*h)", mark, cell, flags=re.I)
    return cell


def _by_the_clock(minutes: int) -> Reading:
    if minutes > LONGEST_BY_THE_CLOCK:
        return Reading(None, why="how long, or the time of day? write the minutes it took")
    return Reading(float(minutes), "hours and minutes", unit="min")


def _hours(text: str) -> float:
    mark = text.strip()[-1]
    if mark in QUARTERS:
        return float(text.strip()[:-1].strip() or 0) + QUARTERS[mark]
    return float(text.replace(",", "."))


def read_weeks(cell: str, meaning: Meaning, habits: Habits) -> Reading:
    """Weeks: 6, 6 wks, 6/52, 42 days. Months are refused: they have no one length."""
    if re.search(r"months?|mths?", cell, re.I):
        return Reading(None, why="a month has no one length: write weeks")
    of_year = re.fullmatch(r"(\d{1,2})/52", cell)
    if of_year:
        return Reading(float(of_year[1]), "weeks of a year", unit="weeks")
    return read_number(cell, "planned_weeks", meaning, habits)


def read_chip(cell: str, _meaning: Meaning, _habits: Habits) -> Reading:
    """A chip number; spaces, hyphens and dots between its digits are left off. 9.85102001234567E+14 holds all 15."""
    power = ALL_DIGITS_WITH_POWER.fullmatch(cell)
    if power:
        return Reading(power[1] + power[2], "power of ten written out")
    digits = re.sub(r"[\s\-.]", "", re.sub(r"^(\d{15})\.0+$", r"\1", cell.lstrip("'")))
    if re.fullmatch(r"\d{15}", digits):
        return Reading(digits, None if digits == cell else "spaces between digits left off")
    return Reading(cell)


def read_ueln(cell: str, _meaning: Meaning, _habits: Habits) -> Reading:
    """A life number in capitals, without spaces or hyphens."""
    tidy = re.sub(r"[\s\-.]", "", cell).upper()
    return Reading(tidy, None if tidy == cell else "spaces and small letters") if len(tidy) == 15 else Reading(cell)


SPECIAL = {
    "height_hands": read_hands,
    "minutes": read_minutes,
    "planned_weeks": read_weeks,
    "microchip": read_chip,
    "ueln": read_ueln,
}
