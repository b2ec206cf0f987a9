"""Small worlds for Hypothesis: three horses, few days, so that ties and edges are met often."""

from datetime import date, timedelta

import polars as pl
from hypothesis import strategies as st

from schemas.derived import BruiseSteps, FootSteps, ShoeSpells, VisitIntervals
from schemas.words import END_OF_FOOT
from tests.analyses.drawing import fill

HORSES = {"ash": "trail", "bay": "trail", "cob": "polo", "dun": "polo"}
PACES = {"trail": "slow", "polo": None}
FEET = ("LF", "RF", "LH")
START = date(2025, 1, 1)


def _many(row: st.SearchStrategy[dict], most: int = 25) -> st.SearchStrategy[list[dict]]:
    return st.lists(row, max_size=most)


def _foot() -> st.SearchStrategy[dict]:
    return st.builds(
        lambda horse, foot: {
            "horse_id": horse,
            "discipline": HORSES[horse],
            "pace": PACES[HORSES[horse]],
            "foot": foot,
            "end": END_OF_FOOT[foot],
        },
        st.sampled_from(sorted(HORSES)),
        st.sampled_from(FEET),
    )


def _with(foot: dict, more: dict, days: int, names: tuple[str, str, str]) -> dict:
    start, stop, length = names
    return foot | more | {start: START, stop: START + timedelta(days), length: days}


def spells(longest: int = 5) -> st.SearchStrategy[list[dict]]:
    """Rows of ShoeSpells. longest: days on."""
    more = st.fixed_dictionaries(
        {
            "end_reason": st.sampled_from(["lost", "lost", "renewed", "running", "taken_off"]),
            "farrier": st.sampled_from(["Ada", None]),
            "yard": st.sampled_from(["Hill", None]),
            "season": st.sampled_from(["winter", "summer"]),
            "shoe_style": st.sampled_from(["plain", "bar", None]),
            "cause": st.sampled_from(["caught", "unknown", None]),
        }
    )
    days = st.integers(0, longest)
    return _many(st.builds(_with, _foot(), more, days, st.just(("fitted_on", "ended_on", "days_on"))))


def intervals() -> st.SearchStrategy[list[dict]]:
    """Rows of VisitIntervals, about the cut-offs of 56 days and 7 days late."""
    more = st.fixed_dictionaries(
        {
            "season": st.sampled_from(["winter", "summer"]),
            "yard": st.sampled_from(["Hill", None]),
            "days_late": st.sampled_from([None, -3.0, 7.0, 7.5, 8.0]),
        }
    )
    days = st.integers(54, 58)
    return _many(st.builds(_with, _foot(), more, days, st.just(("from_date", "to_date", "days"))))


def bruise_steps() -> st.SearchStrategy[list[dict]]:
    """Rows of BruiseSteps."""
    more = st.fixed_dictionaries(
        {
            "bruise_from": st.sampled_from([0, 0, 1, 3]),
            "bruise_to": st.sampled_from([0, 0, 1, 2]),
            "one_interval": st.booleans(),
            "site_from": st.sampled_from(["toe", "body", None]),
            "sole_relief": st.sampled_from([True, False, None]),
            "shoe_style": st.sampled_from(["plain", None]),
        }
    )
    return _many(st.builds(_with, _foot(), more, st.integers(1, 5), st.just(("from_date", "to_date", "days"))))


def foot_steps() -> st.SearchStrategy[list[dict]]:
    """Rows of FootSteps."""
    more = st.fixed_dictionaries(
        {"angle_change_deg": st.sampled_from([None, -4.0, -3.5, -2.0, 0.5, 1.0]), "shod": st.booleans()}
    )
    days = st.sampled_from([0, 7, 28, 42])
    return _many(st.builds(_with, _foot(), more, days, st.just(("from_date", "to_date", "days"))), 40)


def spells_about_new_year() -> st.SearchStrategy[list[dict]]:
    """Rows of ShoeSpells nailed within days of either end of 2025."""
    start = st.sampled_from([date(2024, 12, 29), date(2024, 12, 31), START, date(2025, 12, 30), date(2025, 12, 31)])
    why = st.sampled_from(["lost", "lost", "renewed", "running"])

    def row(foot: dict, fitted: date, days: int, reason: str) -> dict:
        dates = {"fitted_on": fitted, "ended_on": fitted + timedelta(days), "days_on": days}
        return foot | dates | {"end_reason": reason}

    return _many(st.builds(row, _foot(), start, st.integers(0, 4), why), 8)


def visits_and_feet() -> st.SearchStrategy[tuple[list[dict], list[dict]]]:
    """Rows of Visits, about the ends of a week, a month and the year 2025, and of Feet of those visits."""
    days = [date(2024, 12, 31), START, date(2025, 3, 30), date(2025, 3, 31), date(2025, 4, 1), date(2025, 12, 31)]
    visit = st.fixed_dictionaries(
        {
            "horse_id": st.sampled_from(sorted(HORSES)),
            "visit_date": st.sampled_from([*days, date(2026, 1, 1), date(2026, 1, 2)]),
            "farrier": st.sampled_from(["Ada", "Bo", None]),
            "visit_kind": st.sampled_from(["routine", "lost_shoe", "other"]),
            "minutes": st.sampled_from([None, 20.0, 45.0]),
            "fee": st.sampled_from([None, 0.0, 90.0]),
            "travel_km": st.sampled_from([None, 0.0, 7.5]),
        }
    )
    work = st.sampled_from(["fit_new", "reset", "trim", "take_off", "none"])
    looks = st.lists(st.dictionaries(st.sampled_from(FEET), work, max_size=3), max_size=12)

    def rows(visits: list[dict], looks: list[dict]) -> tuple[list[dict], list[dict]]:
        named = [{"visit_id": f"v{place}"} | each for place, each in enumerate(visits)]
        pairs = zip(named, looks, strict=False)
        feet = [
            {"visit_id": each["visit_id"], "foot": foot, "work": did}
            for each, look in pairs
            for foot, did in look.items()
        ]
        return named, feet

    return st.builds(rows, _many(visit, 12), looks)


TABLES = {
    "shoe_spells": ShoeSpells,
    "visit_intervals": VisitIntervals,
    "bruise_steps": BruiseSteps,
    "foot_steps": FootSteps,
}


def frame(name: str, rows: list[dict]) -> pl.DataFrame:
    """Rows of a world as the derived table they belong to."""
    return fill(TABLES[name], rows)
