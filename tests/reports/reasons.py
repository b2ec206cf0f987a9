"""Made-up results on why and when shoes come off: factors, fit by pace, age of the shoe, tests and months."""

from datetime import date
from typing import Any

Rows = list[dict[str, Any]]


def factor(name: str, level: str, ratio: float | None, reference: str = "none", **more: Any) -> dict[str, Any]:
    """One ratio with limits a third below and half above it; None: the level is counted with another."""
    row = {"factor": name, "level": level, "reference": reference, "shoes": 400, "losses": 20}
    if ratio is None:
        return {**row, "note": "6.8 losses expected: counted with other", **more}
    row |= {"rate_ratio": ratio, "low": ratio / 1.5, "high": ratio * 1.5, "p_value": 0.2}
    return {**row, "within_horse_ratio": ratio * 1.1, "within_low": ratio / 2, "within_high": ratio * 2, **more}


def reference(name: str, level: str) -> dict[str, Any]:
    """The level the others of a factor are set beside."""
    return {"factor": name, "level": level, "reference": level, "shoes": 900, "losses": 30, "rate_ratio": 1.0,
            "note": "reference"}  # fmt: skip


FACTORS = [
    reference("discipline", "trail"),
    factor("discipline", "eventing", 1.3, "trail"),
    factor("discipline", "other", 1.1, "trail"),
    factor("discipline", "polo", None, "trail"),
    factor("branch_past_heel_mm", "per 5 mm", 1.4, "5 mm less"),
    factor("branch_past_heel_mm", "not recorded", 1.2, "the mean, 5.5"),
    reference("wall_state", "sound"),
    factor("wall_state", "broken", 2.8, "sound", p_value=0.001),
    reference("edges_dressed", "no"),
    factor("edges_dressed", "yes", 0.9, "no"),
    factor("nails_total", "per 1 nail", 40.0, "1 nail less"),
    reference("farrier", "Zeb Alder"),
    factor("farrier", "Mo Cedar", 3.3, "Zeb Alder"),
    {"factor": "ground", "level": "all", "shoes": 0, "losses": 0, "note": "left out: the ground has no rate"},
    factor("branch_by_pace", "fast", 2.0, "5 mm less, same pace"),
    factor("branch_by_pace", "slow", 1.1, "5 mm less, same pace"),
]
AGES = ((0, 7), (7, 14), (14, 28), (28, 42), (42, 56), (56, 84), (84, None))


def cell(pace: str, band: str, shoes: int, losses: int) -> dict[str, Any]:
    """Shoes of one length of branch on one pace."""
    rate = {"per_100_shoes": 100 * losses / shoes, "per_1000_days": losses / shoes * 25, "low": 0.1, "high": 4.0}
    return {"pace": pace, "branch_band": band, "shoes": shoes, "losses": losses, "shoe_days": 40.0 * shoes, **rate,
            "expected": 10.0}  # fmt: skip


def stretch(phase: str, ends: tuple[int, int | None] | None, per_1000: float, **more: Any) -> dict[str, Any]:
    """How fast shoes come off within one stretch of their life."""
    row = {"dimension": "all", "level": "all", "phase": phase, "horses": 11, "losses_spread": 8.0, "shoe_days": 9000.0}
    if ends:
        row |= {"day_from": ends[0], "day_to": ends[1]}
    return {**row, "per_1000_days": per_1000, "low": 0.6 * per_1000, "high": 1.7 * per_1000, **more}


def _stretches() -> Rows:
    found = [stretch("age", ends, 0.5 + 0.2 * place) for place, ends in enumerate(AGES)]
    for dimension, level in (("all", "all"), ("end", "front"), ("end", "hind"), ("discipline", "trail")):
        for place, phase in enumerate(("early", "middle", "late", "after_planned")):
            found.append(stretch(phase, None, 1.0 + 0.3 * place, dimension=dimension, level=level))
    return found


def month(year: int, number: int, losses: int, **more: Any) -> dict[str, Any]:
    """One month watched, 4 losses being expected."""
    row = {"starts_on": date(year, number, 1), "losses": losses, "shoe_days": 5000.0, "expected": 4.0, "low": 1.0}
    return {**row, "high": 9.0, "cusum": max(0.0, 0.69 * losses - 4), "threshold": 3.1, "signal": losses > 9, **more}


def _months() -> Rows:
    return [month(2024 + place // 12, place % 12 + 1, (4 + 7 * place) % 8 + 10 * (place == 20)) for place in range(27)]


def _spread() -> Rows:
    groups = [("all", "all"), ("end", "front"), ("end", "hind")]
    groups += [("discipline", level) for level in ("barrel_racing", "dressage", "eventing", "trail")]
    return [
        {"dimension": dimension, "level": level, "day_from": start, "day_to": stop, "kept": kept}
        for dimension, level in groups
        for start, stop, kept in ((0, 3, 0.97), (14, 20, 0.95), (40, 44, 0.9), (84, None, 0.0))
    ]


def _tests() -> Rows:
    told = {"discipline": 0.00002, "end": 0.005, "foot": 0.043, "season": 0.31}
    return [
        {"dimension": name, "chi2": 9.0, "df": 3, "p_value": chance / 10, "chi2_clustered": 7.0, "p_clustered": chance}
        for name, chance in told.items()
    ] + [{"dimension": "pace", "df": 0}]


def reasons() -> dict[str, Rows]:
    """The tables, by name."""
    return {
        "loss_factors": FACTORS,
        "fit_by_pace": [
            cell("fast", "0 to 5 mm", 600, 30),
            cell("fast", "5 to 10 mm", 200, 14),
            cell("slow", "0 to 5 mm", 20, 4),
            cell("slow", "10 mm and over", 180, 3),
        ],
        "loss_hazard": _stretches(),
        "loss_watch": _months(),
        "retention_interval": _spread(),
        "retention_tests": _tests(),
        "loss_dating": [{"dimension": "all", "level": "all", "losses": 40, "wide": 9, "wide_at_call_outs": 2}],
    }
