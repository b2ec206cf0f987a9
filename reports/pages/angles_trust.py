"""The sections on how far one reading can be trusted, and which changes are larger than that."""

from math import sqrt

from reports.page import Numbers, Section, columns, table
from reports.pages.horse_names import Herd
from reports.picking import Results, Row, everything, in_order, known, rows
from reports.wording import FOOT_NAMES, day, figure, many, percent, plain, sentence, whole

STAGES = {"arrival": "On arrival", "leaving": "On leaving", "growth": "Leaving to next arrival"}
MOST_CHANGES = 60  # rows of the table; each horse’s own page has its own
CALL_VET_DEG = 3.0
FORMULA = "The smallest change of one foot that is likely real is 1.96 × √2 × that scatter, as for any two readings."


def trust(results: Results) -> Section | None:
    """The error of one reading, by stage."""
    found = _staged(rows(results, "angle_precision"))
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


def _staged(found: list[Row]) -> list[Row]:
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


def changes(results: Results) -> Section | None:
    """The latest change of each foot at one stage, where it is larger than the error explains."""
    precision = [row for row in _staged(rows(results, "angle_precision")) if row["angle_at"] != "growth"]
    judged = known(precision, "changes_beyond")
    if not judged:
        return None
    found = [row for row in rows(results, "angle_changes") if row["angle_at"] != "growth"]
    herd = Herd(results)
    found.sort(key=lambda row: (-row["to_date"].toordinal(), herd.name(row["horse_id"]), row["foot"], row["angle_at"]))
    shown = found[:MOST_CHANGES]
    return Section(
        "Which changes are larger than that?",
        _changes_answer(judged, found),
        numbers=(_changes_numbers(shown, herd),) if found else (),
        notes=(
            "Each foot’s latest change at one stage, arrival with arrival or leaving with leaving, where it is larger "
            "than reading alone explains. What a foot does between leaving and arrival is growth and stands above.",
            *_left_out(len(found) - len(shown)),
        ),
    )


def _changes_answer(judged: list[Row], found: list[Row]) -> str:
    all_changes, beyond = (sum(row[name] for row in judged) for name in ("changes", "changes_beyond"))
    if not all_changes:
        return "No foot has been read twice at one stage yet."
    large = sum(abs(row["change_deg"]) > CALL_VET_DEG for row in found)
    vet = f" {whole(large)} of them {'is' if large == 1 else 'are'} over 3°, a reason to call the vet." if large else ""
    return (
        f"Of {many(all_changes, 'change')} on record {whole(beyond)} are larger ({percent(beyond / all_changes)}); "
        f"were no foot to change, 5% would be. Of the feet’s latest changes {whole(len(found))} are.{vet}"
    )


def _left_out(count: int) -> tuple[str, ...]:
    return (f"{many(count, 'earlier one')} stand on the horses’ own pages.",) if count else ()


def _changes_numbers(shown: list[Row], herd: Herd) -> Numbers:
    lines = [
        (
            herd.name(row["horse_id"]),
            FOOT_NAMES[row["foot"]],
            plain(row["angle_at"]),
            figure(row["change_deg"]),
            day(row["from_date"]),
            day(row["to_date"]),
            "Another farrier" if row["hand_changed"] else "",
        )
        for row in shown
    ]
    heads = columns("Horse", "Foot *", "Read on *", "Change, degrees", "From *", "To *", "Read by *")
    links = tuple(herd.file(row["horse_id"]) for row in shown)
    return Numbers("Changes larger than the error of reading, the latest first", heads, lines, links=links)
