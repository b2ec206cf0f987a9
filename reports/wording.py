"""Figures and words as people read them: numbers, shares, dates, ranges and the trade's words."""

from datetime import date

BLANK = "–"  # what a table shows where there is no figure

FOOT_NAMES = {"LF": "Left fore", "RF": "Right fore", "LH": "Left hind", "RH": "Right hind"}
END_NAMES = {"front": "Front feet", "hind": "Hind feet"}
PACE_NAMES = {"fast": "Fast work", "mixed": "Mixed work", "slow": "Slow work"}
KIND_NAMES = {
    "routine": "Routine",
    "lost_shoe": "Lost shoe",
    "vet_request": "Asked for by a vet",
    "first": "First visit",
    "other": "Other",
}
RELIEF_NAMES = {"yes": "Clear of the sole", "no": "Not clear of it"}
SHOD_NAMES = {"yes": "Shod feet", "no": "Bare feet"}
DISCIPLINE_NAMES = {"other": "Other work"}
SITE_NAMES = {
    "quarter_medial": "Inner quarter",
    "quarter_lateral": "Outer quarter",
    "heel_medial": "Inner heel",
    "heel_lateral": "Outer heel",
    "body": "Middle of the sole",
}
HANDLING_NAMES = {"1": "1, easy", "5": "5, not safe to finish"}
NAMES = {
    "handling": HANDLING_NAMES,
    "foot": FOOT_NAMES,
    "end": END_NAMES,
    "pace": PACE_NAMES | {"not recorded": "Work of no pace class"},
    "sole_relief": RELIEF_NAMES,
    "shod": SHOD_NAMES,
    "discipline": DISCIPLINE_NAMES,
    "site": SITE_NAMES,
    "visit_kind": KIND_NAMES,
}
FOR_OWN_EYES = "For the farrier’s own eyes, not to be handed on: it tells of money and hours."
AS_WRITTEN = ("farrier", "yard", "horse_name")  # people's own words, never reworded


def level_name(dimension: str, level: str) -> str:
    """A level as a person would say it: `barrel_racing` → Barrel racing, `LF` → Left fore; names stay as written."""
    if dimension in AS_WRITTEN:
        return level
    if level == "all":
        return "All together"
    return NAMES.get(dimension, {}).get(level) or plain(level)


def plain(word: str) -> str:
    """A word of a closed list as prose: `wall_gave_way` → Wall gave way."""
    text = word.replace("_", " ")
    return text[:1].upper() + text[1:]


def whole(value: float | None) -> str:
    """1234 → 1,234."""
    return BLANK if value is None else f"{round(value):,}"


def resting(value: float | None, known: int, visits: int) -> str:
    """A sum over visits, and where not all of them have the figure on how many it rests: `310 (6 of 8)`."""
    if value is None or known >= visits:
        return whole(value)
    return f"{whole(value)} ({whole(known)}\xa0of\xa0{whole(visits)})"


def figure(value: float | None, places: int = 1) -> str:
    """A number with a fixed count of decimals and a true minus sign."""
    return BLANK if value is None else f"{value:,.{places}f}".replace("-", "−")


def percent(share: float | None, places: int = 0) -> str:
    """0.123 → 12%. A share that is small but not nothing never reads 0%."""
    if share is None:
        return BLANK
    if 0 < share < 0.5 * 10 ** (-2 - places):
        return f"under {10**-places:g}%"
    return f"{100 * share:.{places}f}%"


def span(low: float | None, high: float | None, places: int = 1) -> str:
    """`1.6 to 2.3`; a dash where either limit is missing."""
    return BLANK if low is None or high is None else f"{figure(low, places)} to {figure(high, places)}"


def percent_span(low: float | None, high: float | None, places: int = 0) -> str:
    """`8 to 13%`; a dash where either limit is missing."""
    return BLANK if low is None or high is None else f"{100 * low:.{places}f} to {100 * high:.{places}f}%"


def day(value: date) -> str:
    """5 March 2026."""
    return f"{value.day} {value:%B %Y}"


def from_to(first: object, last: object) -> str:
    """`3 March 2026 to 5 March 2026` or `31 to 39`, and `3 March 2026` or `39` where both are the same."""
    return str(first) if first == last else f"{first} to {last}"


def so_far(start: date, stop: date, as_of: date) -> str:
    """What of a stretch is on record, where it still runs; empty where it is over."""
    if as_of >= stop:
        return ""
    if as_of < start:
        return ", which has not begun"
    return f", of which {(as_of - start).days + 1} of {(stop - start).days + 1} days are on record"


def short_day(value: date, near: date) -> str:
    """Mon 5 Mar, unbroken, with the year where it is not that of the day near it."""
    return f"{value:%a}\xa0{value.day}\xa0{value:%b}" + (f" {value.year}" if value.year != near.year else "")


def weeks(value: float) -> str:
    """5 weeks, 5.5 weeks."""
    return f"{value:g} {'week' if value == 1 else 'weeks'}"


def days(count: float) -> str:
    """1 day, 44 days, 45.5 days."""
    return many(count, "day") if float(count).is_integer() else f"{figure(count)} days"


def days_and_weeks(count: float | None) -> str:
    """44 → `44 days (6 weeks and 2 days)`."""
    if count is None:
        return BLANK
    weeks, left = divmod(round(count), 7)
    parts = [many(part, thing) for part, thing in ((weeks, "week"), (left, "day")) if part]
    return f"{days(count)} ({' and '.join(parts)})" if weeks else days(count)


def many(count: float, thing: str, things: str | None = None) -> str:
    """`1 shoe`, `1,204 shoes`."""
    return f"{whole(count)} {thing if round(count) == 1 else things or thing + 's'}"


def hours(minutes: float | None) -> str:
    """Minutes as hours: 95 → `1.6 hours`; under two hours the minutes themselves."""
    if minutes is None:
        return BLANK
    return many(minutes, "minute") if minutes < 120 else f"{minutes / 60:,.0f} hours"


def listed(names: list[str]) -> str:
    """`a, b and c`."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}" if names else ""


def sentence(text: str | None) -> str:
    """A note as a sentence: first letter up, one full stop."""
    return text[:1].upper() + text[1:].rstrip(".") + "." if text else ""
