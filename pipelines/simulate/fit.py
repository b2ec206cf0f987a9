"""How each shoe is made and nailed: a horse's habit, and now and then something else."""

import numpy as np

from pipelines.simulate.herd import END, HABITS, Herd, choose
from schemas import words

KEEPS_HABIT = 0.75
_BAR_STYLES = tuple(words.SHOE_STYLES.index(name) for name in ("bar", "egg_bar", "heart_bar"))


def draw_fit(herd: Herd, h: np.ndarray, for_vet: np.ndarray, rng: np.random.Generator) -> dict[str, np.ndarray]:
    """Fit columns of a shoe on each of the four feet of horses `h`, (n, 4); words as codes, lengths to 0.1 mm.

    for_vet: horses whose visit a vet asked for: their front shoes may be bar shoes.
    """
    shape = (h.size, 4)
    fit = {name: _habit(herd.habit[name][h][:, END], HABITS[name], rng) for name in HABITS}
    bars = for_vet[:, None] & (END == 0) & (rng.random(shape) < 0.6)
    fit["shoe_style"] = np.where(bars, rng.choice(_BAR_STYLES, shape), fit["shoe_style"])
    fit |= _nails(shape, rng) | _lengths(herd.branch[h], shape, rng)
    return fit


def _habit(usual: np.ndarray, chances: tuple[float, ...], rng: np.random.Generator) -> np.ndarray:
    return np.where(rng.random(usual.shape) < KEEPS_HABIT, usual, choose(chances, usual.shape, rng))


def _nails(shape: tuple[int, int], rng: np.random.Generator) -> dict[str, np.ndarray]:
    return {
        "nails_medial": 2 + choose((0.15, 0.7, 0.15), shape, rng),
        "nails_lateral": 2 + choose((0.05, 0.55, 0.4), shape, rng),
        "heel_nails": choose((0.6, 0.3, 0.1), shape, rng),
    }


def _lengths(branch: np.ndarray, shape: tuple[int, int], rng: np.random.Generator) -> dict[str, np.ndarray]:
    # 1.6-3.2 mm of shoe outside the wall behind the last nail: Lungwitz & Adams 1897.
    return {
        "web_mm": 18.0 + choose((0.1, 0.3, 0.4, 0.2), shape, rng) * 2,
        "thickness_mm": np.where(rng.random(shape) < 0.6, 8.0, 10.0),
        "branch_past_heel_mm": np.clip(np.round(branch + rng.normal(0, 2.0, shape), 1), -8, 25),
        "expansion_mm": np.clip(np.round(rng.normal(2.4, 0.8, shape), 1), -2, 8),
    }
