"""The horses of a made-up practice: what is written of each, and what only the model knows."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from pipelines.simulate import names
from pipelines.simulate.truth import Truth
from schemas import words

END = np.array([0, 0, 1, 1])  # of LF RF LH RH: 0 front, 1 hind
PACE_NONE = -1

_WEEKS = {"fast": 5, "mixed": 6, "slow": 7}
_SHOD = {"fast": (0.99, 0.88), "mixed": (0.97, 0.75), "slow": (0.9, 0.5)}
_BRANCH_MM = {"fast": 3.0, "mixed": 5.5, "slow": 8.0}
BREEDS = ("stock horse type", "warmblood type", "cob type", "thoroughbred type", "native pony", "draught type")
_HANDS = (15.0, 16.1, 14.1, 15.9, 13.0, 16.8)
_KG_A_HAND = 38.0

# Chance of each level, in the order of its words, when a horse's habit or a single shoe is drawn.
HABITS: dict[str, tuple[float, ...]] = {
    "shoe_style": (0.36, 0.27, 0.07, 0.09, 0.05, 0.03, 0.02, 0.05, 0.04, 0.01, 0.0, 0.01),
    "shoe_material": (0.9, 0.08, 0.01, 0.01),
    "nail_line": (0.55, 0.33, 0.12),
    "clips": (0.3, 0.35, 0.35),
    "pad": (0.9, 0.04, 0.06),
    "fitting": (0.6, 0.4),
    "edges_dressed": (0.45, 0.55),
    "sole_relief": (0.35, 0.65),
}


@dataclass
class Herd:
    """Arrays by horse (n) and by horse and foot (n, 4), feet in the order LF RF LH RH. Days count from day 0."""

    written: dict[str, Any]
    discipline: np.ndarray
    pace: np.ndarray
    turnout: np.ndarray
    theta: np.ndarray
    farrier: np.ndarray
    weeks: np.ndarray
    temper: np.ndarray
    travel: np.ndarray
    new: np.ndarray
    first_day: np.ndarray
    leave_day: np.ndarray
    leaves_bare: np.ndarray
    rests: np.ndarray
    wears: np.ndarray
    branch: np.ndarray
    habit: dict[str, np.ndarray]
    angle: np.ndarray
    angle_slope: np.ndarray
    drift_off: np.ndarray
    toe: np.ndarray


def draw_herd(count: int, truth: Truth, days: int, farriers: int, first_year: int, rng: np.random.Generator) -> Herd:
    """`count` horses with their habits, from the mix of disciplines of the truth."""
    discipline = spread(truth.discipline_mix, words.DISCIPLINES, count, rng)
    pace = _by_discipline({name: words.PACES.index(p) for name, p in words.PACE_OF_DISCIPLINE.items() if p}, -1)
    pace = pace[discipline]
    turnout = choose((0.2, 0.5, 0.3), count, rng)
    new = rng.random(count) < truth.joins_share
    weeks = _by_pace(_WEEKS, pace) + rng.choice((-1, 0, 0, 0, 1), count)
    first_day = np.where(new, rng.integers(0, max(days - 28, 1), count), rng.integers(0, 7 * weeks))
    leaves = rng.exponential(1 / max(truth.leaves_per_year, 1e-9), count) * 365.25
    return Herd(
        written=_written(count, discipline, turnout, first_year + first_day // 365, rng),
        discipline=discipline,
        pace=pace,
        turnout=turnout,
        theta=draw_thetas(truth.frailty_shape, count, rng),
        farrier=choose(_falling(farriers), count, rng),
        weeks=weeks,
        temper=choose((0.45, 0.3, 0.15, 0.08, 0.02), count, rng) + 1,
        travel=rng.integers(2, 45, count),
        new=new,
        first_day=first_day,
        leave_day=np.minimum(first_day + 60 + leaves, 10**6).astype(np.int64),
        leaves_bare=rng.random(count) < truth.leaves_barefoot,
        rests=rng.random(count) < truth.rests_share,
        wears=_wears(pace, rng),
        branch=_by_pace(_BRANCH_MM, pace)[:, None] + 2.0 * END + rng.normal(0, 1.5, (count, 1)),
        habit={name: choose(chance, (count, 2), rng) for name, chance in HABITS.items()},
        angle=_angles(truth, count, rng),
        angle_slope=rng.normal(truth.trend_deg_per_year, truth.trend_sd_between_feet, (count, 4)),
        drift_off=rng.normal(0, truth.drift_sd_between_feet, (count, 4)),
        toe=83.0 - 1.0 * END + rng.normal(0, 4, (count, 1)) + rng.normal(0, 1, (count, 4)),
    )


def choose(chances: tuple[float, ...], shape: Any, rng: np.random.Generator) -> np.ndarray:
    """Codes of levels drawn with the given chances, which need not add up to 1."""
    cumulated = np.cumsum(chances)
    return np.searchsorted(cumulated, rng.random(shape) * cumulated[-1], side="right")


def spread(mix: Mapping[str, float], levels: tuple[str, ...], count: int, rng: np.random.Generator) -> np.ndarray:
    """Codes of levels in the shares of the mix, as even as whole numbers allow, in random order."""
    cumulated = np.cumsum([mix.get(level, 0.0) for level in levels])
    even = np.searchsorted(cumulated, (np.arange(count) + 0.5) / count * cumulated[-1], side="right")
    return rng.permutation(even)


def draw_thetas(shape: float, count: int, rng: np.random.Generator) -> np.ndarray:
    """Gamma multipliers with mean 1; all 1 where the shape is infinite."""
    if np.isinf(shape):
        return np.ones(count)
    return np.maximum(rng.gamma(shape, 1 / shape, count), 1e-9)


def _falling(size: int) -> tuple[float, ...]:
    return tuple(1 / (1 + 0.4 * i) for i in range(size))


def _by_discipline(values: Mapping[str, int], otherwise: int) -> np.ndarray:
    return np.array([values.get(name, otherwise) for name in words.DISCIPLINES])


def _by_pace(values: Mapping[str, Any], pace: np.ndarray) -> np.ndarray:
    # A discipline without a pace class is shod like mixed work.
    table = np.array([values[name] for name in words.PACES] + [values["mixed"]])
    return table[pace]


def _wears(pace: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    ends = rng.random((pace.size, 2)) < _by_pace(_SHOD, pace)
    ends[:, 1] &= ends[:, 0]  # nobody shoes the hind feet alone
    return ends[:, END]


def _angles(truth: Truth, count: int, rng: np.random.Generator) -> np.ndarray:
    horse = rng.normal(0, truth.angle_sd_between_horses, (count, 1))
    return 51.5 + 2.5 * END + horse + rng.normal(0, truth.angle_sd_between_feet, (count, 4))


def _written(
    count: int, discipline: np.ndarray, turnout: np.ndarray, year: np.ndarray, rng: np.random.Generator
) -> dict:
    young = discipline == words.DISCIPLINES.index("young_stock")
    age = np.where(young, rng.integers(2, 5, count), rng.integers(5, 24, count))
    breed = choose((0.3, 0.25, 0.15, 0.12, 0.1, 0.08), count, rng)
    inches = np.rint((np.array(_HANDS)[breed] + rng.normal(0, 0.5, count)) * 4).astype(int)
    mass = np.rint((np.array(_HANDS)[breed] - 2) * _KG_A_HAND + rng.normal(0, 25, count) + 10 * (breed == 5) * 10)
    return {
        "horse_name": names.horse_names(count, rng),
        "discipline": discipline,
        "foaled_year": np.maximum(year - age, 1980),
        "sex": np.where(age < 4, choose((0, 0.2, 0, 0.45, 0.35), count, rng), choose((0.42, 0.55, 0.03), count, rng)),
        "breed": breed,
        "height_hands": inches,
        "mass_kg": mass,
        "turnout": turnout,
        "work_days_per_week": np.where(young, 0, rng.integers(1, 7, count)),
        "chip": rng.integers(0, 274_877_906_943, count),
        "life_number": rng.integers(0, 10**9, count),
        **_places(count, rng),
        "consent": choose((0.5, 0.25, 0.25), count, rng),
    }


def _places(count: int, rng: np.random.Generator) -> dict[str, Any]:
    owners, yards, vets = max(1, round(0.62 * count)), max(1, round(count / 8)), max(3, count // 300)
    owner = rng.integers(0, owners, count)
    return {
        "owner": owner,
        "owner_names": names.person_names(owners, rng),
        "yard": np.where(rng.random(count) < 0.9, owner % yards, rng.integers(0, yards, count)),
        "yard_names": names.yard_names(yards, rng),
        "vet": choose(_falling(vets), count, rng),
        "vets": vets,
    }
