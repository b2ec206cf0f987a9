"""When a shoe comes off: a daily hazard, piecewise by shoe age, times one ratio for each factor."""

from collections.abc import Mapping

import numpy as np

from pipelines.simulate.truth import AGE_BANDS, BRANCH_FROM, SLOPES_FROM, Truth
from schemas import words

LEVELS: dict[str, tuple[str, ...]] = {
    "discipline": words.DISCIPLINES,
    "end": words.ENDS,
    "wall_state": words.WALL_STATES,
    "clips": words.CLIPS,
    "pad": words.PADS,
    "fitting": words.FITTINGS,
    "edges_dressed": ("no", "yes"),
    "sole_relief": ("no", "yes"),
    "nail_line": words.NAIL_LINES,
    "shoe_style": words.SHOE_STYLES,
    "shoe_material": words.SHOE_MATERIALS,
    "season": words.SEASONS,
    "turnout": words.TURNOUTS,
    "handling": ("1", "2", "3", "4", "5"),
    "hind_shod": ("bare", "shod"),
}
FAR_AGE = 4000.0


def log_ratios(ratios: Mapping[str, float], levels: tuple[str, ...]) -> np.ndarray:
    """Log ratio by code of level; the last entry answers to code -1, no level, and is 0."""
    return np.log(np.array([ratios.get(level, 1.0) for level in levels] + [1.0]))


class Hazard:
    """The daily hazard of one truth. `farriers` are the names that a farrier ratio, if any, refers to."""

    def __init__(self, truth: Truth, farriers: tuple[str, ...]):
        levels = LEVELS | {"farrier": farriers}
        self._base = np.log(truth.base_per_1000_days / 1000)
        self._ratios = {name: log_ratios(truth.loss_ratios.get(name, {}), known) for name, known in levels.items()}
        self._slopes = {name: np.log(ratio) for name, ratio in truth.loss_slopes.items()}
        self._branch = log_ratios(truth.branch_per_5mm, words.PACES)
        self._overdue = truth.overdue
        self._ages = np.array([0.0, *AGE_BANDS, FAR_AGE])
        self._risk = np.concatenate([[0.0], np.cumsum(np.diff(self._ages) * truth.age_ratios)])

    def rate(self, codes: dict[str, np.ndarray], measured: dict[str, np.ndarray], theta: np.ndarray) -> np.ndarray:
        """Chance a day of coming off at age ratio 1, for arrays of shoes.

        codes: factor → code of level, -1 where it has none. measured: factor → value, 0 effect where NaN;
        `branch_past_heel_mm` works by `pace`. theta: the horse's own multiplier.
        """
        log_rate = self._base + np.log(theta)
        for name, code in codes.items():
            if name != "pace":
                log_rate = log_rate + self._ratios[name][code]
        centre, unit = BRANCH_FROM
        log_rate = log_rate + self._branch[codes["pace"]] * (measured["branch_past_heel_mm"] - centre) / unit
        for name, slope in self._slopes.items():
            centre, unit = SLOPES_FROM[name]
            log_rate = log_rate + slope * np.nan_to_num((measured[name] - centre) / unit)
        return np.exp(log_rate)

    def loss_age(self, rate: np.ndarray, due_age: np.ndarray, rng: np.random.Generator) -> np.ndarray:
        """Day of age at which each shoe would come off, from 1; the risk rises once the shoe is overdue.

        Drawn by turning the cumulative hazard round: it is linear between the ends of the bands, so this is exact.
        """
        spent = rng.standard_exponential(rate.shape) / np.maximum(rate, 1e-12)
        at_due = np.interp(due_age, self._ages, self._risk)
        spent = np.where(spent > at_due, at_due + (spent - at_due) / self._overdue, spent)
        return np.maximum(np.ceil(np.interp(spent, self._risk, self._ages)), 1).astype(np.int64)
