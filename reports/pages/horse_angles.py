"""The sections on the angles of one horse: its readings in time, left against right, and each foot's own way."""

from collections import Counter
from datetime import date

from reports.charts.horse_angles import horse_angles
from reports.page import Numbers, Section, columns, table
from reports.pages.angles_beyond import CALL_VET_DEG, growth_part, remains
from reports.picking import Row
from reports.wording import FOOT_NAMES, day, figure, listed, many, span, whole
from schemas.words import ENDS

NEVER_JOINED = (
    "Arrival and leaving are never joined: before and after a trim a foot differs by itself. Between leaving and the "
    "next arrival it grows."
)
DRAWN = (
    "Each foot’s change and trend are drawn toward those of its peers, shod with shod and bare with bare, by how few "
    "its own readings are."
)
BEYOND = "Latest changes larger than error and growth explain"


def angles_of_horse(
    readings: list[Row], gaps: list[Row], drifts: list[Row], changes: list[Row], last: date, error_known: bool
) -> Section | None:
    """Rows of one horse: horse_angles, angle_gaps, horse_angle_drift, angle_changes.

    last: the as-of date. error_known: whether the practice's error of reading is; without it no change is judged.
    """
    if not readings:
        return None
    charts = [horse_angles(readings, column, last) for column in ("angle_deg", "toe_mm")]
    place = list(FOOT_NAMES).index
    changes = [row for row in changes if row["angle_at"] != "growth"]
    changes.sort(key=lambda row: (place(row["foot"]), row["angle_at"]))
    tables = [_foot_numbers(drifts)] if drifts else []
    tables += [_gap_numbers(gaps)] if gaps else []
    tables += [_change_numbers(changes)] if changes else []
    return Section(
        "How have its angles and toes gone?",
        " ".join([_even(gaps), _changed(changes, readings, error_known)]),
        tuple(chart for chart in charts if chart),
        tuple(tables),
        (NEVER_JOINED, DRAWN) if drifts else (NEVER_JOINED,),
    )


def _even(gaps: list[Row]) -> str:
    if not gaps:
        return "No two feet of a pair have been read on leaving at one visit."
    told = [_pair(row) for end in ENDS for row in gaps if row["end"] == end]
    return f"When last read on leaving, {'; '.join(told)}. Over {figure(gaps[0]['cut_off_deg'])}° is called uneven."


def _pair(row: Row) -> str:
    gap = row["latest_gap_deg"]
    which = f"the {row['end']} feet"
    if not gap:
        return f"{which} stood alike"
    verdict = ", uneven" if row["latest_uneven"] else ""
    return f"{which} differed by {figure(abs(gap))}°, the {'left' if gap > 0 else 'right'} being steeper{verdict}"


def _changed(changes: list[Row], readings: list[Row], error_known: bool) -> str:
    read = Counter((row["foot"], row["angle_at"]) for row in readings if row["angle_deg"] is not None)
    if max(read.values(), default=0) < 2:
        return "No foot has been read twice at one stage."
    if not error_known:
        return "How large the error of reading is, is not known yet, so no change is called large."
    if not changes:
        return "No foot’s latest change at one stage that can be judged is larger than error and growth explain."
    large = any(abs(remains(row)) > CALL_VET_DEG for row in changes)
    vet = " Over 3° at one stage, without growth, is a reason to call the vet." if large else ""
    return f"Larger than error and growth explain: {listed([_change(row) for row in changes])}.{vet}"


def _change(row: Row) -> str:
    growth = f", of which growth explains {figure(row['growth_deg'])}°" if row["angle_at"] == "arrival" else ""
    return (
        f"{FOOT_NAMES[row['foot']].lower()} on {row['angle_at']} by {figure(row['change_deg'])}° from "
        f"{day(row['from_date'])} to {day(row['to_date'])}{growth}"
    )


def _gap_numbers(gaps: list[Row]) -> Numbers:
    lines = [
        (
            f"{end.title()} feet",
            figure(row["latest_gap_deg"]),
            day(row["measured_on"]),
            figure(row["cut_off_deg"]),
            figure(row["mean_gap_deg"]),
            f"{whole(row['uneven_visits'])} of {many(row['visits'], 'visit')}",
        )
        for end in ENDS
        for row in gaps
        if row["end"] == end
    ]
    heads = columns("Pair", "Latest gap", "Read on *", "Uneven over", "Mean gap", "Uneven *")
    return Numbers("Left minus right on leaving, in degrees", heads, lines)


def _foot_numbers(drifts: list[Row]) -> Numbers:
    lines = [
        (
            name,
            figure(row["deg_per_week"], 2),
            span(row["low"], row["high"], 2),
            figure(row["peers_deg_per_week"], 2),
            whole(row["steps"]),
            figure(row["leaving_trend_deg_per_year"], 1),
            span(row["leaving_trend_low"], row["leaving_trend_high"], 1),
        )
        for foot, name in FOOT_NAMES.items()
        for row in drifts
        if row["foot"] == foot
    ]
    heads = columns(
        "Foot", "Degrees a week", "Likely", "Peers", "Pairs of readings", "Leaving, degrees a year", "Likely"
    )
    return Numbers("Each foot’s own change between visits, and its trend over the years", heads, lines)


def _change_numbers(changes: list[Row]) -> Numbers:
    lines = [
        (
            FOOT_NAMES[row["foot"]],
            row["angle_at"].title(),
            figure(row["change_deg"]),
            growth_part(row),
            figure(remains(row)),
            figure(row["smallest_change_deg"]),
            day(row["from_date"]),
            day(row["to_date"]),
            "Another farrier" if row["hand_changed"] else "",
        )
        for row in changes
    ]
    heads = ("Foot", "Read on *", "Change, °", "Of it growth", "Remains", "Error up to", "From *", "To *", "Read by *")
    return table(BEYOND, heads, lines)
