"""The diary of a practice: visit after visit, until the record ends.

Each turn of the loop is the next visit of every horse at once: the routine one that was planned, a call-out for a
reported loss, or a look in between. What a turn writes down is kept as arrays and joined at the end.
"""

from dataclasses import dataclass, field

import numpy as np

from pipelines.simulate.fit import draw_fit
from pipelines.simulate.hazard import Hazard
from pipelines.simulate.herd import END, Herd, choose
from pipelines.simulate.hoof import Bruising, Growth, next_wall
from pipelines.simulate.truth import Truth
from schemas import words

NEVER = 10**7
ROUTINE, LOST_SHOE, VET_REQUEST, FIRST, OTHER = range(5)
ON, SPRUNG, OFF, BARE = range(4)
FIT_NEW, RESET, TRIM, TAKE_OFF, NONE = range(5)
SUNDAY = 6
_WINTER = (11, 12, 1, 2)
_WORK_MINUTES = np.array([17.0, 14.0, 7.0, 4.0, 1.0])
_WORK_FEE = np.array([32.0, 26.0, 10.0, 8.0, 0.0])


@dataclass
class Written:
    """Rows as written down so far: table → column → arrays, one for each turn."""

    visits: dict[str, list] = field(default_factory=dict)
    feet: dict[str, list] = field(default_factory=dict)
    losses: dict[str, list] = field(default_factory=dict)

    @staticmethod
    def add(table: dict[str, list], columns: dict[str, np.ndarray]) -> None:
        """Adds one turn's arrays."""
        for name, values in columns.items():
            table.setdefault(name, []).append(values)

    @staticmethod
    def joined(table: dict[str, list]) -> dict[str, np.ndarray]:
        """Each column as one array."""
        return {name: np.concatenate(parts) for name, parts in table.items()}


@dataclass(frozen=True)
class Calendar:
    """Days counted from day 0 of the record. month, weekday: by day; last: the last day on record."""

    first: np.datetime64
    last: int

    def month(self, day: np.ndarray) -> np.ndarray:
        """Month 1 to 12."""
        return (self.first + day).astype("datetime64[M]").astype(np.int64) % 12 + 1

    def weekday(self, day: np.ndarray) -> np.ndarray:
        """0 Monday to 6 Sunday; day 0 of 1970 was a Thursday."""
        return ((self.first + day).astype(np.int64) + 3) % 7


class Diary:
    """State of every horse and foot between visits, and the rows written so far."""

    def __init__(self, herd: Herd, truth: Truth, calendar: Calendar, farriers: tuple[str, ...], rng):
        count = herd.theta.size
        self.herd, self.truth, self.calendar, self.rng, self.farriers = herd, truth, calendar, rng, farriers
        self.hazard = Hazard(truth, farriers)
        self.growth, self.bruising = Growth(truth, herd), Bruising(truth, herd)
        self.written = Written()
        self.until = np.minimum(herd.leave_day, calendar.last)
        self.routine = self._not_sunday(herd.first_day)
        self.extra = np.full(count, NEVER)
        self.plan_end = np.full(count, NEVER)
        self.seen = np.zeros(count, dtype=bool)
        came_shod = ~herd.new | (rng.random(count) < 0.7)
        self.shod = herd.wears & came_shod[:, None] & ~self._resting(np.arange(count), herd.first_day)[:, None]
        self.wall = choose((0.8, 0.12, 0.07, 0.01), (count, 4), rng)
        self.wall_side = choose((0.3, 0.4, 0.2, 0.1), (count, 4), rng)
        self.relief = np.full((count, 4), -1)
        self.fitted, self.lost, self.found, self.call, self.last_seen = (np.full((count, 4), NEVER) for _ in range(5))
        self.visit_count = 0

    def keep(self) -> Written:
        """Every visit of every horse until it leaves or the record ends."""
        while (h := self._due()).size:
            self._visit(h, self.today[h])
        self._report_still_open()
        return self.written

    def _due(self) -> np.ndarray:
        call = self.call.min(axis=1)
        waits = self.routine - call <= self.truth.wait_days
        self.called = np.where(waits, NEVER, call)
        self.today = np.minimum(np.minimum(self.routine, self.called), self.extra)
        return np.flatnonzero(self.today <= self.until)

    def _visit(self, h: np.ndarray, day: np.ndarray) -> None:
        kind = self._kind(h, day)
        full = (kind != LOST_SHOE) & (kind != OTHER)
        plan, following = self._plan(h, day, full)
        off = self.shod[h] & (self.lost[h] <= day[:, None])
        # the end of the record is no reason to take shoes off: only a horse that leaves has a last visit
        rows = self._work(h, day, kind, full, off, following > self.herd.leave_day[h])
        handling = np.clip(self.herd.temper[h] + self.rng.integers(-1, 2, h.size), 1, 5)
        farrier = self._farrier(h)
        self._report(h, off, day)
        self._look_over(h, day, kind, off, rows)
        self._nail(h, day, kind, handling, farrier, rows)
        self._write(h, day, kind, plan, handling, farrier, rows)
        self.routine[h] = following
        self._look_between(h, day, full)
        self.seen[h] = True

    def _kind(self, h: np.ndarray, day: np.ndarray) -> np.ndarray:
        routine = np.where(self.rng.random(h.size) < self.truth.vet_request_share, VET_REQUEST, ROUTINE)
        routine = np.where(~self.seen[h] & self.herd.new[h], FIRST, routine)
        between = np.where(day == self.called[h], LOST_SHOE, OTHER)
        return np.where(day == self.routine[h], routine, between)

    def _plan(self, h: np.ndarray, day: np.ndarray, full: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Weeks agreed (-1 where nothing new is agreed) and the day of the next routine visit."""
        slow = self.herd.pace[h] == words.PACES.index("slow")
        stretch = slow & np.isin(self.calendar.month(day), _WINTER) & (self.rng.random(h.size) < 0.5)
        weeks = self.herd.weeks[h] + stretch
        late = np.rint(self.rng.normal(0.5, 2.5, h.size))
        long = self.rng.random(h.size) < self.truth.late_share
        late += np.where(long, np.rint(self.rng.exponential(self.truth.late_mean_days, h.size)), 0)
        following = self._not_sunday(day + np.maximum(7 * weeks + late, 10).astype(np.int64))
        self.plan_end[h] = np.where(full, day + 7 * weeks, self.plan_end[h])
        return np.where(full, weeks, -1), np.where(full, following, self.routine[h])

    def _not_sunday(self, day: np.ndarray) -> np.ndarray:
        return day + (self.calendar.weekday(day) == SUNDAY)

    def _farrier(self, h: np.ndarray) -> np.ndarray:
        stand_in = self.rng.integers(0, len(self.farriers), h.size)
        return np.where(self.rng.random(h.size) < 0.85, self.herd.farrier[h], stand_in)

    def _resting(self, h: np.ndarray, day: np.ndarray) -> np.ndarray:
        return self.herd.rests[h] & np.isin(self.calendar.month(day), _WINTER)

    def _work(self, h, day, kind, full, off, last) -> dict[str, np.ndarray]:
        """Which feet are in the record of this visit, how they arrived and what was done."""
        shod, luck, shape = self.shod[h], self.rng.random, off.shape
        arrival = np.where(off, OFF, np.where(~shod, BARE, np.where(luck(shape) < 0.025, SPRUNG, ON)))
        barefoot = self._resting(h, day) | (last & self.herd.leaves_bare[h])
        wanted = self.herd.wears[h] & ~barefoot[:, None] & ~(off & (luck(shape) < 0.03))
        skipped = ~shod & ~wanted & (luck(shape) < 0.06)
        handled = (full[:, None] & ~skipped) | off
        nailed = handled & wanted
        again = (arrival == ON) & self.seen[h][:, None] & (luck(shape) < 0.3)
        work = np.where(nailed, np.where(again, RESET, FIT_NEW), np.where(shod & ~off, TAKE_OFF, TRIM))
        noted = ((kind != LOST_SHOE) | (luck(h.size) < 0.4))[:, None] & ~(skipped & (luck(shape) < 0.6))
        return {
            "present": handled | noted,
            "handled": handled,
            "nailed": nailed,
            "shod": shod,
            "arrival": arrival,
            "work": np.where(handled, work, NONE),
        }

    def _report(self, h: np.ndarray, off: np.ndarray, until: np.ndarray) -> None:
        """Writes down the losses of feet `off`; those found by `until` were reported."""
        row, foot = np.nonzero(off)
        horse = h[row]
        column = {
            "horse": horse,
            "foot": foot,
            "fitted": self.fitted[horse, foot],
            "lost": self.lost[horse, foot],
            "found": self.found[horse, foot],
            "last_seen": self.last_seen[horse, foot],
            "until": until[row],
            "wall": self.wall[horse, foot],
        }
        Written.add(self.written.losses, column | {"reported": column["found"] <= column["until"]})

    def _report_still_open(self) -> None:
        h = np.arange(self.until.size)
        self._report(h, self.shod & (self.lost <= self.until[:, None]), self.until)

    def _look_over(self, h, day, kind, off, rows: dict[str, np.ndarray]) -> None:
        handled = rows["handled"]
        wall = np.where(handled, next_wall(self.wall[h], off, self.truth, self.rng), self.wall[h])
        changed = (wall > 0) & (self.wall[h] == 0)
        side = np.where(changed, choose((0.3, 0.4, 0.2, 0.1), wall.shape, self.rng), self.wall_side[h])
        self.wall[h], self.wall_side[h] = wall, side
        rows["wall_state"] = np.where(handled, wall, -1)
        rows["wall_side"] = np.where(handled & (wall > 0), side, -1)
        rows.update(self.growth.visit(h, day, handled, rows["shod"], self.rng))

    def _nail(self, h, day, kind, handling, farrier, rows: dict[str, np.ndarray]) -> None:
        nailed, handled = rows["nailed"], rows["handled"]
        fit = draw_fit(self.herd, h, kind == VET_REQUEST, self.rng)
        shod = np.where(handled, nailed, rows["shod"])
        self.shod[h] = shod
        rate = self.hazard.rate(
            self._codes(h, day, handling, farrier, fit, rows), self._measured(h, fit, rows), self.herd.theta[h][:, None]
        )
        self._draw_loss(h, day, nailed, handled, rate)
        self.relief[h] = np.where(nailed, fit["sole_relief"], np.where(handled, -1, self.relief[h]))
        looks = (kind == OTHER)[:, None] | (handled & (self.rng.random(nailed.shape) >= self.truth.unlooked_feet))
        rows.update(self.bruising.look(h, looks & rows["present"], self.relief[h], self.rng))
        rows.update({name: _only(nailed, value) for name, value in fit.items()})

    def _codes(self, h, day, handling, farrier, fit, rows) -> dict[str, np.ndarray]:
        season = self.calendar.month(day) % 12 // 3
        by_horse = {
            "discipline": self.herd.discipline[h],
            "pace": self.herd.pace[h],
            "turnout": self.herd.turnout[h],
            "season": season,
            "handling": handling - 1,
            "farrier": farrier,
        }
        hind_shod = np.where(END == 0, self.shod[h][:, [2, 3, 2, 3]].astype(np.int64), -1)
        habits = {name: fit[name] for name in self.herd.habit}
        codes = {name: code[:, None] for name, code in by_horse.items()}
        return codes | habits | {"end": END[None, :], "wall_state": rows["wall_state"], "hind_shod": hind_shod}

    def _measured(self, h, fit, rows) -> dict[str, np.ndarray]:
        """Measured factors as they are written down, so that a model of the record has the same truth."""
        medial, lateral, side = fit["nails_medial"], fit["nails_lateral"], rows["wall_side"]
        beside = np.where(side == 0, medial, np.where(side == 1, lateral, np.nan))
        front = np.where(END == 0, 1.0, np.nan)
        return {
            "branch_past_heel_mm": fit["branch_past_heel_mm"],
            "nails_total": medial + lateral,
            "heel_nails": fit["heel_nails"],
            "nails_on_unsound_side": beside,
            "hind_toe_leaving_mm": self.growth.toe_left[h][:, [2, 3, 2, 3]] * front,
            "hind_angle_leaving_deg": self.growth.angle_left[h][:, [2, 3, 2, 3]] * front,
        }

    def _draw_loss(self, h, day, nailed, handled, rate) -> None:
        truth, luck, shape, day = self.truth, self.rng.random, nailed.shape, day[:, None]
        due_age = np.maximum(self.plan_end[h][:, None] - day, 0)
        lost = day + self.hazard.loss_age(rate, due_age, self.rng)
        late = np.where(luck(shape) < truth.found_late_share, self.rng.integers(1, 3, shape), 0)
        told = nailed & (luck(shape) >= truth.unreported_share)
        seen = np.maximum(day, lost - 1 - choose((0.7, 0.2, 0.1), shape, self.rng))
        seen = np.where(luck(shape) < truth.last_seen_share, seen, NEVER)
        answer = self.rng.integers(1, 5, shape)
        for state, value, known in (
            (self.fitted, np.broadcast_to(day, shape), nailed),
            (self.lost, lost, nailed),
            (self.found, lost + late, told),
            (self.call, self._not_sunday(lost + late + answer), told),
            (self.last_seen, seen, told),
        ):
            state[h] = np.where(handled, np.where(known, value, NEVER), state[h])

    def _look_between(self, h: np.ndarray, day: np.ndarray, full: np.ndarray) -> None:
        between = day + 7 + self.rng.integers(0, 21, h.size)
        wanted = full & (self.rng.random(h.size) < self.truth.other_visits_share) & (between < self.routine[h])
        keeps = ~full & (self.extra[h] > day)
        self.extra[h] = np.where(wanted, between, np.where(keeps, self.extra[h], NEVER))

    def _write(self, h, day, kind, plan, handling, farrier, rows: dict[str, np.ndarray]) -> None:
        present, work = rows["present"], rows["work"]
        hours = np.where(present, _WORK_MINUTES[work], 0).sum(axis=1) * (0.85 + 0.08 * handling)
        charged = np.where(rows["handled"], _WORK_FEE[work], 0).sum(axis=1) + 15
        visit = self.visit_count + np.arange(h.size)
        self.visit_count += h.size
        columns = {
            "horse": h,
            "day": day,
            "farrier": farrier,
            "visit_kind": kind,
            "minutes": np.clip(np.rint(8 + hours * self.rng.normal(1, 0.12, h.size)), 5, 600),
            "fee": np.where(kind == LOST_SHOE, 0.0, charged),
            "travel_km": np.maximum(self.herd.travel[h] + self.rng.integers(-2, 6, h.size), 0),
            "planned_weeks": plan,
            "handling": handling,
        }
        Written.add(self.written.visits, columns)
        flat = {name: value[present] for name, value in rows.items() if name not in ("present", "handled", "nailed")}
        flat["visit"] = np.broadcast_to(visit[:, None], present.shape)[present]
        flat["foot"] = np.broadcast_to(np.arange(4), present.shape)[present]
        Written.add(self.written.feet, flat)


def _only(kept: np.ndarray, value: np.ndarray) -> np.ndarray:
    return np.where(kept, value, np.nan if value.dtype.kind == "f" else -1)
