"""What others have measured, beside this practice’s own figures."""

from reports.page import Numbers, Section, columns
from reports.pages.angles_trend import likely
from reports.picking import Results, one, rows
from reports.wording import BLANK, figure, many, percent

HEEL = "van Heel 2005 and Moleman 2006, Equine Vet J; quoted in later work, not read in the original"
UNEVEN = "Wiggers 2015, PLoS ONE 10:e0114836"


def others(results: Results) -> Section:
    """Published values with their number and source; a practice’s own where it has one."""
    trim = ("10 horses", "Iranian Journal of Veterinary Surgery; differences derived")
    lines = [
        ("Angle between visits, shod", _drift(results), "about −0.44° a week: −3.5° in 8 weeks", "not told", HEEL),
        ("Uneven: left and right apart by over 1.5°", _uneven(results), "a cut-off, no share", BLANK, UNEVEN),
        ("What a trim does to the angle", BLANK, "+1.35°", *trim),
        ("What a trim does to the toe", BLANK, "−3.0 mm", *trim),
        ("Growth of the hoof", BLANK, "7 mm in 28 days", "42 horses", "Josseck 1995, Equine Vet J 27:175"),
        (
            "Growth, front as hind",
            BLANK,
            "13 mm in 6 weeks",
            "7 horses",
            "Kolstrung 2012, Medycyna Weterynaryjna 68:426",
        ),
    ]
    heads = columns("What", "This practice *", "Others *", "On *", "Source *")
    return Section(
        "What have others measured?",
        "These published values are for comparison, not targets: other horses, other ground, other ways of reading. "
        "A dash stands where this record is not worked out that way.",
        numbers=(Numbers("Published values beside this practice’s own", heads, lines, open=True),),
    )


def _drift(results: Results) -> str:
    row = one(results, "angle_drift", dimension="shod", level="yes")
    if row is None or row["deg_per_week"] is None:
        return "too few readings yet"
    return f"{figure(row['deg_per_week'], 2)}° a week{likely(row)}, {many(row['steps'], 'pair')} of readings"


def _uneven(results: Results) -> str:
    pairs = rows(results, "angle_gaps")
    if not pairs:
        return "too few readings yet"
    return f"{percent(sum(row['latest_uneven'] for row in pairs) / len(pairs))} of {many(len(pairs), 'pair')}"
