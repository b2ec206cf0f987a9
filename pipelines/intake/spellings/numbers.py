"""Numbers as people write them: with a unit, in another unit, with a fraction, a decimal comma or a doubt.

An inch is 25.4 mm and a mile 1.609344 km, exactly (international yard and pound agreement, 1959), a pound
0.45359237 kg, a stone 14 pounds.
"""

import re

from pipelines.intake.spellings.marks import EITHER, settled
from pipelines.intake.spellings.said import Habits, Reading
from schemas.fields import Meaning
from schemas.synonyms import NOT_FILLED_IN, lookup, plain

MM_IN = 25.4
UNITS: dict[str, dict[str, float]] = {
    "mm": {"mm": 1, "millimetres": 1, "millimeters": 1, "cm": 10, "centimetres": 10, "centimeters": 10,
           "in": MM_IN, "ins": MM_IN, "inch": MM_IN, "inches": MM_IN, '"': MM_IN, "''": MM_IN, "”": MM_IN, "″": MM_IN},
    "deg": {"°": 1, "â°": 1, "âº": 1, "º": 1, "deg": 1, "degs": 1, "degree": 1, "degrees": 1, "d": 1},
    "km": {"km": 1, "kms": 1, "k": 1, "kilometres": 1, "kilometers": 1,
           "mi": 1.609344, "mile": 1.609344, "miles": 1.609344, "m": 1.609344},
    "kg": {"kg": 1, "kgs": 1, "kilos": 1, "kilo": 1, "lb": 0.45359237, "lbs": 0.45359237, "pounds": 0.45359237,
           "st": 6.35029318, "stone": 6.35029318},
    "weeks": {"w": 1, "wk": 1, "wks": 1, "week": 1, "weeks": 1, "d": 1 / 7, "day": 1 / 7, "days": 1 / 7},
    "currency": dict.fromkeys(("£", "$", "€", "gbp", "usd", "eur", "pounds", "dollars", "euros", "kr", "chf"), 1),
}  # fmt: skip
CURRENCIES = {"gbp": "£", "pounds": "£", "usd": "$", "dollars": "$", "eur": "€", "euros": "€"}
CALLED = {10: "cm", MM_IN: "in", 1.609344: "miles", 0.45359237: "lb", 6.35029318: "stone", 1 / 7: "days"}
"""The other units as a person is told of them, by how many of the declared one they are."""
AMBIGUOUS_UNITS = {("travel_km", "m"): "miles, metres or minutes? write 12 km or 7.5 miles"}
FRACTIONS = {
    "½": " 1/2",
    "¼": " 1/4",
    "¾": " 3/4",
    "⅛": " 1/8",
    "⅜": " 3/8",
    "⅝": " 5/8",
    "⅞": " 7/8",
    "⅓": " 1/3",
    "⅔": " 2/3",
}
VAGUE = re.compile(
    r"^(?:about|approx\.?|approximately|around|circa|ca?\.|c(?=\s*\d)|~|≈|roughly)\s*|\s*(?:ish|-ish|approx\.?|\?|ca)$"
    r"|(?<=[\d½¼¾⅛⅜⅝⅞⅓⅔])\s*(?:-?ish|\?|approx\.?|approximately|about|roughly)(?=\s*[a-z°\"'”″]+\.?$)",
    re.I,
)
"""Before a figure, behind it, or between it and its unit."""
BARE = r"[+\-−]?\d+(?:[.,]\d+)?|[+\-−]?[.,]\d+"
MIXED = re.compile(r"^(?P<sign>[+\-−]?)(?:(?P<whole>\d+)[ \-])?\s*(?P<top>\d+)/(?P<bottom>\d+)$")
THOUSANDS = re.compile(r"^[+\-−]?\d{1,3}(?:(?P<mark>[.,' ’])\d{3})(?:(?P=mark)\d{3})*(?:(?!(?P=mark))[.,]\d{1,2})?$")
AGE = re.compile(
    r"(?:rising|rsg\.?|aged?|about|~)?\s*\d{1,2}\s*(?:[½+?]|ish)?\s*(?:y\.?o\.?|y(?:ea)?rs?\.?(?: old)?|y)?", re.I
)
AN_AGE = "looks like an age, or a year without its century: write the year it was foaled in full, like 2012"
NO_SUM = "write the sum in figures, 0 where nothing was charged, or leave it blank where it is not known"
LARGEST = 1e15
"""A number holds no more digits exactly (IEEE 754): what is larger is no measure, and may be no 64-bit integer."""
LEAST_MM_WITH_FRACTION = 8
"""Below it a fraction without a unit may be inches: no toe is 8 inches long."""
RANGE = re.compile(r"^(?P<low>\d+(?:[.,]\d+)?)\s*(?:-|–|—|to|/|or)\s*(?P<high>\d+(?:[.,]\d+)?)$")  # fmt: skip


def read_number(cell: str, column: str, meaning: Meaning, habits: Habits) -> Reading:
    """A number of this column in its declared unit.

    Around a number a word of doubt (52 ish, c. 52) is accepted with a warning; a span (52-54, 50/51) is refused.
    """
    text, vague = without_doubt(_even(cell))
    body, factor, unit = _unit(text, meaning.unit)
    if (column, unit) in AMBIGUOUS_UNITS:
        return Reading(None, why=AMBIGUOUS_UNITS[column, unit])
    span = RANGE.match(body)
    parted = body.count("/") == 1 and any(
        body == fraction.strip() for mark, fraction in FRACTIONS.items() if mark in cell
    )
    if parted and not unit and meaning.unit != "mm":
        return Reading(None, why="of what? write the whole figure, with its unit where it has one")
    if span and not parted and not _is_fraction(body, column):
        return Reading(None, why=f"write one figure, not a span from {span['low']} to {span['high']}")
    if body.count("/") == 1 and not unit and meaning.unit == "mm" and _small_fraction(body):
        return Reading(None, why=f"of an inch, or of a millimetre? write {body} in, or the mm")
    either = EITHER.fullmatch(body)
    number, form, why, lone = (
        settled(either, factor, meaning, habits.comma) if either else (*_figure(body), None, False)
    )
    if number is None and meaning.unit == "currency" and not any(mark.isdigit() for mark in cell):
        return Reading(None, why=NO_SUM)
    if number is not None and abs(number * factor) >= LARGEST:
        return Reading(None, why="no figure has so many digits: look at it again")
    if number is None:
        return Reading(None, why=why)
    value = round(number * factor, 6)
    doubt = f'{column} says "{cell}", taken as {value:g}: the row is kept, measure or look again'
    called = "" if not unit else unit if meaning.unit == "currency" else CALLED.get(factor, meaning.unit)
    return Reading(value, _changed(cell, body, factor, unit, form), doubt if vague or lone else None, unit=called)


def read_whole(cell: str, column: str, meaning: Meaning, habits: Habits) -> Reading:
    """A whole number; a size, a sum or a fraction where a count belongs is refused."""
    word = lookup(column, ()).get(plain(cell))
    if word is not None:
        return Reading(int(word), "word for it")
    if plain(cell) in NOT_FILLED_IN:
        return Reading(None, "left blank", blank=True)
    if column == "foaled_year" and AGE.fullmatch(cell):
        return Reading(None, why=f"it {AN_AGE}")
    found = read_number(_without_count_words(cell), column, meaning, habits)
    if found.value is None:
        return found
    if found.value != int(found.value):
        return Reading(None)
    if found.doubt:
        return Reading(None, why="a count is a whole number and nothing about it: count again")
    return Reading(int(found.value), found.changed or ("unit left off" if _without_count_words(cell) != cell else None))


def _without_count_words(cell: str) -> str:
    return re.sub(r"\s*(?:nails?|days?(?: a week)?|x|pcs?)\.?$", "", cell, flags=re.I) if cell[:1].isdigit() else cell


def _even(cell: str) -> str:
    for mark, fraction in FRACTIONS.items():
        cell = cell.replace(mark, fraction)
    return cell.replace("\u00a0", " ").replace("\u202f", " ").strip()


def without_doubt(text: str) -> tuple[str, bool]:
    """The text without a word of doubt, and whether there was one."""
    bare = VAGUE.sub("", VAGUE.sub("", text)).strip()
    return bare, bare != text.strip()


def has_no_unit(cell: str) -> bool:
    """Whether a cell is a figure alone, in doubt or not, however it is written."""
    text, _ = without_doubt(_even(cell))
    return bool(EITHER.fullmatch(text)) or _figure(text)[0] is not None


def _unit(text: str, unit: str) -> tuple[str, float, str]:
    """The figure, what one of its unit is in the declared one, and the unit as written."""
    units = UNITS.get(unit, {})
    if unit == "currency":
        return _currency(text, units)
    found = re.match(r"^(?P<body>.*?\d)\s*(?P<unit>[^\d\s][^\d]*?)\.?$", text)
    name = found["unit"].strip().casefold().rstrip(".") if found else ""
    if found and name in units:
        return found["body"].strip(), units[name], name
    return text, 1, ""


def _currency(text: str, units: dict[str, float]) -> tuple[str, float, str]:
    """The figure without the money it is in, before or behind it."""
    said = []

    def left_off(mark: re.Match) -> str:
        name = mark[0].strip(" .-").casefold()
        said.extend([CURRENCIES.get(name, name)] if name in units else [])
        return "" if name in units else mark[0]

    body = re.sub(r"^[^\d+\-−.,]+|[^\d]+$", left_off, text).strip()
    return body, 1, said[0] if said else ""


def _is_fraction(body: str, column: str) -> bool:
    """Whether `3/4` is three quarters: only in a length, and only where the bottom is one people measure in."""
    found = MIXED.match(body)
    return bool(
        found
        and column.endswith("_mm")
        and int(found["bottom"]) in (2, 3, 4, 8, 16)
        and int(found["top"]) < int(found["bottom"])
    )


def _small_fraction(body: str) -> bool:
    found = MIXED.match(body)
    return found is not None and int(found["whole"] or 0) < LEAST_MM_WITH_FRACTION


def _figure(body: str) -> tuple[float | None, str | None]:
    """The number and the form it was written in; None where it is none."""
    if re.fullmatch(BARE, body):
        form = "decimal comma" if "," in body else None
        return float(body.replace("−", "-").replace(",", ".")), form
    mixed = MIXED.match(body)
    if mixed and int(mixed["bottom"]):
        value = int(mixed["whole"] or 0) + int(mixed["top"]) / int(mixed["bottom"])
        return (-value if mixed["sign"] in ("-", "−") else value), "fraction"
    if THOUSANDS.match(body):
        return _with_thousands(body), "thousands mark"
    if re.fullmatch(r"[+-]?(?:\d+\.?\d*|\.\d+)[eE][+-]?\d{1,3}", body):
        value = float(body)
        return (value, None) if abs(value) < 1e300 else (None, None)
    return None, None


def _with_thousands(body: str) -> float:
    last = re.search(r"[.,](\d{1,2})$", body)
    whole = body[: last.start()] if last else body
    digits = re.sub(r"[^\d]", "", whole)
    value = float(f"{digits}.{last[1]}" if last else digits)
    return -value if body[0] in "-−" else value


def _changed(cell: str, body: str, factor: float, unit: str, form: str | None) -> str | None:
    if factor != 1:
        return f"{unit.replace(chr(34), 'in')} turned into the column's unit"
    if unit:
        return "unit left off" if form is None else f"{form}, unit left off"
    if form:
        return form
    return None if body == cell else "word of doubt left off"
