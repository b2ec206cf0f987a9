"""Made-up results of made-up practices, built from the result classes: no export, no store, no analysis."""

from collections.abc import Callable, Iterable
from datetime import date, timedelta
from random import Random
from typing import Any

import polars as pl

from schemas.base import Table
from schemas.records import About
from schemas.results import RESULT_TABLES
from tests.reports.feet import feet
from tests.reports.horse_pages import guide, own_pages
from tests.reports.reasons import reasons
from tests.reports.rounds import rounds

ABOUT = About(date(2026, 3, 31), date(2025, 4, 1), date(2026, 3, 31), ("horses.csv", "visits.csv", "feet.csv"))
WORK = ("barrel_racing", "dressage", "eventing", "trail")
FARRIERS = ("Zeb Alder", "anna Birch", "Mo Cedar")
FEET = ("LF", "RF", "LH", "RH")


def frame(table: type[Table], rows: Iterable[dict[str, Any]]) -> pl.DataFrame:
    """Rows as a checked table; columns a row leaves out are blank."""
    return table.check(pl.DataFrame(list(rows), schema=table.dtypes()))


def results(**tables: list[dict[str, Any]]) -> dict[str, pl.DataFrame]:
    """Result tables by name from rows, every other table empty."""
    return {name: frame(table, tables.get(name, [])) for name, table in RESULT_TABLES.items()}


def plain_name(place: int) -> str:
    """Pony 1, Pony 2, …"""
    return f"Pony {place + 1}"


def practice(horses: int = 12, name: Callable[[int], str] = plain_name, yards: int = 3, seed: int = 1, pages: int = 3):
    """The results of a practice with this many horses, so many of them with a page of their own."""
    luck = Random(seed)
    herd = [horse(place, name(place), luck) for place in range(horses)]
    return results(
        **reasons(),
        **own_pages(herd[:pages]),
        **rounds(herd, pages),
        **feet(herd, pages),
        interval_guide=[
            *guide("discipline", "eventing", 0.02),
            *guide("discipline", "trail", 0.003),
            *(row for one in herd[:pages] for row in guide("horse", one["horse_id"], 0.01)),
        ],
        loss_rates=list(_rates(horses, yards, luck)),
        retention=list(_curves(horses)),
        share_lost_by_weeks=list(_by_weeks(horses)),
        loss_causes=[_cause("caught", 6, 10), _cause("stepped_on", 3, 10), _cause("unknown", 1, 10)],
        horse_losses=herd,
        funnel_bands=[_band(0.2 * step) for step in range(1, 61)],
        horse_spread=[_spread(herd)],
        interval_lengths=list(_intervals(yards)),
        bruise_recurrence=list(_bruises()),
        angle_drift=list(_drifts()),
        horse_angle_drift=[_foot_drift(row["horse_id"], foot, luck) for row in herd for foot in FEET],
        workload=list(_work(luck)),
        visit_kinds=[_kind("routine", 300), _kind("lost_shoe", 22), _kind("first", 4)],
        season_review=[_season(horses)],
        completeness=[
            _column("feet", "bruise_site", 12),
            _column("visits", "minutes", 80),
            _column("feet", "foot", 100),
        ],
        rows_taken=[_taken("horses", horses, 0), _taken("visits", 30 * horses, 2), _taken("feet", 110 * horses, 3)],
        rows_set_aside=[
            _reason("visits", "visit_date", "cannot_read", 2, "set aside"),
            _reason("feet", None, "unknown_visit", 3, "set aside"),
            _reason("horses", "discipline", "taken_as_other", 1, "doubt"),
        ],
        files_taken=[{"file_name": file, "sha256": 16 * "0a1b", "rows": 40} for file in ABOUT.files],
    )


def horse(place: int, name: str, luck: Random) -> dict[str, Any]:
    """One horse's losses; the first one stands out, the second has no peers."""
    expected = None if place == 1 else round(0.3 + 8 * luck.random(), 2)
    losses = luck.choice((0, 1, 2, 3)) if place else 24
    ratio = None if expected is None else losses / expected
    found = {"horse_id": f"H{place:04}", "horse_name": name, "discipline": WORK[place % 4], "shoes": 60 + place % 40}
    found |= {"peers": 9, "peer_losses": 20, "few_peers": False}
    if expected is None or ratio is None:
        return {**found, "losses": losses, "shoe_days": 2000.0, "note": "no other horse of this discipline"}
    judged = {"ratio": ratio, "ratio_low": ratio / 2, "ratio_high": 2 * ratio + 3 / expected}
    funnel = "inside" if place else "above_998"
    return {**found, "losses": losses, "shoe_days": 2000.0, "expected": expected, **judged, "funnel": funnel}


def _spread(herd: list[dict[str, Any]]) -> dict[str, Any]:
    placed = [row for row in herd if row.get("funnel")]
    above = sum(row["funnel"].startswith("above") for row in placed)
    return {"horses": len(placed), "above_95": above, "above_998": above, "chance_above_95": 0.015 * len(placed),
            "chance_above_998": 0.0005 * len(placed), "first_alarms": above, "dispersion": 2.1,
            "ratio_sd": 0.7}  # fmt: skip


def rate(dimension: str, level: str, per_1000: float | None = 2.0, **more: Any) -> dict[str, Any]:
    """One loss rate with limits on both sides; per_1000 None: too little to tell."""
    row = {"dimension": dimension, "level": level, "horses": 5, "shoes": 200, "losses": 12, "shoe_days": 7000.0}
    if per_1000 is not None:
        row |= {"per_1000_days": per_1000, "low": 0.6 * per_1000, "high": 1.8 * per_1000, "per_100_shoes": 4 * per_1000}
        row |= {"low_clustered": 0.5 * per_1000, "high_clustered": 2.0 * per_1000}
        row |= {"low_left_out": 0.5 * per_1000, "high_left_out": 2.0 * per_1000}
    return {**row, **more}


def _rates(horses: int, yards: int, luck: Random):
    yield rate("all", "all", 2.0, horses=horses, shoes=800, losses=40)
    levels = {"discipline": WORK, "pace": ("fast", "mixed", "slow"), "foot": FEET, "end": ("front", "hind")}
    levels |= {"farrier": FARRIERS, "yard": [f"Yard {place + 1}" for place in range(yards)]}
    levels |= {"season": ("winter", "spring", "summer", "autumn"), "shoe_style": ("plain", "rim", "not recorded")}
    for dimension, named in levels.items():
        for level in named:
            yield rate(dimension, level, round(0.5 + 4 * luck.random(), 2))


def curve(dimension: str, level: str, hazard: float = 0.002, shoes: int = 400) -> Iterable[dict[str, Any]]:
    """A retention curve of shoes lost at one steady rate, with limits from the second day on."""
    for day in range(85):
        kept = (1 - hazard) ** day
        limits = (
            {"kept_low": max(0.0, kept - 0.001 * day), "kept_high": min(1.0, kept + 0.0005 * day),
             "kept_low_left_out": max(0.0, kept - 0.002 * day), "kept_high_left_out": min(1.0, kept + 0.001 * day)}
            if day > 1 else {}
        )  # fmt: skip
        followed = max(2, shoes - 4 * day)
        yield {"dimension": dimension, "level": level, "day": day, "at_risk": followed, "lost": 1, "renewed": 3,
               "kept": kept, **limits}  # fmt: skip


def _curves(horses: int):
    for dimension, level, hazard in (("all", "all", 0.002), ("end", "front", 0.003), ("end", "hind", 0.001)):
        yield from curve(dimension, level, hazard, 40 * horses)
    for place, level in enumerate(WORK):
        yield from curve("discipline", level, 0.001 * (place + 1))


def _by_weeks(horses: int):
    groups = [("all", "all", 0.002), ("end", "front", 0.003), ("end", "hind", 0.001)]
    groups += [("discipline", level, 0.001 * (place + 1)) for place, level in enumerate(WORK)]
    for dimension, level, hazard in groups:
        for weeks in range(4, 11):
            lost = 1 - (1 - hazard) ** (7 * weeks)
            told = {"share_lost": lost, "low": 0.8 * lost, "high": min(1.0, 1.2 * lost)}
            told |= {"low_left_out": 0.7 * lost, "high_left_out": min(1.0, 1.4 * lost)}
            few = level == "trail" and weeks > 8
            rest = {"note": "fewer than 10 shoes were followed so long"} if few else told
            yield {"dimension": dimension, "level": level, "weeks": weeks, "at_risk": 3 if few else 30 * horses, **rest}


def _cause(cause: str, losses: int, of: int) -> dict[str, Any]:
    return {"cause": cause, "losses": losses, "cause_share": losses / of}


def _band(expected: float) -> dict[str, Any]:
    half = expected**-0.5
    tight, wide = 1.96 * half, 3.09 * half
    edges = {"low_95": max(0.0, 1 - tight), "high_95": 1 + tight, "low_998": max(0.0, 1 - wide), "high_998": 1 + wide}
    return {"expected": expected, **edges, "low_95_spread": max(0.0, 1 - 2 * tight), "high_95_spread": 1 + 2 * tight}


def _intervals(yards: int):
    groups = [("all", "all"), *[("discipline", level) for level in WORK]]
    groups += [("season", level) for level in ("winter", "spring", "summer", "autumn")]
    groups += [("yard", f"Yard {place + 1}") for place in range(yards)]
    for place, (dimension, level) in enumerate(groups):
        middle = 42.0 + place % 7
        lengths = {"median_days": middle, "p10_days": middle - 9, "p25_days": middle - 5, "p75_days": middle + 6}
        lengths |= {"p90_days": middle + 12, "share_over_56": 0.08, "late_share": 0.12}
        lengths |= {
            "intervals_planned": 72,
            "planned_days": 40.0,
            "done_days": 41.5 + place,
            "median_days_late": 1.0 + place % 5,
        }
        yield {"dimension": dimension, "level": level, "intervals": 80, "horses": 11, **lengths}


def bruise(dimension: str, level: str, again: float | None = 0.4, **more: Any) -> dict[str, Any]:
    """Bruises at one level; again None: no bruise was looked at again."""
    row = {"dimension": dimension, "level": level, "feet": 40, "steps_clear": 200, "clear_to_bruised": 10}
    if again is None:
        return {
            **row,
            "steps_bruised": 0,
            "bruised_to_bruised": 0,
            "horses_bruised": 0,
            "note": "no bruise was looked at again",
            **more,
        }
    row |= {
        "steps_bruised": 50,
        "bruised_to_bruised": round(50 * again),
        "horses_bruised": 20,
        "chance_new": 0.05,
        "chance_again": again,
    }
    row |= {"again_low": again / 2, "again_high": min(1.0, again * 1.5)}
    return {**row, "ratio": again / 0.05, "ratio_low": again / 0.1, "ratio_high": again / 0.02, **more}


def _bruises():
    groups = [("all", "all"), ("end", "front"), ("end", "hind"), *[("discipline", level) for level in WORK]]
    groups += [("foot", foot) for foot in FEET] + [("site", site) for site in ("toe", "heel_medial", "not recorded")]
    groups += [("sole_relief", "yes"), ("sole_relief", "no"), ("shoe_style", "plain"), ("shoe_style", "rim")]
    for place, (dimension, level) in enumerate(groups):
        yield bruise(dimension, level, 0.2 + 0.03 * place)
    yield bruise("shoe_style", "bar", None)


def drift(dimension: str, level: str, deg: float | None = -0.4, **more: Any) -> dict[str, Any]:
    """The angle's change a week at one level; deg None: too few feet."""
    row = {"dimension": dimension, "level": level, "horses": 8, "feet": 30, "steps": 300}
    if deg is None:
        return {**row, "note": "fewer than 5 feet with an angle at both visits of a step", **more}
    row |= {"deg_per_week": deg, "low": deg - 0.03, "high": deg + 0.03, "sd_between_feet": 0.1, "residual_sd_deg": 0.8}
    row |= {"low_by_horse": deg - 0.05, "high_by_horse": deg + 0.05}
    return {**row, **more}


def _drifts():
    groups = [("all", "all"), ("end", "front"), ("end", "hind"), ("shod", "yes"), ("shod", "no")]
    groups += [(name, level) for name in ("discipline", "discipline_shod") for level in WORK]
    for place, (dimension, level) in enumerate(groups):
        yield drift(dimension, level, -0.3 - 0.03 * place)


def _foot_drift(horse_id: str, foot: str, luck: Random) -> dict[str, Any]:
    deg = -0.4 + 0.3 * (luck.random() - 0.5)
    row = {"horse_id": horse_id, "foot": foot, "steps": 9, "shod_or_bare": "shod", "peers_deg_per_week": -0.4}
    return row | {"deg_per_week": deg, "low": deg - 0.2, "high": deg + 0.2}


def _work(luck: Random):
    monday = date(2025, 3, 31)
    starts = [("week", monday + timedelta(weeks=week)) for week in range(52)]
    starts += [("month", date(2025 + (month > 9), (month + 2) % 12 + 1, 1)) for month in range(1, 13)]
    for period, start in starts:
        for farrier in FARRIERS:
            yield work(period, start, farrier, luck.randint(1, 9), luck.randint(0, 2))


def work(period: str, start: date, farrier: str, visits: int, lost: int, **more: Any) -> dict[str, Any]:
    """One farrier's week or month."""
    row = {"period": period, "starts_on": start, "farrier": farrier, "visits": visits + lost, "horses": visits}
    row |= {"feet_trimmed": 2 * visits, "shoes_nailed": 3 * visits, "minutes": 60.0 * visits, "fee": 90.0 * visits}
    row |= {"travel_km": 20.0 * visits, "lost_shoe_visits": lost, "lost_shoe_minutes": 25.0 * lost}
    row |= dict.fromkeys(("timed", "driven", "charged"), visits + lost)
    row |= dict.fromkeys(("lost_shoe_timed", "lost_shoe_driven"), lost)
    return {**row, "lost_shoe_km": 18.0 * lost, **more}


def _kind(kind: str, visits: int) -> dict[str, Any]:
    sums = {"timed": visits, "minutes": 50.0 * visits, "driven": visits, "travel_km": 15.0 * visits}
    return {"visit_kind": kind, "visits": visits, **sums}


def _season(horses: int) -> dict[str, Any]:
    row = {"start": ABOUT.season_start, "stop": ABOUT.season_stop, "visits": 326, "horses": horses, "shoes_nailed": 900}
    row |= {"losses": 41, "shoe_days": 30000.0, "per_1000_days": 1.37, "low": 0.98, "high": 1.85}
    row |= {"lost_shoe_visits": 22, "lost_shoe_minutes": 550.0, "lost_shoe_km": 396.0, "intervals": 280}
    row |= {"lost_shoe_timed": 22, "lost_shoe_driven": 22}
    return {**row, "median_days": 44.0}


def _column(table: str, column: str, filled: int) -> dict[str, Any]:
    uses = {"bruise_site": "bruise_recurrence", "minutes": "season_review, workload", "foot": "loss_rates"}
    return {"table_name": table, "column_name": column, "rows": 100, "filled": filled, "share": filled / 100,
            "used_by": uses[column]}  # fmt: skip


def _taken(table: str, read: int, aside: int) -> dict[str, Any]:
    counts = {"rows_read": read, "rows_new": read - aside, "rows_changed": 0, "rows_unchanged": 0}
    return {"table_name": table, **counts, "rows_set_aside": aside, "rows": read - aside}


def _reason(table: str, column: str | None, rule: str, count: int, note: str) -> dict[str, Any]:
    return {"table_name": table, "column_name": column, "rule": rule, "rows": count, "note": note}
