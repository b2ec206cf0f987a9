"""The section on how far one reading can be trusted."""

from reports.page import Numbers, Section, table
from reports.picking import Results, Row, in_order, known, rows
from reports.wording import figure, many, percent, sentence, whole

STAGES = {"arrival": "On arrival", "leaving": "On leaving", "growth": "Leaving to next arrival"}
FROM_GROWTH = (
    "The error comes from leaving and the next arrival, between which a foot only grows: what of that change the "
    "foot’s own steady growth leaves unexplained, shod and bare apart, is the error of two readings, √2 times that of "
    "one. Growth that is not steady counts as error too."
)
FORMULA = "The smallest change of one foot that is likely real is 1.96 × √2 × that error, as for any two readings."
ABOUT_LINE = (
    "Scatter about the foot’s own line over the years is more than error: how differently the foot is left from visit "
    "to visit counts in it, and on arrival how long it has grown."
)
UNKNOWN = (
    "That is not known yet: too few feet have been read on leaving and again on the next arrival. So no change is told "
    "here as larger than the error of reading."
)


def trust(results: Results) -> Section | None:
    """The error of one reading, and beside it the scatter at each stage."""
    found = staged(rows(results, "angle_precision"))
    if not found:
        return None
    told = known(found, "error_sd_deg")
    return Section(
        "How far can one reading be trusted?",
        _answer(told[0]) if told else UNKNOWN,
        numbers=(_numbers(found),),
        notes=(*((FROM_GROWTH, FORMULA) if told else ()), ABOUT_LINE, *_person(found)),
    )


def _answer(row: Row) -> str:
    return (
        f"It is off by about {figure(row['error_sd_deg'])}° (one standard deviation: two readings in three are nearer "
        f"the truth than that). A change of one foot under {figure(row['smallest_change_deg'])}° may be the reading "
        "alone."
    )


def staged(found: list[Row]) -> list[Row]:
    """Rows in the order of the stages of a reading."""
    return in_order([{**row, "level": row["angle_at"]} for row in found], STAGES)


def _person(found: list[Row]) -> tuple[str, ...]:
    """How many changes at one stage lie between the readings of two people."""
    told = [row for row in found if row["angle_at"] != "growth"]
    other, changes = (sum(row[name] for row in told) for name in ("other_farrier", "changes"))
    if not other:
        return ()
    return (
        f"Take care where the hand changed: {whole(other)} of {many(changes, 'change')} ({percent(other / changes)}) "
        "lie between readings of two farriers, and two people read one foot differently.",
    )


def _numbers(found: list[Row]) -> Numbers:
    lines = [
        (
            STAGES[row["angle_at"]],
            figure(row["error_sd_deg"], 2),
            figure(row["smallest_change_deg"], 2),
            figure(row["residual_sd_deg"], 2),
            whole(row["changes"]),
            whole(row["changes_judged"]),
            whole(row["changes_beyond"]),
            whole(row["other_farrier"]),
            whole(row["angles_read"]),
            whole(row["feet"]),
            sentence(row["note"]),
        )
        for row in found
    ]
    heads = ("Read", "Error of one reading", "Smallest real change", "Scatter about its line", "Changes", "Judged")
    return table(
        "Error of one reading, and scatter, in degrees",
        (*heads, "Larger", "By another hand", "Readings", "Feet", "Note *"),
        lines,
    )
