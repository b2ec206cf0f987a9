"""Hazard by age where some losses are known only to lie between two ages: each is spread over them, by maximum
likelihood."""

from typing import NamedTuple

import numpy as np

TOLERANCE = 1e-10
MOST_STEPS = 2000


class Bands(NamedTuple):
    """Ages cut at `stops`, the last of them inf: (0, stops[0]], (stops[0], stops[1]], …"""

    stops: np.ndarray

    def days(self, start: np.ndarray, stop: np.ndarray) -> np.ndarray:
        """Days of each band between two ages; one row a pair."""
        starts = np.concatenate([[0.0], self.stops[:-1]])
        start, stop = np.atleast_1d(start)[:, None], np.atleast_1d(stop)[:, None]
        return np.maximum(np.minimum(stop, self.stops) - np.maximum(start, starts), 0)


def hazard_of_spread(
    events: np.ndarray, time: np.ndarray, after: np.ndarray, by: np.ndarray, shoes: np.ndarray, bands: Bands
) -> np.ndarray:
    """Maximum-likelihood hazard of each band, constant within it.

    events, time: losses of known age and the time of all shoes but those of after, by, shoes: so many shoes lost at an
    age in (after, by]. Each step gives such a shoe to the bands by the chance that it came off there, given that it
    did, with the time it is then expected to have been on (EM). A band without time has hazard 0.
    Source: Dempster, Laird & Rubin 1977, JRSS B 39:1; piecewise-exponential likelihood of interval-censored times.
    """
    inside, before = bands.days(after, by), bands.days(np.zeros(len(after)), after)
    share = inside / inside.sum(axis=1, keepdims=True)
    worn = before + inside / 2
    rate = _rate(events + shoes @ share, time + shoes @ worn)
    for _ in range(MOST_STEPS):
        share, within = came_off(rate, inside)
        new = _rate(events + shoes @ share, time + shoes @ (before + within))
        moved = np.abs(new - rate).max(initial=0)
        rate = new
        if moved <= TOLERANCE * rate.max(initial=0):
            break
    return rate


def came_off(rate: np.ndarray, inside: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Of shoes lost in intervals that have `inside` days in each band: the chance that it was there, and the days on.

    Arrays (shoes, bands). Where the hazard is 0 over a whole interval every day of it is as likely.
    """
    risk = rate * inside
    chance = np.exp(-(np.cumsum(risk, axis=1) - risk)) * -np.expm1(-risk)
    total = chance.sum(axis=1, keepdims=True)
    chance = np.where(total > 0, chance / np.where(total > 0, total, 1), inside / inside.sum(axis=1, keepdims=True))
    later = 1 - np.cumsum(chance, axis=1)
    small = risk < 1e-4
    safe = np.where(small, 1.0, risk)
    mean = inside * np.where(small, 0.5 - risk / 12, 1 / safe - 1 / np.expm1(safe))
    return chance, np.maximum(later, 0) * inside + chance * mean


def _rate(events: np.ndarray, time: np.ndarray) -> np.ndarray:
    return np.divide(events, time, out=np.zeros(len(time)), where=time > 0)
