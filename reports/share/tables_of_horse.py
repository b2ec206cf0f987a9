"""One horse's rows as tables of words, newest first."""

from datetime import date
from typing import Any

from reports.page import Numbers, columns
from reports.share.shoe_changes import listed_changes
from reports.wording import BLANK, figure, from_to, level_name, many, plain
from schemas.words import FEET

Rows = list[dict[str, Any]]
NAMES = ("visits", "on_the_feet", "shoes", "losses", "bruise_looks", "readings", "gaps", "changes", "asks")
ENDED = {"lost": "lost", "renewed": "renewed", "taken_off": "taken off", "running": "still on, or not heard of"}


def tables(rows: dict[str, Rows], as_of: date) -> dict[str, Numbers]:
    """The tables of a horse's page by name. rows: `schemas.shared` rows of this horse alone."""
    return {
        "now": on_the_feet(rows["on_the_feet"], as_of),
        "losses": _losses(rows["losses"]),
        "bruises": _bruises(rows["bruise_looks"]),
        "visits": _visits(rows["visits"]),
        "changes": _changes(rows["changes"]),
        "gaps": _gaps(rows["gaps"]),
        "readings": _readings(rows["readings"]),
        "shoes": _shoes(rows["shoes"]),
    }


def visits_said(visits: Rows, since: str) -> str:
    """Intervals against plan, counted. since: `Since 1 May 2026: `, or blank where the whole record is told."""
    spans = [row["days"] for row in visits if row["days"] is not None]
    late = [row["days_late"] for row in visits if row["days_late"] is not None]
    if not spans:
        when = "in that time" if since else "yet"
        return f"{since}{many(len(visits), 'visit')}; no interval between two rounds {when}."
    lengths = f"intervals of {from_to(min(spans), max(spans))} days"
    if len(spans) == 1:
        lengths = f"one interval, {many(spans[0], 'day')}"
    told = f"{since}{many(len(visits), 'visit')}; {lengths}"
    over = sum(value > 7 for value in late)
    return f"{told}; more than a week past the plan {over} of {many(len(late), 'time')} that had one."


def gaps_said(gaps: Rows, since: str) -> str:
    """Left-right gaps on leaving: how many are uneven, and the last of each pair. since: as in `visits_said`."""
    leaving = [row for row in gaps if row["stage"] == "leaving"]
    if not leaving:
        return f"{since}{'no' if since else 'No'} pair of feet was read on both sides on leaving."
    uneven = sum(row["uneven"] for row in leaving)
    last = {row["end"]: row for row in leaving}
    told = "; ".join(f"{end} {_signed(row['gap_deg'])}° on {row['visit_date']}" for end, row in sorted(last.items()))
    first = f"{since}{'left' if since else 'Left'} minus right on leaving, last: {told}."
    return f"{first} Over 1.5° either way in {uneven} of {len(leaving)} pairs."


def _signed(value: float) -> str:
    return ("+" if value > 0 else "") + figure(value)


def on_the_feet(shoes: Rows, as_of: date) -> Numbers:
    """What is on each foot. shoes: the last one of each, and what became of it."""
    last = {row["foot"]: row for row in shoes}
    rows = [
        (level_name("foot", foot), *_on_foot(last[foot], as_of))
        if foot in last
        else (level_name("foot", foot), "no shoe on record", BLANK, BLANK, BLANK)
        for foot in FEET
    ]
    heads = columns("Foot", "Shoe *", "Nailed on *", "Style *", "Material *")
    return Numbers(f"On the feet, {as_of}", heads, rows, open=True)


def _on_foot(shoe: dict[str, Any], as_of: date) -> tuple[str, ...]:
    kind = tuple(plain(shoe[word]) if shoe[word] else BLANK for word in ("shoe_style", "shoe_material"))
    state = {
        "running": "on" if shoe["off_on"] == as_of else f"not heard of since {shoe['off_on']}",
        "lost": f"lost by {shoe['lost_by']}, none since",
        "taken_off": f"bare since {shoe['off_on']}",
        "renewed": "renewed",
    }
    gone = shoe["end_reason"] in ("lost", "taken_off")
    return state[shoe["end_reason"]], *((BLANK,) * 3 if gone else (str(shoe["fitted_on"]), *kind))


def _losses(losses: Rows) -> Numbers:
    rows = [
        (
            level_name("foot", row["foot"]),
            from_to(row["lost_after"], row["lost_by"]),
            from_to(row["days_least"], row["days_most"]),
            plain(row["cause"]) if row["cause"] else "not told",
        )
        for row in reversed(losses)
    ]  # fmt: skip
    return Numbers("Lost shoes", columns("Foot", "Came off between *", "Days on *", "Cause as reported *"), rows)


def _bruises(looks: Rows) -> Numbers:
    rows = [
        (
            str(row["visit_date"]),
            level_name("foot", row["foot"]),
            level_name("site", row["bruise_site"]) if row["bruise_site"] else "site not told",
            str(row["bruise_grade"]),
            "same site" if row["same_site_again"] else "yes" if row["again"] else "",
        )
        for row in reversed(looks)
        if (row["bruise_grade"] or 0) >= 1
    ]
    return Numbers("Bruises found", columns("Day", "Foot *", "Site *", "Grade", "Again *"), rows)


def _visits(visits: Rows) -> Numbers:
    rows = [
        (
            str(row["visit_date"]),
            level_name("visit_kind", row["visit_kind"]),
            BLANK if row["days"] is None else str(row["days"]),
            BLANK if row["planned_weeks"] is None else f"{7 * row['planned_weeks']:.0f}",
            BLANK if row["days_late"] is None else _signed(row["days_late"]).removesuffix(".0"),
        )
        for row in reversed(visits)
    ]
    return Numbers("Visits", columns("Day", "Kind *", "Days since round", "Planned", "Late by"), rows)


def _changes(changes: Rows) -> Numbers:
    rows = [(one.day, one.feet, one.what, one.step) for one in listed_changes(changes)]
    return Numbers("What changed", columns("Day", "Feet *", "What *", "From and to *"), rows)


def _gaps(gaps: Rows) -> Numbers:
    rows = [
        (str(row["visit_date"]), row["end"], row["stage"], figure(row["left_deg"]), figure(row["right_deg"]),
         _signed(row["gap_deg"]), "uneven" if row["uneven"] else "")
        for row in reversed(gaps)
    ]  # fmt: skip
    heads = columns("Day", "Pair *", "Stage *", "Left °", "Right °", "Gap °", "Over 1.5° *")
    return Numbers("Left-right gap", heads, rows)


def _readings(readings: Rows) -> Numbers:
    rows = [
        (str(row["visit_date"]), level_name("foot", row["foot"]), row["stage"], figure(row["angle_deg"]),
         figure(row["toe_mm"]))
        for row in reversed(readings)
    ]  # fmt: skip
    return Numbers("Angles and toes", columns("Day", "Foot *", "Stage *", "Angle °", "Toe mm"), rows)


def _shoes(shoes: Rows) -> Numbers:
    rows = [
        (str(row["fitted_on"]), level_name("foot", row["foot"]), ENDED[row["end_reason"]], str(row["off_on"] or BLANK),
         *(plain(row[word]) if row[word] else BLANK for word in ("shoe_style", "shoe_material")),
         BLANK if row["nails"] is None else str(row["nails"]), figure(row["branch_past_heel_mm"]))
        for row in reversed(shoes)
    ]  # fmt: skip
    heads = columns("Nailed on", "Foot *", "Ended *", "Day *", "Style *", "Material *", "Nails", "Behind heel mm")
    return Numbers("Shoes", heads, rows)
