"""What is seen and measured on a foot: wall, bruise, angle, toe."""

import numpy as np
from scipy.special import ndtri

from pipelines.simulate.herd import END, Herd, choose
from pipelines.simulate.truth import Truth
from schemas import words

_WALL_MOVES = np.cumsum(
    [[0.93, 0.05, 0.02, 0.0], [0.35, 0.55, 0.1, 0.0], [0.3, 0.1, 0.55, 0.05], [0.1, 0.1, 0.4, 0.4]], axis=1
)
_SITES = (0.2, 0.12, 0.1, 0.3, 0.12, 0.16)
_GRADES = (0.6, 0.3, 0.1)
CLEAR, BRUISED, NEVER_LOOKED = 0, 1, -1
_BARE_GROWTH = 0.5  # a bare toe wears away about half of what it grows


def next_wall(wall: np.ndarray, lost: np.ndarray, truth: Truth, rng: np.random.Generator) -> np.ndarray:
    """Code of wall state at this visit from that of the visit before; a shoe that came off may have taken wall."""
    draw = rng.random(wall.shape)[..., None]
    moved = (draw >= _WALL_MOVES[wall]).sum(axis=-1).clip(max=3)
    torn = lost & (rng.random(wall.shape) < truth.wall_worse_after_loss)
    return np.where(torn, np.maximum(moved, 2), moved)


class Bruising:
    """Two states a foot, clear and bruised, that change only at a look: chances depend on the look before."""

    def __init__(self, truth: Truth, herd: Herd):
        of_discipline = np.array([truth.bruise_discipline.get(name, 1.0) for name in words.DISCIPLINES])
        of_end = np.array([truth.bruise_end.get(name, 1.0) for name in words.ENDS])[END]
        self._new = truth.bruise_new * of_discipline[herd.discipline][:, None] * of_end
        self._again = truth.bruise_again
        self._relief_new = _by_relief(truth.bruise_relief_new)
        self._relief_again = _by_relief(truth.bruise_relief_again)
        self._together = truth.bruise_same_visit
        self._same_site = truth.bruise_same_site
        self.state = np.full((herd.discipline.size, 4), NEVER_LOOKED)
        self.relief = np.full((herd.discipline.size, 4), -1)
        self.site = np.zeros((herd.discipline.size, 4), dtype=np.int64)

    def look(self, h: np.ndarray, looked: np.ndarray, relief: np.ndarray, rng: np.random.Generator) -> dict:
        """Grade and site found on the feet looked at. relief: sole relief the foot leaves with, -1 for bare."""
        before = self.state[h]
        bruised = self._draw(h, rng)
        site = choose(_SITES, bruised.shape, rng)
        same = (before == BRUISED) & (rng.random(site.shape) < self._same_site)
        site = np.where(same, self.site[h], site)
        grade = np.where(bruised, 1 + choose(_GRADES, site.shape, rng), 0)
        self.state[h] = np.where(looked, bruised, before)
        self.relief[h] = np.where(looked, relief, self.relief[h])
        self.site[h] = np.where(looked & bruised, site, self.site[h])
        return {
            "bruise_grade": np.where(looked, grade, -1),
            "bruise_site": np.where(looked & bruised, site, -1),
        }

    def _draw(self, h: np.ndarray, rng: np.random.Generator) -> np.ndarray:
        new = np.minimum(self._new[h] * self._relief_new[self.relief[h]], 0.9)
        again = np.minimum(self._again * self._relief_again[self.relief[h]], 0.95)
        settled = new / (new + 1 - again)
        chance = np.where(self.state[h] == BRUISED, again, np.where(self.state[h] == CLEAR, new, settled))
        # One draw shared by the horse's feet ties them together and leaves each foot's own chance as it is.
        shared, own = np.sqrt(self._together), np.sqrt(1 - self._together)
        luck = shared * rng.standard_normal((h.size, 1)) + own * rng.standard_normal(chance.shape)
        return luck < ndtri(chance)


def _by_relief(ratios) -> np.ndarray:
    return np.array([ratios.get("no", 1.0), ratios.get("yes", 1.0), 1.0])


class Growth:
    """True angle and toe of each foot as it was last left, and what is read off at each visit."""

    def __init__(self, truth: Truth, herd: Herd):
        self._truth, self._herd = truth, herd
        self._angle, self._toe = herd.angle.copy(), herd.toe.copy()
        self._since = herd.first_day[:, None] - 42 + np.zeros((1, 4), dtype=np.int64)
        self.angle_left, self.toe_left = herd.angle.copy(), herd.toe.copy()

    def visit(
        self, h: np.ndarray, day: np.ndarray, handled: np.ndarray, shod: np.ndarray, rng: np.random.Generator
    ) -> dict[str, np.ndarray]:
        """Readings before the trim and after it, NaN for feet not handled. shod: whether the foot was until now."""
        truth, herd = self._truth, self._herd
        weeks = (day[:, None] - self._since[h]) / 7
        drift = np.where(shod, truth.drift_shod_deg_per_week, truth.drift_bare_deg_per_week) + herd.drift_off[h]
        growth = truth.toe_mm_per_week * np.where(shod, 1.0, _BARE_GROWTH)
        back = self._angle[h] + drift * weeks, self._toe[h] + growth * weeks
        years = (day / 365.25)[:, None]
        left = herd.angle[h] + herd.angle_slope[h] * years, herd.toe[h]
        left = left[0] + rng.normal(0, truth.trim_sd_deg, weeks.shape), left[1] + rng.normal(0, 1.0, weeks.shape)
        self._angle[h] = np.where(handled, left[0], self._angle[h])
        self._toe[h] = np.where(handled, left[1], self._toe[h])
        self._since[h] = np.where(handled, day[:, None], self._since[h])
        return self._read(h, handled, back, left, rng)

    def _read(self, h, handled, back, left, rng: np.random.Generator) -> dict[str, np.ndarray]:
        def reading(value: np.ndarray, error: float, low: float, high: float) -> np.ndarray:
            return np.clip(np.round(value + rng.normal(0, error, value.shape), 1), low, high)

        angle_error, toe_error = self._truth.angle_error_sd_deg, self._truth.toe_error_sd_mm
        read = {
            "angle_arrival_deg": reading(back[0], angle_error, 30, 75),
            "angle_leaving_deg": reading(left[0], angle_error, 30, 75),
            "toe_arrival_mm": reading(back[1], toe_error, 40, 160),
            "toe_leaving_mm": reading(left[1], toe_error, 40, 160),
        }
        self.angle_left[h] = np.where(handled, read["angle_leaving_deg"], self.angle_left[h])
        self.toe_left[h] = np.where(handled, read["toe_leaving_mm"], self.toe_left[h])
        return {name: np.where(handled, value, np.nan) for name, value in read.items()}
