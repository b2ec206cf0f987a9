"""Made-up results on bruises and angles: sites, looks, returns, burden, trends, gaps, error, changes and handedness."""

from collections.abc import Iterable
from datetime import date, timedelta
from typing import Any

Rows = list[dict[str, Any]]
WORK = ("barrel_racing", "dressage", "eventing", "trail")
FEET = ("LF", "RF", "LH", "RH")
FIRST = date(2024, 11, 4)


def site(dimension: str, level: str, end: str, where: str, episodes: int) -> dict[str, Any]:
    """How many bruises began at one site."""
    return {"dimension": dimension, "level": level, "end": end, "site": where, "episodes": episodes,
            "bruised_looks": 2 * episodes}  # fmt: skip


def looked(dimension: str, level: str, feet: int, looks: int, bruised: int) -> dict[str, Any]:
    """How many feet seen were looked at."""
    return {"dimension": dimension, "level": level, "feet_at_visits": feet, "feet_looked": looks,
            "bruised_looks": bruised, "looked_share": looks / feet}  # fmt: skip


def returned(dimension: str, level: str, same: int, of: int, chance: float | None = 0.2, **more: Any) -> dict[str, Any]:
    """How many bruises came back at the same site; limits a third either way."""
    share = same / of
    row = {"dimension": dimension, "level": level, "horses": 9, "returns": of, "same_site": same, "same_share": share}
    return {**row, "low": share * 0.7, "high": min(1.0, share * 1.3), "share_by_chance": chance, **more}


def both(dimension: str, level: str, count: int, of: int, **more: Any) -> dict[str, Any]:
    """How often both fronts were bruised."""
    row = {"dimension": dimension, "level": level, "horses": 9, "pair_looks": of, "one_bruised": 30}
    return {**row, "both_bruised": count, "both_share": count / of, "low": count / of / 2, "high": count / of * 2,
            "share_by_chance": 0.002, "ratio": 5.0, "ratio_low": 2.0, "ratio_high": 12.5, "own_ratio": 3.0,
            "own_ratio_low": 0.9, "own_ratio_high": 10.0, **more}  # fmt: skip


def gathered(dimension: str, level: str, a_year: float, feet: int = 80, days: int = 800) -> Iterable[dict[str, Any]]:
    """A curve of bruises that gather at one steady rate, a tenth of a day's feet leaving every 50 days."""
    for day in range(0, days, 25):
        mean = 0.05 + a_year * day / 365
        yield {"dimension": dimension, "level": level, "day": day, "feet": max(3, feet - day // 12),
               "mean_episodes": mean, "low": mean * 0.9, "high": mean * 1.1, "low_by_horse": mean * 0.7,
               "high_by_horse": mean * 1.4}  # fmt: skip


def trend(
    dimension: str, level: str, a_year: float | None = -0.3, by_horse: bool = True, **more: Any
) -> dict[str, Any]:
    """The trend of the leaving angle at one level; a_year None: too few feet."""
    row = {"dimension": dimension, "level": level, "horses": 10 if by_horse else 4, "feet": 40, "visits": 400}
    if a_year is None:
        return {**row, "note": "fewer than 5 feet with an angle on leaving", **more}
    row |= {"deg_per_year": a_year, "low": a_year - 0.1, "high": a_year + 0.1, "residual_sd_deg": 0.8}
    return {**row, **({"low_by_horse": a_year - 0.2, "high_by_horse": a_year + 0.2} if by_horse else {}), **more}


def toes(dimension: str, level: str, lower_longer: int, of: int) -> dict[str, Any]:
    """Feet that leave lower and longer."""
    return {"dimension": dimension, "level": level, "feet": of, "lower_longer": lower_longer,
            "lower_longer_share": lower_longer / of, "lower_longer_sure": lower_longer // 4}  # fmt: skip


def pair(horse_id: str, name: str, end: str, latest: float, mean: float | None = None) -> dict[str, Any]:
    """Left minus right of one pair."""
    mean = latest if mean is None else mean
    return {"horse_id": horse_id, "horse_name": name, "end": end, "visits": 10, "measured_on": date(2026, 2, 1),
            "latest_gap_deg": latest, "mean_gap_deg": mean, "uneven_visits": min(10, round(abs(3 * mean))),
            "cut_off_deg": 1.5, "latest_uneven": abs(latest) > 1.5}  # fmt: skip


def of_class(dimension: str, level: str, hoof_class: str, feet: int, of: int) -> dict[str, Any]:
    """Feet of one class."""
    return {"dimension": dimension, "level": level, "hoof_class": hoof_class, "feet": feet, "class_share": feet / of}


def error(stage: str, spread: float | None, changes: int = 400, beyond: int = 20, other: int = 40) -> dict[str, Any]:
    """How far one reading can be trusted; spread None: too few readings. Of arrivals 10 changes cannot be judged."""
    row = {"angle_at": stage, "feet": 40, "angles_read": 440, "changes": changes, "other_farrier": other}
    row |= {} if stage == "growth" else {"residual_sd_deg": 1.2 if stage == "arrival" else 0.9}
    if spread is None:
        return {**row, "note": "too few feet read often enough to judge the error"}
    judged = {"changes_judged": changes - 10 * (stage == "arrival"), "changes_beyond": beyond}
    return {**row, "error_sd_deg": spread, "smallest_change_deg": 1.96 * 2**0.5 * spread, **judged}


def changed(horse_id: str, name: str, foot: str, stage: str, by: float, **more: Any) -> dict[str, Any]:
    """A change larger than error explains."""
    return {"horse_id": horse_id, "horse_name": name, "foot": foot, "angle_at": stage, "from_date": date(2025, 12, 20),
            "to_date": date(2026, 2, 1), "change_deg": by, "growth_deg": 0.0, "smallest_change_deg": 2.2,
            **more}  # fmt: skip


def hand(farrier: str, compared: str, mean: float | None, half: float = 0.3, **more: Any) -> dict[str, Any]:
    """What one farrier leaves different; mean None: on nothing."""
    row = {"farrier": farrier, "compared": compared, "pairs": 200, "horses": 30, "mean_difference": mean}
    limits = {} if mean is None else {"low": mean - half, "high": mean + half}
    return {**row, **limits, **more}


def reading(horse_id: str, foot: str, day: date, stage: str, angle: float | None, toe: float | None = None):
    """One reading of one foot."""
    return {"horse_id": horse_id, "foot": foot, "visit_date": day, "angle_at": stage, "angle_deg": angle, "toe_mm": toe}


def look(horse_id: str, foot: str, day: date, grade: int | None, where: str | None = None, **more: Any):
    """One foot at one visit; grade None: not looked at."""
    row = {"horse_id": horse_id, "foot": foot, "visit_date": day, "looked": grade is not None, "bruise_grade": grade}
    bruised = {"again": False, "same_site_again": False} if grade else {}
    return {**row, "bruise_site": where, **bruised, **more}


def _sites() -> Rows:
    places = ("toe", "quarter_medial", "heel_medial", "heel_lateral", "body", "not recorded")
    found = [
        site("all", "all", end, where, 5 * place + (end == "front"))
        for end in ("front", "hind")
        for place, where in enumerate(places)
    ]
    found += [site("discipline", work, "front", "heel_medial", 3 + place) for place, work in enumerate(WORK)]
    return [
        *found,
        site("discipline", "eventing", "hind", "not recorded", 2),
        site("horse", "H0000", "front", "toe", 1),
    ]


def _burden() -> Rows:
    levels = [("all", "all", 0.4), ("sole_relief", "yes", 0.2), ("sole_relief", "no", 0.6)]
    levels += [("discipline", work, 0.2 + 0.1 * place) for place, work in enumerate(WORK)]
    return [row for level in levels for row in gathered(*level)]


def _classes() -> Rows:
    levels = [("all", "all"), ("end", "front"), ("end", "hind"), *[("discipline", work) for work in WORK]]
    found = []
    for place, level in enumerate(levels):
        counts = {"flat": place, "medium": 20, "upright": 8 - place}
        found += [of_class(*level, kind, feet, 28) for kind, feet in counts.items() if feet]
    return found


def feet(herd: Rows, pages: int) -> dict[str, Rows]:
    """The tables, by name; so many horses of the herd have readings and looks of their own."""
    names = [(row["horse_id"], row["horse_name"]) for row in herd]
    groups = [("all", "all"), ("end", "front"), ("end", "hind"), *[("discipline", work) for work in WORK]]
    farriers = ("Zeb Alder", "anna Birch", "Mo Cedar", "not recorded")
    return {
        "bruise_sites": _sites(),
        "bruise_looks": [
            looked("all", "all", 400, 360, 40),
            *[looked("discipline", work, 100, 90, 10) for work in WORK],
        ],
        "bruise_returns": [returned(*group, 7 + place, 12) for place, group in enumerate(groups[:5])]
        + [returned("site", "toe", 3, 5, None), returned("site", "body", 2, 2, None, low=None, high=None, note="one")],
        "both_fronts": [both("all", "all", 4, 400), *[both("discipline", work, 1, 100) for work in WORK]],
        "bruise_burden": _burden(),
        "angle_trend": [trend(*group, round(-0.4 + 0.1 * place, 1)) for place, group in enumerate(groups)]
        + [trend("shod", "yes", -0.2, by_horse=False), trend("shod", "no", None)],
        "toe_directions": [toes(*group, 6, 30) for group in groups],
        "angle_gaps": [
            pair(*name, end, round(0.5 * ((place + shift) % 9 - 4), 1))
            for place, name in enumerate(names)
            for end, shift in (("front", 0), ("hind", 4))
        ],
        "hoof_classes": _classes(),
        "angle_precision": [error(stage, 0.8) for stage in ("arrival", "leaving", "growth")],
        "angle_changes": [
            *[changed(*names[0], "LF", stage, by) for stage, by in (("leaving", -2.5), ("growth", -3.0))],
            *[changed(*name, "RH", "arrival", 3.4) for name in names[:2]],
        ],
        "handedness": [
            hand(farrier, compared, 0.5 if compared == "wall_findings" else round(0.4 - 0.3 * place, 1), 0.2)
            for place, farrier in enumerate(farriers)
            for compared in ("leaving_angle", "leaving_toe", "nails", "wall_findings")
        ],
        "horse_angles": [row for horse_id, _ in names[:pages] for row in _readings(horse_id)],
        "horse_bruises": [row for horse_id, _ in names[:pages] for row in _looks(horse_id)],
    }  # fmt: skip


def _readings(horse_id: str) -> Iterable[dict[str, Any]]:
    for place, foot in enumerate(FEET):
        for turn in range(11):
            day = FIRST + timedelta(days=42 * turn)
            yield reading(horse_id, foot, day, "arrival", 48.0 + 0.2 * turn - place, 86.0 - 0.3 * turn)
            yield reading(horse_id, foot, day, "leaving", 51.0 + 0.1 * turn - place, 80.0)


def _looks(horse_id: str) -> Iterable[dict[str, Any]]:
    for foot in FEET:
        for turn in range(11):
            day = FIRST + timedelta(days=42 * turn)
            if foot == "LF" and turn in (4, 5):
                same = turn == 5
                yield look(horse_id, foot, day, turn - 2, "heel_medial", again=same, same_site_again=same)
            else:
                yield look(horse_id, foot, day, None if turn == 9 else int(foot == "RH" and turn == 2))
