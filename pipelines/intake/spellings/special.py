"""Columns with a way of writing of their own: hands, minutes, weeks, chip numbers. Common practice, no source.

A hand is 4 inches, 10.16 cm exactly.
"""

import re

from pipelines.intake.spellings.numbers import read_number
from pipelines.intake.spellings.said import Habits, Reading
from schemas.fields import Meaning

CM_A_HAND = 10.16
HANDS = re.compile(
    r"(\d{1,2})\s*(?:(?:[.,:]|\s|hh?|hands?)\s*(\d)(?:\s*(?:in|ins|inches|\"|”))?)?\s*(?:hh?|hands?|hds?)?\.?", re.I
)
HALF_HANDS = re.compile(r"(\d{1,2})\s*(?:½|1/2)\s*(?:hh?|hands?)?", re.I)
CENTIMETRES = re.compile(r"(1\d{2}|[4-9]\d)(?:[.,]\d)?\s*cm", re.I)
METRES = re.compile(r"1[.,](\d{2})\s*m", re.I)
CLOCK = re.compile(
    r"(\d{1,2})\s*(?::|h|hr|hrs|hours?|hour)\s*(?:and\s*)?(\d{1,2})?\s*(?:m|min|mins|minutes?)?\.?", re.I
)
CLOCK_OF_A_SHEET = re.compile(r"(?:1899-12-3[01]|1900-01-0[01])[T ](\d{2}):(\d{2}):\d{2}")
HOURS = re.compile(r"(\d+(?:[.,]\d+)?|\d*\s*[½¼¾])\s*(?:h|hr|hrs|hours?)\.?", re.I)
MINUTES = re.compile(r"(\d+(?:[.,]\d+)?)\s*(?:m|min|mins|minutes?|′|')?\.?", re.I)
QUARTERS = {"½": 0.5, "¼": 0.25, "¾": 0.75}


def read_hands(cell: str, _meaning: Meaning, _habits: Habits) -> Reading:
    """Hands and inches as 15.2. A height in centimetres is turned into hands and doubted: it may fall between."""
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
    number = float(re.sub(r"[^\d.]", "", cell.replace(",", ".")).rstrip("."))
    inches = round((number * 100 if number < 3 else number) / (CM_A_HAND / 4))
    value = f"{inches // 4}.{inches % 4}"
    return Reading(value, "cm turned into hands", f'height_hands says "{cell}", taken as {value} hands: look again')


def read_minutes(cell: str, meaning: Meaning, habits: Habits) -> Reading:
    """Minutes: 75, 75 mins, 1h15, 1:15, 1 hr 15, 1.5 h."""
    clock = CLOCK_OF_A_SHEET.fullmatch(cell)
    if clock:
        return Reading(float(int(clock[1]) * 60 + int(clock[2])), "hours and minutes")
    plain = MINUTES.fullmatch(cell)
    if plain:
        number = read_number(plain[1], "minutes", meaning, habits)
        return Reading(
            number.value, number.changed or (None if plain[1] == cell else "unit left off"), None, number.why
        )
    hours = HOURS.fullmatch(cell)
    if hours:
        return Reading(round(_hours(hours[1]) * 60, 6), "hours and minutes")
    clock = CLOCK.fullmatch(cell)
    if clock and int(clock[2] or 0) < 60:
        return Reading(float(int(clock[1]) * 60 + int(clock[2] or 0)), "hours and minutes")
    return read_number(cell, "minutes", meaning, habits)


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
        return Reading(float(of_year[1]), "weeks of a year")
    return read_number(cell, "planned_weeks", meaning, habits)


def read_chip(cell: str, _meaning: Meaning, _habits: Habits) -> Reading:
    """A chip number; spaces, hyphens and dots between its digits are left off."""
    digits = re.sub(r"[\s\-.]", "", cell.lstrip("'"))
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
