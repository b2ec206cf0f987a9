"""The mean number of times something has happened to a unit by a given day, when it can happen again."""

from typing import NamedTuple

import numpy as np

from pipelines.stats.poisson import Z95


class Followed(NamedTuple):
    """Stretches of follow-up: arrays with one value a stretch. A unit is followed on days start < day ≤ stop.

    unit: whole numbers from 0, each with at least one stretch; the stretches of one unit must not overlap.
    """

    unit: np.ndarray
    start: np.ndarray
    stop: np.ndarray


class Events(NamedTuple):
    """Arrays with one value an event; two events of one unit on one day count as two."""

    unit: np.ndarray
    day: np.ndarray


class Burden(NamedTuple):
    """One value for each day asked for. low, high: 95 % limits, above 0; NaN where the mean is 0 or has no error."""

    followed: np.ndarray
    mean: np.ndarray
    error: np.ndarray
    low: np.ndarray
    high: np.ndarray


def mean_cumulative(followed: Followed, events: Events, days: np.ndarray, clusters: np.ndarray | None = None) -> Burden:
    """Mean cumulative function at each of `days` (ascending), with robust variance.

    A unit is at risk on its own last day. An event on a day on which its unit is not followed raises ValueError.
    clusters: for each unit the cluster it belongs to, as whole numbers from 0; without it units are independent.
    Variance: Σ over units (or clusters) of (Σ over days of (own events − mean events)/units followed)², the mean
    counting only while the unit is followed, without n/(n − 1). Limits: mean·exp(±z·error/mean).
    Source: Nelson 1995, Technometrics 37:147; Lawless & Nadeau 1995, Technometrics 37:158.
    """
    followed, events = Followed(*map(np.asarray, followed)), Events(*map(np.asarray, events))
    _refuse_events_outside(followed, events)
    times, place, counts = np.unique(events.day, return_inverse=True, return_counts=True)
    at_risk = _followed_on(followed, times)
    by_day = _running(counts / at_risk)[np.searchsorted(times, days, side="right")]
    groups = np.arange(followed.unit.max(initial=-1) + 1) if clusters is None else np.asarray(clusters)
    error = _errors(groups, followed, events, times, counts / at_risk**2, 1 / at_risk[place], days)
    with np.errstate(divide="ignore", invalid="ignore"):
        spread = np.where(error > 0, np.exp(Z95 * error / by_day), np.nan)
        return Burden(_followed_on(followed, days), by_day, error, by_day / spread, by_day * spread)


def _errors(
    groups: np.ndarray,
    followed: Followed,
    events: Events,
    times: np.ndarray,
    pulls: np.ndarray,
    gains: np.ndarray,
    days: np.ndarray,
) -> np.ndarray:
    """On each day, the root of the summed squares of what each group had over its share of the mean until then.

    pulls: at each of `times`, events over units followed squared; gains: of each event, 1 over units followed.
    """
    pulled = _running(pulls)
    pulled_by = [
        pulled[np.searchsorted(times, moment, side="right")] for moment in (followed.start, followed.stop, days)
    ]
    group, size = groups[followed.unit], groups.max(initial=-1) + 1
    errors = np.empty(len(days))
    for place, (day, by_day) in enumerate(zip(days, pulled_by[2], strict=True)):
        # What is pulled only grows, so a stretch cut short by the day has the lesser of the two.
        share = np.minimum(pulled_by[1], by_day) - np.minimum(pulled_by[0], by_day)
        over = np.bincount(groups[events.unit], weights=np.where(events.day <= day, gains, 0.0), minlength=size)
        errors[place] = np.sqrt(((over - np.bincount(group, weights=share, minlength=size)) ** 2).sum())
    return errors


def _running(steps: np.ndarray) -> np.ndarray:
    """Sums so far, with the 0 before the first step."""
    return np.concatenate([[0.0], np.cumsum(steps)])


def _followed_on(followed: Followed, days: np.ndarray) -> np.ndarray:
    begun = np.searchsorted(np.sort(followed.start), days, side="left")
    return begun - np.searchsorted(np.sort(followed.stop), days, side="left")


def _refuse_events_outside(followed: Followed, events: Events) -> None:
    """The last stretch of a unit that begins before the event's day must reach it."""
    order = np.lexsort((followed.start, followed.unit))
    unit, start, stop = (part[order] for part in followed)
    span = 1 + max((part.max(initial=0) for part in (start, stop, events.day)), default=0) - start.min(initial=0)
    keys = unit * span + (start - start.min(initial=0))
    place = np.searchsorted(keys, events.unit * span + (events.day - start.min(initial=0)), side="left") - 1
    inside = (place >= 0) & (unit[place] == events.unit) & (stop[place] >= events.day) if len(unit) else place >= 0
    if not np.all(inside):
        raise ValueError(f"{np.count_nonzero(~np.asarray(inside))} events fall where their unit is not followed")
