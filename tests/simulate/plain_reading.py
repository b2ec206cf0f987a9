"""A slow second reading of an export, foot by foot with plain loops: what cannot be true, and what became of shoes."""

from collections import defaultdict
from datetime import date
from itertools import pairwise

import polars as pl

NAILED = ("fit_new", "reset")


def feet_in_order(visits: pl.DataFrame, feet: pl.DataFrame) -> dict[tuple[str, str], list[dict]]:
    """(horse_id, foot) → its rows by date."""
    rows = feet.join(visits.select("visit_id", "horse_id", "visit_date"), on="visit_id").sort("visit_date", "visit_id")
    found = defaultdict(list)
    for row in rows.iter_rows(named=True):
        found[row["horse_id"], row["foot"]].append(row)
    return found


def reports_by_foot(losses: pl.DataFrame) -> dict[tuple[str, str], list[dict]]:
    """(horse_id, foot) → reports by the day found."""
    found = defaultdict(list)
    for row in losses.sort("found_off").iter_rows(named=True):
        found[row["horse_id"], row["foot"]].append(row)
    return found


def contradictions(tables: dict[str, pl.DataFrame], last_day: date) -> list[str]:
    """Every sentence that tells of something that cannot have happened."""
    reports = reports_by_foot(tables["losses"])
    found = []
    for key, rows in feet_in_order(tables["visits"], tables["feet"]).items():
        found += [f"{key}: {text}" for text in _of_foot(rows, reports.pop(key, []), last_day)]
    found += [f"{key}: reported, never seen" for key in reports]
    days = tables["visits"].group_by("horse_id").agg(pl.col("visit_date").sort())
    for horse, dates in days.iter_rows():
        if any(a == b for a, b in pairwise(dates)):
            found.append(f"{horse}: two visits on one day")
    return found + _losses_without_a_visit(tables)


def _of_foot(rows: list[dict], reports: list[dict], last_day: date):
    shod, nailed_on = None, None
    waiting = list(reports)
    for row in rows:
        while waiting and nailed_on and nailed_on < waiting[0]["found_off"] <= row["visit_date"]:
            yield from _report(waiting.pop(0), nailed_on, row["arrival"] == "off")
        yield from _row(row, shod, last_day)
        shod = row["work"] in NAILED or (row["work"] == "none" and row["arrival"] in ("on", "sprung"))
        nailed_on = row["visit_date"] if row["work"] in NAILED else nailed_on if shod else None
    for report in waiting:
        if nailed_on is None or report["found_off"] > last_day:
            yield f"{report['loss_id']} finds no shoe"
        else:
            yield from _report(report, nailed_on, True)


def _row(row: dict, shod: bool | None, last_day: date):
    if row["visit_date"] > last_day:
        yield "seen after the last day"
    if shod is not None and (row["arrival"] == "bare") == shod:
        yield f"{row['visit_id']} arrival {row['arrival']} after being {'shod' if shod else 'bare'}"
    if row["arrival"] == "off" and row["work"] == "none":
        yield f"{row['visit_id']} off and left so"


def _report(report: dict, nailed_on: date, off: bool):
    if not off:
        yield f"{report['loss_id']} reported off, yet the shoe came back on"
    seen = report["last_seen_on"]
    if seen and not nailed_on <= seen <= report["found_off"]:
        yield f"{report['loss_id']} last seen on {seen}"


def _losses_without_a_visit(tables: dict[str, pl.DataFrame]) -> list[str]:
    """Feet reported off that the horse's next visit leaves out."""
    visits = tables["visits"].select("visit_id", "horse_id", "visit_date").sort("visit_date")
    after = (
        tables["losses"]
        .sort("found_off")
        .join_asof(visits, left_on="found_off", right_on="visit_date", by="horse_id", strategy="forward")
        .drop_nulls("visit_id")
        .join(tables["feet"].filter(arrival="off"), on=["visit_id", "foot"], how="anti")
    )
    return [f"{loss} is forgotten at the next visit" for loss in after["loss_id"]]


def shoes(tables: dict[str, pl.DataFrame], last_day: date, follow_up: int = 84) -> pl.DataFrame:
    """One row a shoe nailed on: its foot row, the horse's discipline, fitted_on, days_on, lost."""
    reports = reports_by_foot(tables["losses"])
    spells = []
    for key, rows in feet_in_order(tables["visits"], tables["feet"]).items():
        seen = [row for row in rows if row["work"] != "none" or row["arrival"] == "off"]
        for row, following in zip(seen, [*seen[1:], None][: len(seen)], strict=True):
            if row["work"] in NAILED:
                spells.append(row | _end(row, following, reports[key], last_day, follow_up))
    if not spells:
        return pl.DataFrame(schema={"horse_id": pl.String, "lost": pl.Boolean})
    found = pl.DataFrame(spells, infer_schema_length=None)
    return found.join(tables["horses"].select("horse_id", "discipline", "turnout"), on="horse_id")


def _end(row: dict, following: dict | None, reports: list[dict], last_day: date, follow_up: int) -> dict:
    fitted = row["visit_date"]
    until = following["visit_date"] if following else last_day
    told = [r["found_off"] for r in reports if fitted < r["found_off"] <= until]
    lost = bool(told) or (following is not None and following["arrival"] == "off")
    if told:
        days = (min(told) - fitted).days
    elif lost:
        days = ((until - fitted).days + 1) // 2
    else:
        days = (until - fitted).days if following else min((until - fitted).days, follow_up)
    return {"fitted_on": fitted, "days_on": days, "lost": lost}
