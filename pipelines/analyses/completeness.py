"""How far is each column filled, and what does that limit?"""

import polars as pl

from schemas.exports import EXPORT_TABLES
from schemas.results import Completeness

_SHOES = ("loss_rates", "retention", "loss_causes", "horse_losses", "season_review")
_FEET = ("bruise_recurrence", "angle_drift")
_BY_DISCIPLINE = ("loss_rates", "retention", "horse_losses", "interval_lengths", *_FEET)
_EVERY = (*_SHOES, "interval_lengths", *_FEET, "workload")
_ANGLES = ("angle_drift",)
_VISIT_SUMS = ("season_review", "workload")

# Which results lack something where the column is blank. A column that is not here is kept and used by none yet.
USED_BY: dict[str, dict[str, tuple[str, ...]]] = {
    "horses": {
        "horse_id": _EVERY,
        "horse_name": ("horse_losses",),
        "discipline": _BY_DISCIPLINE,
        "yard": ("loss_rates", "interval_lengths"),
    },
    "visits": {
        "visit_id": _EVERY,
        "horse_id": _EVERY,
        "visit_date": _EVERY,
        "farrier": ("loss_rates", "workload"),
        "visit_kind": ("interval_lengths", "season_review", "workload"),
        "minutes": _VISIT_SUMS,
        "fee": ("workload",),
        "travel_km": _VISIT_SUMS,
        "planned_weeks": ("interval_lengths",),
    },
    "feet": {
        "visit_id": (*_SHOES, *_FEET, "workload"),
        "foot": (*_SHOES, *_FEET),
        "arrival": _SHOES,
        "work": (*_SHOES, "angle_drift", "workload"),
        "shoe_style": ("loss_rates", "bruise_recurrence"),
        "sole_relief": ("bruise_recurrence",),
        "bruise_grade": ("bruise_recurrence",),
        "bruise_site": ("bruise_recurrence",),
        "angle_arrival_deg": _ANGLES,
        "angle_leaving_deg": _ANGLES,
    },
    "losses": {
        "horse_id": _SHOES,
        "foot": _SHOES,
        "found_off": _SHOES,
        "last_seen_on": _SHOES,
        "cause": ("loss_causes",),
    },
}


def _filled(table: str, columns: list[str]) -> str:
    counts = ", ".join(f'count("{column}") as "{column}"' for column in columns)
    return f'select count(*) as "rows", {counts} from accepted.{table}'


COUNTS = {name: _filled(name, list(table.columns())) for name, table in EXPORT_TABLES.items()}


def completeness(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """Rows in force in which each column of each export table is filled, and the results it limits → `completeness`."""
    rows = [_row(table, column, frame) for table, frame in counts.items() for column in frame.columns[1:]]
    return {"completeness": Completeness.check(pl.DataFrame(rows, schema=Completeness.dtypes(), orient="row"))}


def _row(table: str, column: str, frame: pl.DataFrame) -> tuple:
    rows, filled = frame["rows"][0], frame[column][0]
    used_by = ", ".join(sorted(USED_BY[table].get(column, ())))
    return table, column, rows, filled, filled / rows if rows else None, used_by
