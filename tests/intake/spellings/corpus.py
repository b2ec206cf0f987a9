"""Odd cells as people type them, with the reading expected of each. Common practice, no source.

Drawn up by hand, or spun from a few days and words through forms written here with nothing of the program's.
"""

from datetime import date, timedelta
from itertools import product
from typing import NamedTuple

REFUSED, BLANK = "refused", "blank"


class Doubted(NamedTuple):
    """Taken with a warning."""

    value: object


DAYS = [date(2023, 1, 26), date(2024, 2, 29), date(2024, 12, 31), date(2023, 3, 4), date(2025, 5, 5), date(2022, 10, 1)]
MONTHS = "January February March April May June July August September October November December".split()


def day_forms(day: date) -> list[str]:
    d, m, y, month = day.day, day.month, day.year, MONTHS[day.month - 1]
    th = {1: "st", 2: "nd", 3: "rd", 21: "st", 22: "nd", 23: "rd", 31: "st"}.get(d, "th")
    return [
        f"{y}-{m:02}-{d:02}", f"{y}-{m:02}-{d:02} 00:00:00", f"{y}-{m:02}-{d:02}T14:30:00", f"{y}-{m:02}-{d:02}T08:00Z",
        f"{y}/{m}/{d}", f"{y}.{m:02}.{d:02}", f"{y}{m:02}{d:02}", f"{d:02}/{m:02}/{y}", f"{d}/{m}/{y}", f"{d}.{m}.{y}",
        f"{d:02}-{m:02}-{y}", f"{d}/{m}/{y % 100:02}", f"{d} / {m} / {y}", f"{d:02}/{m:02}/{y} 09:15", f"{d} {month} {y}",
        f"{d} {month[:3]} {y}", f"{d}{th} {month} {y}", f"{d}{th} of {month} {y}", f"{month} {d}, {y}",
        f"{month[:3]} {d}, {y}", f"{month[:3]} {d}{th} {y}", f"{month[:3].upper()} {d} {y}", f"{d}-{month[:3]}-{y}",
        f"{d}-{month[:3]}-{y % 100:02}", f"{d} {month[:3]}. {y}", f"{day:%A} {d} {month} {y}", f"{day:%a} {d}/{m}/{y}",
        f" {d}  {month[:3]}  {y} ", str((day - date(1899, 12, 30)).days), f"{d}{month[:3]}{y}",
        f"{d:02}/{m:02}/{y} 2pm", f"{d}/{m}/{y}, 10 am", f"{y}-{m:02}-{d:02} at 2 p.m.", f"{d} {month} {y} pm",
    ]  # fmt: skip


DATES = [(form, day) for day in DAYS for form in day_forms(day)] + [
    ("31/4/2024", REFUSED), ("30/2/2024", REFUSED), ("29/2/2023", REFUSED), ("2024-13-01", REFUSED), ("0/1/2024", REFUSED),
    ("3/4", REFUSED), ("3rd May", REFUSED), ("3 May 12pm", REFUSED), ("13/4/2024 14pm", REFUSED), ("May 3", REFUSED), ("next week", REFUSED), ("spring", REFUSED),
    ("12", REFUSED), ("999999", REFUSED), ("1/2/3/2024", REFUSED), ("Mai 3 2024", REFUSED), ("3/Foo/2024", REFUSED),
    ("2024", REFUSED), ("25-01-01", REFUSED), ("2024-02-30", REFUSED), ("1/1/1824", REFUSED), ("32/1/2024", REFUSED),
    ("-", BLANK), ("n/a", BLANK), ("?", BLANK), ("not known", BLANK), ("Sept 5 2023", date(2023, 9, 5)),
    ("5 Sept 23", date(2023, 9, 5)), ("46000.75", date(2025, 12, 9)), ("13/02/24", date(2024, 2, 13)),
]  # fmt: skip

ANGLES = [f"{whole}{tail}" for whole, tail in product((48, 52, 55), ("", ".0", ".5", ",5"))]
NUMBERS = [
    *((f"{text}{mark}", "angle_arrival_deg", float(text.replace(",", "."))) for text, mark in product(
        ANGLES, ("", "°", " °", "Â°", " deg", "deg", " degrees", " Deg."))),
    *((f"{before}52{after}", "angle_arrival_deg", Doubted(52.0)) for before, after in (
        ("c. ", ""), ("ca. ", ""), ("~", ""), ("about ", ""), ("approx ", ""), ("approx. ", ""), ("around ", ""),
        ("", " ish"), ("", "ish"), ("", "?"), ("", " ?"), ("roughly ", ""), ("", " approx"), ("c. ", "°"))),
    *((text, "angle_arrival_deg", REFUSED) for text in (
        "52-54", "50/51", "52 to 54", "52 or 53", "52–53", "steep", "5 2 1", "52..5", "--52", "1,050", "52°30'", "low 50s",
        "fifty", "52/", "#error", "°", "5O")),
    *((text, "angle_arrival_deg", BLANK) for text in ("-", "–", "n/a", "N/A", "not measured", "?", "na", ".")),
    *((text, "toe_arrival_mm", value) for text, value in (
        ("84 mm", 84.0), ("84mm", 84.0), ("84", 84.0), ("8,4 cm", 84.0), ("8.4cm", 84.0), ("8.4 CM", 84.0),
        ("3 1/4 in", 82.55), ('3.25"', 82.55), ('3¼"', 82.55), ("3-1/4 in", 82.55), ("3 1/4 inches", 82.55),
        ("3½ ins", 88.9), ("3.5 inch", 88.9), ("3 3/8″", 85.725), ("84,5", 84.5), ("84.25 mm.", 84.25))),
    *((text, "branch_past_heel_mm", value) for text, value in (
        ("-4.3", -4.3), ("−4,3 mm", -4.3), ("+5", 5.0), ("0", 0.0), ("1/4 in", 6.35), ("½ in", 12.7), ("3/8\"", 9.525),
        (".5", 0.5), ("0,5 cm", 5.0), ("flush", REFUSED))),
    *((text, "fee", value) for text, value in (
        ("£45.00", 45.0), ("$120", 120.0), ("45 €", 45.0), ("€45,50", 45.5), ("1,050.00", 1050.0), ("1.050,25", 1050.25),
        ("1 050,25", 1050.25), ("45 GBP", 45.0), ("45.5", 45.5), ("free", REFUSED), ("45-50", REFUSED), ("£1,050", REFUSED))),
    *((text, "mass_kg", value) for text, value in (
        ("500kg", 500.0), ("500 kilos", 500.0), ("1100 lb", 498.951607), ("1100 lbs", 498.951607), ("80 stone", 508.023454),
        ("1,000 approx lbs", Doubted(453.59237)), ("500 approx. kg", Doubted(500.0)), ("1,000 lbs approx", Doubted(453.59237)))),
    *((text, "travel_km", value) for text, value in (
        ("12 ish miles", Doubted(19.312128)), ("30? miles", Doubted(48.28032)), ("about 5 miles", Doubted(8.04672)),
        (".5 miles", 0.804672), ("12 ?km", Doubted(12.0)), ("1'000 m", REFUSED), ("99999999999999999999", REFUSED),
        ("12km", 12.0), ("12 miles", 19.312128), ("12 mi", 19.312128), ("12m", REFUSED), ("12.5 kms", 12.5),
        ("½ mile", 0.804672), ("12½", 12.5), ("12½ km", 12.5), ("½", REFUSED), ("1/2", REFUSED))),
    *((text, "planned_weeks", value) for text, value in (
        ("6", 6.0), ("6 wks", 6.0), ("6w", 6.0), ("6 weeks", 6.0), ("42 days", 6.0), ("6/52", 6.0), ("2 months", REFUSED),
        ("6-8", REFUSED), ("6 to 8 wks", REFUSED), ("10 wk", 10.0))),
    *((text, "nails_medial", value) for text, value in (
        ("3", 3), ("3.0", 3), ("3 nails", 3), ("3.5", REFUSED), ("2+1", REFUSED), ("3/4", REFUSED), ("E5", REFUSED),
        ("3 or 4", REFUSED), ("-", BLANK), ("three", REFUSED), ("about 3", REFUSED))),
    *((text, "bruise_grade", value) for text, value in (
        ("0", 0), ("none", 0), ("clear", REFUSED), ("faint", 1), ("slight", 1), ("moderate", 2), ("deep", 3), ("Severe", 3),
        ("yes", REFUSED), ("bruised", REFUSED), ("x", REFUSED), ("not looked", BLANK), ("-", BLANK), ("1-2", REFUSED))),
]  # fmt: skip

SIDE = {"L": ("near", "nearside", "left", "Near", "LEFT"), "R": ("off", "offside", "right", "Off", "RIGHT")}
END = {"F": ("fore", "front", "Fore"), "H": ("hind", "back", "HIND")}
FEET = [
    *((f"{side}{gap}{end}", s + e) for s, e in product("LR", "FH")
      for side, end, gap in product(SIDE[s], END[e], (" ", "-", "_", "/"))),
    *((text, foot) for foot, texts in {
        "LF": ("LF", "lf", "L/F", "l.f.", "NF", "nf", "N/F", "N.F.", "near-side fore", "left front foot", " Lf ", "fore left",
               "front left"),
        "RF": ("RF", "rf", "R/F", "r.f.", "OF", "of", "O/F", "O.F.", "off-side front", "fore right", "front right"),
        "LH": ("LH", "lh", "L/H", "NH", "nh", "N/H", "near-side hind", "hind left", "back left"),
        "RH": ("RH", "rh", "R/H", "OH", "oh", "O/H", "off-side hind", "hind right", "back right"),
    }.items() for text in texts),
    *((text, REFUSED) for text in (
        "HF", "hf", "fr", "FR", "F", "H", "L", "R", "off", "Off", "near", "fore", "front", "fronts", "hind", "hinds", "all",
        "both", "left", "right", "5", "LM", "hoof", "LF/RF", "LF RF", "4", "x")),
]  # fmt: skip

WORK_WORDS = {
    "fit_new": ("fit_new", "fit new", "Fit-New", "new", "new shoes", "new shoe", "full set", "new set", "shod", "fitted new"),
    "reset": ("reset", "re-set", "refit", "refits", "refitted", "remove and replace", "R&R", "r/r", "same shoe back",
              "nailed back", "put back"),
    "trim": ("trim", "trimmed", "barefoot trim", "trim only", "bare trim", "dressed", "rasped"),
    "take_off": ("take_off", "take off", "took off", "taken off", "shoes off", "removed", "pulled shoes", "shoe removed"),
    "none": ("none", "nothing", "not done", "left", "left alone", "no work", "not touched", "n/a", "-"),
}  # fmt: skip
WORK = [
    *((form(text), word) for word, texts in WORK_WORDS.items() for text in texts
      for form in (str, str.upper, str.title, lambda text: f" {text}  ")),
    *((text, REFUSED) for text in ("pulled", "off", "Pulled", "shoe?", "1", "new/reset", "x", "yes", "half", "see notes")),
]  # fmt: skip

YES_NO = [
    *((form(text), True) for text in ("yes", "y", "true", "1", "x", "✓") for form in (
        str, str.upper, str.capitalize, lambda t: f" {t}", lambda t: f"{t} ", lambda t: f"  {t}  ", lambda t: f"{t}.",
        lambda t: f"{t}!", lambda t: f"\t{t}", lambda t: f"{t.upper()}.", lambda t: f" {t.upper()}", lambda t: f"\n{t}")),
    *((form(text), False) for text in ("no", "n", "false", "0", "-") for form in (
        str, str.upper, str.capitalize, lambda t: f" {t}", lambda t: f"{t} ", lambda t: f"  {t}  ", lambda t: f"{t}.",
        lambda t: f"{t}!", lambda t: f"\t{t}", lambda t: f"{t.upper()}.", lambda t: f" {t.upper()}", lambda t: f"\n{t}")),
    *((text, REFUSED) for text in (
        "maybe", "perhaps", "yes and no", "2", "ok", "yess", "y/n", "xx", "ask", "if paid", "0.5", "agreed", "refused", "both", "sometimes", "later", "y?", "n?", "yep", "si", "oui", "ja", "-1", "3", "*", "see email", "nope", "aye", "10", "t",
        "f", "yes?", "some")),
    *((text, BLANK) for text in ("n/a", "N/A", "?", "not known", "tbc")),
]  # fmt: skip

HANDS = [
    *((form.format(h, i), f"{h}.{i}") for h, i in product((11, 14, 15, 16, 17), (0, 1, 2, 3)) for form in (
        "{}.{}", "{}.{}hh", "{}.{} hh", "{} {}", "{}h {}in", "{}.{} hands", "{},{}", "{}.{}h")),
    *((f"{h}{tail}", f"{h}.0") for h in (14, 15, 16) for tail in ("hh", " hands", "", " h")),
    ("15½", "15.2"), ("15 1/2 hh", "15.2"), ("152 cm", Doubted("15.0")), ("147.3 cm", Doubted("14.2")),
    ("1.63 m", Doubted("16.0")), ("15.5", "15.5"), ("15.7hh", "15.7hh"), ("tall", "tall"), ("15.25", "15.25"),
]  # fmt: skip
"""What is no height comes back as it was: the rule of the column then names it."""

MINUTES = [
    *((form.format(h, m), float(60 * h + m)) for h, m in product((1, 2, 3), (5, 15, 24, 45)) for form in (
        "{}h{:02}", "{}:{:02}", "{} hr {}", "{} hrs {} mins", "{}h {}m", "{}h{:02}min", "{} hour {}", "{} h {:02} min",
        "{}H{:02}", "1899-12-31 {:02}:{:02}:00", "{} hours and {} minutes")),
    *((f"{m}{tail}", float(m)) for m in (30, 45, 75) for tail in ("", " min", " mins", "min", "m", " minutes", ".0", " Min.")),
    ("1h", 60.0), ("2 hrs", 120.0), ("1.5h", 90.0), ("1,5 h", 90.0), ("1½ h", 90.0), ("½ hour", 30.0), ("¾ h", 45.0),
    ("1.25 hours", 75.0), ("long", REFUSED), ("45-60", REFUSED), ("1h75", REFUSED), ("all morning", REFUSED), ("-", BLANK),
    ("?", BLANK), ("about 45", Doubted(45.0)), ("45ish", Doubted(45.0)), ("45?", Doubted(45.0)),
    ("about 1 h", Doubted(60.0)), ("1.5 h ish", Doubted(90.0)), ("1.5 ish h", Doubted(90.0)), ("1h15?", Doubted(75.0)),
    ("about an hour", Doubted(60.0)), ("45? min", Doubted(45.0)), ("9:15", REFUSED), ("1899-12-31 09:15:00", REFUSED),
    ("1899-12-31 05:00:00", 300.0),
]  # fmt: skip

KINDS = {
    "date": [(cell, "visit_date", expected) for cell, expected in DATES],
    "number": NUMBERS,
    "foot": [(cell, "foot", expected) for cell, expected in FEET],
    "work": [(cell, "work", expected) for cell, expected in WORK],
    "yes or no": [(cell, "sole_relief", expected) for cell, expected in YES_NO],
    "hands": [(cell, "height_hands", expected) for cell, expected in HANDS],
    "minutes": [(cell, "minutes", expected) for cell, expected in MINUTES],
}
SERIAL_OF = {day: (day - date(1899, 12, 30)) // timedelta(days=1) for day in DAYS}
