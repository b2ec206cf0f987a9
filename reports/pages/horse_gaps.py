"""The section on what the record of one horse lacks."""

from reports.page import Numbers, Section, columns
from reports.picking import Row
from reports.wording import listed, many, percent, whole

FULL_ENOUGH = 0.8
GAPS = {
    "branch_past_heel_mm": "steel behind the heel",
    "nails_medial": "nails",
    "heel_nails": "nails at the heel",
    "edges_dressed": "edges rounded or not",
    "wall_state": "state of the wall",
    "angle_leaving_deg": "angle on leaving",
    "toe_leaving_mm": "toe on leaving",
    "bruise_grade": "a look for a bruise",
    "planned_weeks": "the interval agreed",
    "cause": "what pulled it",
    "last_seen_on": "day it was last seen on",
}
COUNTED = {"feet": ("foot", "feet"), "visits": ("visit", "visits"), "losses": ("reported loss", "reported losses")}
NAILED = ("branch_past_heel_mm", "nails_medial", "heel_nails", "edges_dressed", "wall_state")


def lacks(rows: list[Row], listed_as: Row) -> Section | None:
    """How far what is read here is filled; listed_as: the horse’s row of the list."""
    found = [row for row in rows if row["column_name"] in GAPS]
    if not found:
        return None
    place = list(GAPS).index
    found.sort(key=lambda row: place(row["column_name"]))
    few = [row for row in found if row["filled"] < FULL_ENOUGH * row["rows"]]
    lines = [
        (_thing(row), percent(row["filled"] / row["rows"]), f"{whole(row['filled'])} of {_rows(row)}") for row in found
    ]
    return Section(
        "What does its record lack?",
        _lacks_answer(few),
        numbers=(Numbers("How far its record is filled", columns("What", "Filled", "Counted *"), lines),),
        notes=(_looked(listed_as),),
    )


def _lacks_answer(few: list[Row]) -> str:
    if not few:
        return f"Little: everything read here is filled in {percent(FULL_ENOUGH)} of its rows or more."
    told = [f"{_thing(row).lower()} (in {whole(row['rows'] - row['filled'])} of {_rows(row)})" for row in few]
    return f"Often blank: {listed(told)}."


def _thing(row: Row) -> str:
    return GAPS[row["column_name"]][:1].upper() + GAPS[row["column_name"]][1:]


def _rows(row: Row) -> str:
    if row["column_name"] in NAILED:
        return many(row["rows"], "shoe nailed on", "shoes nailed on")
    return many(row["rows"], *COUNTED[row["table_name"]])


def _looked(row: Row) -> str:
    if not row["feet_looked"]:
        return "None of its feet was looked at for a bruise."
    return (
        f"Bruises: seen at {whole(row['bruised_looks'])} of {many(row['feet_looked'], 'look')}; "
        f"{whole(row['feet_at_visits'] - row['feet_looked'])} times a foot was not looked at."
    )
