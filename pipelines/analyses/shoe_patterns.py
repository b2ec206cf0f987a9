"""Shoes as patterns of what may matter for their loss, counted, and laid out by age and planned date."""

import numpy as np
import polars as pl

from pipelines.analyses.factor_design import Factor, Tally

BAND_ENDS = (7, 14, 28, 42, 56, 84)
NO_END = 1_000_000
PACES = ("fast", "mixed", "slow", "other")
UNSOUND = "wall_state <> 'sound'"
FRONT = "\"end\" = 'front'"


def _yes_no(column: str) -> Factor:
    return Factor(column, f"case when {column} then 'yes' when not {column} then 'no' end", reference="no")


# In the order in which they are taken in where the losses do not bear them all.
FACTORS = (
    Factor("discipline", "discipline"),
    Factor("end", '"end"', reference="front"),
    Factor("branch_past_heel_mm", "branch_past_heel_mm", 5, "5 mm"),
    Factor("wall_state", "wall_state", reference="sound"),
    Factor("hind_shod", "hind_shod", reference="shod", applies=FRONT),
    Factor("hind_toe_leaving_mm", "hind_toe_leaving_mm", 5, "5 mm", applies=FRONT),
    Factor("hind_angle_leaving_deg", "hind_angle_leaving_deg", 1, "1 degree", applies=FRONT),
    Factor("season", "season", reference="summer"),
    Factor("turnout", "turnout", reference="stabled"),
    Factor("nails_total", "nails_medial + nails_lateral", 1, "1 nail"),
    Factor("heel_nails", "heel_nails", 1, "1 nail"),
    _yes_no("edges_dressed"),
    Factor("clips", "clips", reference="none"),
    Factor("pad", "pad", reference="none"),
    Factor("fitting", "fitting", reference="hot"),
    Factor("nail_line", "nail_line", reference="rising"),
    _yes_no("sole_relief"),
    Factor("shoe_style", "shoe_style", reference="plain"),
    Factor("shoe_material", "shoe_material", reference="steel"),
    Factor("handling", "handling::varchar", reference="1"),
    Factor("wall_side", "wall_side", applies=UNSOUND),
    Factor(
        "nails_on_unsound_side",
        "case wall_side when 'medial' then nails_medial when 'lateral' then nails_lateral end",
        1, "1 nail", applies=f"{UNSOUND} and wall_side in ('medial', 'lateral')",
    ),
    Factor("farrier", "farrier"),
)  # fmt: skip

_SELECTED = ",\n       ".join(
    f'{factor.sql} as "{factor.name}", coalesce({factor.applies}, false) as "{factor.name}_applies"'
    if factor.applies != "true"
    else f'{factor.sql} as "{factor.name}"'
    for factor in FACTORS
)

# One row a horse and pattern of factors, age at the end and plan; most shoes have a pattern of their own. The hind
# foot of a front shoe is the one on the same side at the same visit: it is the one that treads the shoe off.
PATTERNS = f"""
with hinds as (
    select visit_id, case foot when 'LH' then 'LF' when 'RH' then 'RF' end as front_foot,
           toe_leaving_mm as hind_toe_leaving_mm, angle_leaving_deg as hind_angle_leaving_deg,
           case when work in ('fit_new', 'reset') then 'shod' when work in ('trim', 'take_off') then 'bare'
                when arrival in ('on', 'sprung') then 'shod' else 'bare' end as hind_shod
    from accepted.feet where foot in ('LH', 'RH')
), shoes as (
    select spells.* exclude (wall_side), case when {UNSOUND} then wall_side end as wall_side,
           turnout, handling, round(7 * planned_weeks)::integer as planned, hinds.* exclude (visit_id, front_foot)
    from derived.shoe_spells spells
    left join accepted.visits visits on visits.visit_id = fitted_visit_id
    left join accepted.horses horses on horses.horse_id = spells.horse_id
    left join hinds on hinds.visit_id = fitted_visit_id and front_foot = foot
)
select horse_id, coalesce(pace, 'other') as pace,
       {_SELECTED},
       days_on, planned, end_reason = 'lost' as was_lost, count(*) as shoes
from shoes group by all
"""


class Shoes:
    """The patterns as arrays. time, events: (patterns, age bands before the planned date, then those past it)."""

    def __init__(self, patterns: pl.DataFrame) -> None:
        self.patterns = patterns
        self.shoes = patterns["shoes"].to_numpy().astype(float)
        self.losses = self.shoes * patterns["was_lost"].to_numpy()
        worn = patterns["days_on"].to_numpy().astype(float)
        self.has_plan = patterns["planned"].is_not_null().to_numpy()
        planned = patterns["planned"].fill_null(NO_END).to_numpy().astype(float)
        start, stop = np.array((0, *BAND_ENDS), dtype=float), np.array((*BAND_ENDS, NO_END), dtype=float)
        whole = _days_within(np.maximum(worn, 0.5), start, stop)
        before = _days_within(np.minimum(np.maximum(worn, 0.5), planned), start, stop)
        self.time = np.hstack([before, whole - before]) * self.shoes[:, None]
        band = np.searchsorted(np.array(BAND_ENDS), worn) + len(start) * (worn > planned)
        self.events = np.zeros_like(self.time)
        self.events[np.arange(len(worn)), band] = self.losses
        bands = len(start)
        self.by_band = self.time[:, :bands] + self.time[:, bands:], self.events[:, :bands] + self.events[:, bands:]
        time, events = (part.sum(axis=0) for part in self.by_band)
        self.rate = np.divide(events, time, out=np.zeros(bands), where=time > 0)
        self.tally = Tally(self.shoes, self.losses, self.by_band[0] @ self.rate)

    def applies(self, name: str) -> np.ndarray:
        """Whether the factor of that name means anything for each pattern."""
        column = f"{name}_applies"
        known = column in self.patterns.columns
        return self.patterns[column].to_numpy() if known else np.ones(len(self.shoes), dtype=bool)


def _days_within(worn: np.ndarray, start: np.ndarray, stop: np.ndarray) -> np.ndarray:
    return np.maximum(np.minimum(worn[:, None], stop) - start, 0.0)
