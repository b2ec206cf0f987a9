"""How far is each column filled, and what does that limit?"""

import polars as pl

from schemas.exports import EXPORT_TABLES, SELDOM
from schemas.results import Completeness

_LOSS_MODELS = ("loss_hazard", "loss_factors", "loss_watch", "interval_guide", "retention_interval", "retention_tests")
_SHOES = (
    "changes_tried",
    "loss_rates",
    "retention",
    "loss_causes",
    "horse_losses",
    "season_review",
    "fit_by_pace",
    *_LOSS_MODELS,
)
_BRUISES = ("bruise_recurrence", "bruise_burden", "bruise_patterns")
_LEAVING = ("angle_trend", "angle_gaps", "handedness")
_ANGLES = ("angle_drift", *_LEAVING)
_FEET = (*_BRUISES, *_ANGLES)
# Where in its life a shoe came off: the call-outs that say so too.
_DATED = ("loss_hazard", "interval_guide", "due_list", "loss_dating")
_LATE = ("lateness", "due_list", "horse_intervals")
_BY_DISCIPLINE = (
    "changes_tried",
    "loss_rates",
    "retention",
    "horse_losses",
    "interval_lengths",
    *_BRUISES,
    "angle_drift",
    "angle_trend",
    "angle_gaps",
    *_LOSS_MODELS,
)
_EVERY = (*_SHOES, *_LATE, "interval_lengths", *_FEET, "workload", "season_compare")
_FACTOR = ("loss_factors",)
_VISIT_SUMS = ("season_review", "season_compare", "workload")

# Which results lack something where the column is blank. A column that is not here is kept and used by none yet.
USED_BY: dict[str, dict[str, tuple[str, ...]]] = {
    "horses": {
        "horse_id": _EVERY,
        "horse_name": (
            "angle_gaps",
            "changes_tried",
            "due_list",
            "horse_losses",
            "interval_guide",
            "lateness",
            "season_compare",
        ),
        "discipline": (*_BY_DISCIPLINE, "due_list", "fit_by_pace", "loss_dating"),
        "yard": ("due_list", "interval_lengths", "loss_rates"),
        "turnout": _FACTOR,
    },
    "visits": {
        "visit_id": _EVERY,
        "horse_id": (*_EVERY, "loss_dating"),
        "visit_date": (*_EVERY, "loss_dating"),
        "farrier": ("angle_gaps", "handedness", "loss_rates", "season_compare", "workload", *_FACTOR),
        "visit_kind": ("interval_lengths", "lateness", "horse_intervals", *_DATED, *_VISIT_SUMS),
        "minutes": _VISIT_SUMS,
        "fee": ("season_compare", "workload"),
        "travel_km": _VISIT_SUMS,
        "planned_weeks": ("interval_guide", "interval_lengths", "loss_hazard", *_LATE, *_FACTOR),
        "handling": ("season_compare", *_FACTOR),
    },
    "feet": {
        "visit_id": (*_SHOES, *_FEET, "workload"),
        "foot": (*_SHOES, *_FEET, "due_list"),
        "arrival": (*_SHOES, "angle_drift", "angle_trend", "due_list"),
        "work": (*_SHOES, "due_list", "angle_drift", "angle_gaps", "angle_trend", "season_compare", "workload"),
        "shoe_style": ("loss_rates", "retention_tests", "bruise_recurrence", *_FACTOR),
        "shoe_material": _FACTOR,
        "branch_past_heel_mm": ("fit_by_pace", *_FACTOR),
        "nails_medial": ("handedness", *_FACTOR),
        "nails_lateral": ("handedness", *_FACTOR),
        "heel_nails": _FACTOR,
        "nail_line": _FACTOR,
        "clips": _FACTOR,
        "pad": _FACTOR,
        "fitting": _FACTOR,
        "edges_dressed": _FACTOR,
        "sole_relief": ("bruise_burden", "bruise_recurrence", *_FACTOR),
        "wall_state": ("handedness", *_FACTOR),
        "wall_side": ("handedness", *_FACTOR),
        "bruise_grade": (*_BRUISES, "lateness"),
        "bruise_site": _BRUISES,
        "angle_arrival_deg": ("angle_drift", "angle_gaps", "lateness"),
        "angle_leaving_deg": (*_ANGLES, "lateness", *_FACTOR),
        "toe_leaving_mm": ("angle_drift", "angle_trend", "handedness", *_FACTOR),
    },
    "losses": {
        "horse_id": (*_SHOES, "due_list", "loss_dating"),
        "foot": _SHOES,
        "found_off": (*_SHOES, "due_list", "loss_dating"),
        "last_seen_on": _SHOES,
        "cause": ("loss_causes",),
    },
    "changes": dict.fromkeys(("horse_id", "foot", "changed_on", "what"), ("changes_tried",)),
}


def _filled(table: str, columns: list[str]) -> str:
    counts = ", ".join(f'count("{column}") as "{column}"' for column in columns)
    return f'select count(*) as "rows", {counts} from accepted.{table}'


COUNTS = {name: _filled(name, list(table.columns())) for name, table in EXPORT_TABLES.items()}


def completeness(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """Rows in force in which each column of each export table is filled, and the results it limits → `completeness`."""
    there = {table: frame for table, frame in counts.items() if frame["rows"][0] or table not in SELDOM}
    rows = [_row(table, column, frame) for table, frame in there.items() for column in frame.columns[1:]]
    return {"completeness": Completeness.check(pl.DataFrame(rows, schema=Completeness.dtypes(), orient="row"))}


def _row(table: str, column: str, frame: pl.DataFrame) -> tuple:
    rows, filled = frame["rows"][0], frame[column][0]
    used_by = ", ".join(sorted(USED_BY[table].get(column, ())))
    return table, column, rows, filled, filled / rows if rows else None, used_by
