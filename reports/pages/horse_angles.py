"""The sections on the angles of one horse: its readings in time, left against right, and each foot's own way."""

from datetime import date

from reports.charts.horse_angles import horse_angles
from reports.page import Numbers, Section, columns, table
from reports.picking import Row
from reports.wording import FOOT_NAMES, day, figure, listed, many, span, whole
from schemas.words import ENDS

NEVER_JOINED = (
    "Arrival and leaving are never joined: before and after a trim a foot differs by itself. Between leaving and the "
    "next arrival it grows."
)
DRAWN = "Each foot’s change and trend are drawn toward those of all feet by how few its own readings are."


def angles_of_horse(
    readings: list[Row], gaps: list[Row], drifts: list[Row], changes: list[Row], last: date
) -> Section | None:
    """Rows of one horse: horse_angles, angle_gaps, horse_angle_drift, angle_changes. last: the as-of date."""
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
        " ".join([_even(gaps), _changed(changes)]),
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


def _changed(changes: list[Row]) -> str:
    if not changes:
        return "No foot’s latest change at one stage is larger than the error of reading."
    told = [
        f"{FOOT_NAMES[row['foot']].lower()} on {row['angle_at']} by {figure(row['change_deg'])}°" for row in changes
    ]
    large = any(abs(row["change_deg"]) > 3 for row in changes)
    vet = " Over 3° is a reason to call the vet." if large else ""
    return f"Larger than the error of reading, since the visit before: {listed(told)}.{vet}"


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
            whole(row["steps"]),
            figure(row["leaving_trend_deg_per_year"], 1),
            span(row["leaving_trend_low"], row["leaving_trend_high"], 1),
        )
        for foot, name in FOOT_NAMES.items()
        for row in drifts
        if row["foot"] == foot
    ]
    heads = columns("Foot", "Degrees a week", "Likely", "Pairs of readings", "Leaving, degrees a year", "Likely")
    return Numbers("Each foot’s own change between visits, and its trend over the years", heads, lines)


def _change_numbers(changes: list[Row]) -> Numbers:
    lines = [
        (
            FOOT_NAMES[row["foot"]],
            row["angle_at"].title(),
            figure(row["change_deg"]),
            figure(row["smallest_change_deg"]),
            day(row["from_date"]),
            day(row["to_date"]),
            "Another farrier" if row["hand_changed"] else "",
        )
        for row in changes
    ]
    heads = ("Foot", "Read on *", "Change, °", "Error alone up to", "From *", "To *", "Read by *")
    return table("Latest changes larger than the error of reading", heads, lines)
