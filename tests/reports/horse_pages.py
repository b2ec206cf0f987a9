"""Made-up results for pages of horses: shoes in time, visits, fit of lost beside kept, gaps and the guide."""

from datetime import date, timedelta
from typing import Any

Rows = list[dict[str, Any]]
FIRST = date(2024, 11, 4)
FEET = ("LF", "RF", "LH", "RH")


def listed_horse(place: int, horse_id: str, name: str, discipline: str = "trail", **more: Any) -> dict[str, Any]:
    """One horse on record, with the page of that place, from 0."""
    row = {"horse_id": horse_id, "page_no": place + 1, "horse_name": name, "discipline": discipline, "visits": 11}
    row |= {"first_visit_on": FIRST, "last_visit_on": FIRST + timedelta(days=420)}
    return {**row, "yard": "Yard 1", "feet_at_visits": 44, "feet_looked": 40, "bruised_looks": 3, **more}


def shoe(horse_id: str, foot: str, fitted_on: date, days: int, reason: str = "renewed", **more: Any) -> dict[str, Any]:
    """One shoe on for so many days. A lost one is known to have been on until half-way."""
    row = {"horse_id": horse_id, "foot": foot, "fitted_on": fitted_on, "ended_on": fitted_on + timedelta(days=days)}
    row |= {"end_reason": reason, "days_on": days, "branch_past_heel_mm": 4.5, "nails": 6, "wall_state": "sound"}
    if reason == "lost":
        row |= {"lost_after": fitted_on + timedelta(days=days // 2), "lost_by": fitted_on + timedelta(days=days + 4)}
    return {**row, **more}


def fit(horse_id: str, measure: str, lost: float | None, kept: float, differs: bool | None = False, **more: Any):
    """One thing in the fit of front shoes: 4 lost, 30 kept."""
    row = {"horse_id": horse_id, "end": "front", "fit_measure": measure, "lost_shoes": 0 if lost is None else 4}
    return {**row, "lost_figure": lost, "kept_shoes": 30, "kept_figure": kept, "differs": differs, **more}


def gap(horse_id: str, column: str, rows: int, filled: int, table: str = "feet") -> dict[str, Any]:
    """How far one column is filled."""
    return {"horse_id": horse_id, "table_name": table, "column_name": column, "rows": rows, "filled": filled}


def guide(dimension: str, level: str, a_week: float) -> Rows:
    """Chance of a loss that rises by so much a week."""
    return [
        {"dimension": dimension, "level": level, "weeks": weeks, "shoes_at_once": 4, "expected_losses": a_week * weeks,
         "losses_per_year": 52 * a_week, "chance_of_a_loss": a_week * weeks, "low": a_week * weeks / 2,
         "high": a_week * weeks * 2}
        for weeks in range(4, 11)
    ]  # fmt: skip


def own_pages(herd: Rows) -> dict[str, Rows]:
    """The tables of these horses' pages, by name. Each lost a shoe of the left fore now and then."""
    shoes, visits, fits, gaps = [], [], [], []
    for place, horse in enumerate(herd):
        key = horse["horse_id"]
        visits += [visit(key, FIRST + timedelta(days=42 * turn)) for turn in range(11)]
        visits.append(visit(key, FIRST + timedelta(days=118), "lost_shoe"))
        shoes += [one for foot in FEET for one in _worn(key, foot, place)]
        fits += [
            fit(key, "branch_past_heel_mm", 8.5, 4.0, True),
            fit(key, "clips", 0.5, 0.6),
            fit(key, "nails", None, 6),
        ]
        fits += [fit(key, "hind_toe_leaving_mm", 88.0, 82.0), fit(key, "hind_shod", 1.0, 1.0)]
        gaps += [gap(key, "wall_state", 40, 40), gap(key, "bruise_grade", 44, 20), gap(key, "cause", 4, 1, "losses")]
    found = [
        listed_horse(place, horse["horse_id"], horse["horse_name"], horse["discipline"])
        for place, horse in enumerate(herd)
    ]
    return {
        "horse_list": found,
        "horse_shoes": shoes,
        "horse_visits": visits,
        "horse_fit": fits,
        "horse_gaps": gaps,
    }


def visit(horse_id: str, day: date, kind: str = "routine") -> dict[str, Any]:
    """One visit."""
    return {"horse_id": horse_id, "visit_date": day, "visit_kind": kind}


def _worn(horse_id: str, foot: str, place: int) -> Rows:
    rows = []
    for turn in range(11):
        lost = foot == "LF" and turn % 3 == place % 3
        start = FIRST + timedelta(days=42 * turn)
        reason = "lost" if lost else "running" if turn == 10 else "renewed"
        rows.append(shoe(horse_id, foot, start, 24 if lost else 42, reason, cause="caught" if lost else None))
    return rows
