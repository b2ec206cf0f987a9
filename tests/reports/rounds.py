"""Made-up results on intervals, the due list and the season: late visits, days to come, two seasons compared."""

from datetime import UTC, date, datetime, timedelta
from typing import Any

Rows = list[dict[str, Any]]
AS_OF = date(2026, 3, 31)
LOADED_AT = datetime(2026, 3, 31, 18, 4, 9, 500_000, UTC)
BANDS = ("more than 7 days early", "within 7 days", "8 to 14 days late", "15 to 28 days late", "over 28 days late")
PAST = (
    "before it was due",
    "1 to 7 days past",
    "8 to 14 days past",
    "15 to 28 days past",
    "over 28 days past",
    "on any day past it",
    "no day agreed",
)
MONDAY = date(2026, 3, 30)


def past(level: str, per_1000: float, losses: int = 20, **more: Any) -> dict[str, Any]:
    """Shoes while they were so long past their plan: their rate, with limits a third below and half above it."""
    row = {"dimension": "days_past_plan", "level": level, "horses": 12, "shoes": 300, "losses": losses}
    row |= {"shoe_days": 1000 * losses / per_1000 if per_1000 else 900.0, "per_1000_days": per_1000}
    row |= {"low": per_1000 / 1.5, "high": per_1000 * 1.5}
    if losses < 2:
        return {**row, "note": "fewer than 2 losses: the rate means little", **more}
    return {**row, "low_clustered": per_1000 / 1.5, "high_clustered": per_1000 * 1.6, **more}


def band(level: str, change: float | None, again: float | None = 0.4, **more: Any) -> dict[str, Any]:
    """What lies between two visits, the second so late: the fall of the angle and the bruises."""
    row = {**past(level, 2.0), "dimension": "interval", "intervals": 90, "steps_clear": 60, "clear_to_bruised": 3}
    row |= {"chance_new": 0.05, "new_low": 0.02, "new_high": 0.12, "horses_clear": 11}
    row |= {"steps_bruised": 20, "bruised_to_bruised": 8, "horses_bruised": 7}
    if change is not None:
        row |= {"steps": 80, "mean_change_deg": change, "change_low": change - 0.3, "change_high": change + 0.3}
    if again is not None:
        row |= {"chance_again": again, "again_low": again / 2, "again_high": min(1.0, 1.5 * again)}
    return {**row, **more}


def trend(horse_id: str, name: str, later: float | None, **more: Any) -> dict[str, Any]:
    """How much later one horse is seen each year, with limits 2 days either side; None: too few intervals."""
    row = {"horse_id": horse_id, "horse_name": name, "intervals": 9 if later is not None else 2, "mean_days_late": 3.5}
    if later is None:
        return {**row, "note": "fewer than 4 intervals with a plan", **more}
    return {**row, "days_later_per_year": later, "low": later - 2, "high": later + 2, "slipping": later > 2, **more}


def due_on(horse_id: str, name: str, overdue: int | None, **more: Any) -> dict[str, Any]:
    """One horse due so many days before the as-of date, negative after it; None: on no day that is known."""
    row = {"horse_id": horse_id, "horse_name": name, "yard": "Yard 1", "last_visit_on": AS_OF - timedelta(days=30)}
    row |= {"round_visit_id": f"V-{horse_id}", "shoes_on": 4, "chance_lost": 0.03, "silent": False}
    if overdue is None:
        return {**row, "note": "no interval agreed, and too few of its own to go by", **more}
    return {**row, "planned_weeks": 6.0, "due_on": AS_OF - timedelta(days=overdue), "days_overdue": overdue, **more}


def silent(horse_id: str, name: str) -> dict[str, Any]:
    """A horse not seen for two years."""
    row = due_on(horse_id, name, 690, shoes_on=0, chance_lost=None, silent=True)
    return {**row, "last_visit_on": date(2024, 3, 29), "note": "no visit for over 26 weeks: it may have left"}


def entry(row: dict[str, Any], seen: int | None = None, **more: Any) -> dict[str, Any]:
    """The calendar's entry of a horse of the due list; seen: days before the as-of date on which it was seen again."""
    found = {name: row.get(name) for name in ("horse_id", "round_visit_id", "due_on", "planned_weeks")}
    found |= {"revised_at": LOADED_AT.replace(tzinfo=None), "revision": 828_000_000}
    return {**found, "seen_again_on": None if seen is None else AS_OF - timedelta(days=seen), **more}


def entries(herd: Rows) -> Rows:
    """The calendar's entries of these horses of the due list."""
    return [entry(row) for row in herd if row.get("due_on") and not row["silent"]]


def coming(weeks: int, expected: float | None = 9.4, **more: Any) -> dict[str, Any]:
    """The week so many weeks from the first; None: too little to judge lateness by."""
    row = {"starts_on": MONDAY + timedelta(weeks=weeks), "horses_due": 10 + weeks}
    if expected is None:
        return {**row, "note": "fewer than 20 intervals with a plan to judge lateness by", **more}
    return {**row, "horses_beyond": 0, "visits_expected": expected, "low": 5.0, "high": 15.0, **more}


def season(which: str = "this", **more: Any) -> dict[str, Any]:
    """One of the two seasons compared."""
    year = 2025 if which == "this" else 2024
    row = {"which": which, "start": date(year, 4, 1), "stop": date(year + 1, 3, 31), "visits": 326, "horses": 12}
    row |= {"days_worked": 140, "minutes": 18000.0, "travel_km": 6400.0, "shoes_nailed": 900, "losses": 41}
    row |= {"shoe_days": 30000.0, "per_1000_days": 1.37, "low": 0.98, "high": 1.85, "lost_shoe_visits": 22}
    row |= {"lost_shoe_minutes": 550.0, "lost_shoe_km": 396.0, "fee": 27000.0, "lost_shoe_fee": 330.0}
    row |= {"intervals": 280, "median_days": 44.0}
    row |= dict.fromkeys(("timed", "driven", "charged"), row["visits"])
    row |= dict.fromkeys(("lost_shoe_timed", "lost_shoe_driven", "lost_shoe_charged"), row["lost_shoe_visits"])
    if which == "this":
        row |= {"ratio": 1.14, "ratio_low": 0.72, "ratio_high": 1.81}
    return {**row, **more}


def load(horses: int, days: int, which: str = "this") -> dict[str, Any]:
    """So many days of a farrier with so many horses."""
    return {"which": which, "horses_a_day": horses, "farrier_days": days}


def turned(horse_id: str, name: str, standing: str) -> dict[str, Any]:
    """A horse new, kept, returned or gone."""
    first = date(2025, 6, 2) if standing == "new" else date(2024, 5, 6)
    last = date(2025, 1, 20) if standing == "gone" else date(2026, 3, 2)
    return {"horse_id": horse_id, "horse_name": name, "first_visit_on": first, "last_visit_on": last,
            "standing": standing}  # fmt: skip


def took(dimension: str, level: str, median: float | None, visits: int = 60) -> dict[str, Any]:
    """How long visits of one kind took; None: none has its minutes on record."""
    row = {"dimension": dimension, "level": level, "visits": visits, "timed": visits - 2 if median else 0}
    if median is None:
        return {**row, "note": "fewer than 10 visits with minutes"}
    return {**row, "median_minutes": median, "p25_minutes": median - 8, "p75_minutes": median + 9}


def own_intervals(horse_id: str, plans: tuple[int | None, ...] = (6, 6, None, 7, 6)) -> dict[str, Rows]:
    """The intervals of one horse, each 3 days longer than the one before it, the first 40 days long."""
    start, found = date(2025, 6, 2), []
    for place, weeks in enumerate(plans):
        days = 40 + 3 * place
        row = {"horse_id": horse_id, "from_date": start, "to_date": start + timedelta(days=days), "days": days}
        start = row["to_date"]
        found.append(row if weeks is None else {**row, "planned_weeks": float(weeks), "days_late": days - 7.0 * weeks})
    summary = {"horse_id": horse_id, "intervals": len(plans), "median_days": 46.0, "intervals_planned": 4}
    summary |= {"planned_days": 43.8, "done_days": 46.0, "median_days_late": 3.0, "late_share": 0.25}
    return {"horse_intervals": [summary], "horse_rounds": found}


def rounds(herd: Rows, pages: int = 3) -> dict[str, Rows]:
    """The tables, by name, of a practice of these horses."""
    named = [(row["horse_id"], row["horse_name"]) for row in herd]
    standings = ("kept", "new", "gone", "returned")
    found: dict[str, Rows] = {
        "lateness": [band(level, -1.8 - 0.4 * place) for place, level in enumerate(BANDS)]
        + [past(level, 1.5 + 0.5 * place, losses=max(1, 20 - 5 * place)) for place, level in enumerate(PAST)],
        "lateness_trend": [trend(*one, None if place == 2 else 3.0 - place) for place, one in enumerate(named)],
        "due_list": [
            silent(*one) if place % 9 == 3 else due_on(*one, None if place % 9 == 4 else 12 - 9 * (place % 9))
            for place, one in enumerate(named)
        ],
        "load_to_come": [coming(week) for week in range(6)],
        "season_compare": [season(), season("before")],
        "busiest_weeks": [
            {"starts_on": date(2025, 6, 2) + timedelta(weeks=9 * week), "visits": 20 - week, "horses": 19 - week,
             "days_worked": 5, "timed": 20 - week, "minutes": 1000.0 - 30 * week}
            for week in range(5)
        ],
        "day_loads": [load(1, 40), load(2, 60), load(3, 30), load(7, 9), load(9, 1), load(2, 130, "before")],
        "horse_turnover": [turned(*one, standings[place % 4]) for place, one in enumerate(named)],
        "visit_minutes": [
            took("all", "all", 62.0, 300),
            *[took("work_done", work, minutes) for work, minutes in (("4 shoes", 75.0), ("trim only", 30.0))],
            took("work_done", "3 shoes", None, 3),
            *[took("handling", level, 60.0 + 2 * place) for place, level in enumerate(("1", "5", "not recorded"))],
        ],
        "horse_intervals": [],
        "horse_rounds": [],
    }  # fmt: skip
    found["calendar_entries"] = entries(found["due_list"])
    for key, _ in named[:pages]:
        for name, rows in own_intervals(key).items():
            found[name] += rows
    return found
