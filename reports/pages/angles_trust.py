"""The section on how far one reading can be trusted."""

from math import sqrt

from reports.page import Numbers, Section, table
from reports.picking import Results, Row, everything, in_order, known, rows
from reports.wording import figure, many, percent, sentence, whole

STAGES = {"arrival": "On arrival", "leaving": "On leaving", "growth": "Leaving to next arrival"}
FORMULA = "The smallest change of one foot that is likely real is 1.96 × √2 × that scatter, as for any two readings."


def trust(results: Results) -> Section | None:
    """The error of one reading, by stage."""
    found = staged(rows(results, "angle_precision"))
    told = [row for row in known(found, "residual_sd_deg") if row["angle_at"] != "growth"]
    if not told:
        return _from_growth(results)
    scatter = " and ".join(f"{figure(row['residual_sd_deg'])}° {STAGES[row['angle_at']].lower()}" for row in told)
    least = " or ".join(f"{figure(row['smallest_change_deg'])}° {STAGES[row['angle_at']].lower()}" for row in told)
    return Section(
        "How far can one reading be trusted?",
        f"Readings scatter about their foot’s own line by {scatter} (one standard deviation: two in three lie within "
        f"it). A change of one foot under {least} may be the reading alone.",
        numbers=(_numbers(found),),
        notes=(FORMULA, *_person(told)),
    )


def staged(found: list[Row]) -> list[Row]:
    """Rows in the order of the stages of a reading."""
    return in_order([{**row, "level": row["angle_at"]} for row in found], STAGES)


def _from_growth(results: Results) -> Section | None:
    every = everything(results, "angle_drift")
    if every is None or every["residual_sd_deg"] is None:
        return None
    spread = every["residual_sd_deg"]
    return Section(
        "How far can one reading be trusted?",
        f"Readings scatter about their foot’s own line by {figure(spread)}° (one standard deviation: two in three "
        f"lie within it). A change of one foot under {figure(smallest_real_change(spread))}° may be the reading alone.",
        notes=(FORMULA,),
    )


def smallest_real_change(spread: float) -> float:
    """The scatter of one reading written as the smallest difference of two that is likely real: 1.96·√2·sd."""
    return 1.96 * sqrt(2) * spread


def _person(told: list[Row]) -> tuple[str, ...]:
    """How many changes lie between the readings of two people."""
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
            figure(row["residual_sd_deg"], 2),
            figure(row["smallest_change_deg"], 2),
            whole(row["changes"]),
            whole(row["changes_beyond"]),
            whole(row["other_farrier"]),
            whole(row["angles_read"]),
            whole(row["feet"]),
            sentence(row["note"]),
        )
        for row in found
    ]
    heads = ("Read", "Scatter", "Smallest real change", "Changes", "Larger", "By another hand", "Readings", "Feet")
    return table("Error of one reading, in degrees", (*heads, "Note *"), lines)
