"""Truth: every number the made-up practice is drawn from, so that an analysis can be held against it.

Figures are chosen to look like a working practice, not measured (common practice, no source), but for those with a
source beside them.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from typing import Any

AGE_BANDS = (7, 14, 28, 42, 56, 84)
"""Ends of the bands of shoe age in days, each included in its band; a last band is open."""

LOSS_RATIOS: dict[str, dict[str, float]] = {
    "discipline": {
        "barrel_racing": 3.0,
        "breakaway_roping": 2.6,
        "team_roping": 2.4,
        "polo": 3.2,
        "racing": 2.8,
        "eventing": 3.4,
        "show_jumping": 2.4,
        "endurance": 2.0,
        "cutting": 1.7,
        "reining": 1.7,
        "hunting": 2.2,
        "driving": 1.2,
        "dressage": 1.3,
        "gaited": 1.2,
        "trail": 1.0,
        "draft_work": 1.1,
        "schooling": 1.2,
        "companion": 0.8,
        "young_stock": 1.3,
        "other": 1.0,
    },
    "end": {"front": 1.0, "hind": 0.55},
    "wall_state": {"sound": 1.0, "cracked": 1.4, "broken": 2.2, "missing": 3.0},
    "clips": {"none": 1.0, "toe": 0.85, "quarter": 0.7},
    "pad": {"none": 1.0, "rim": 1.15, "full": 1.3},
    "fitting": {"hot": 1.0, "cold": 1.1},
    "edges_dressed": {"no": 1.0, "yes": 0.8},
    "sole_relief": {"no": 1.0, "yes": 1.0},
    "nail_line": {"rising": 1.0, "level": 1.1, "falling": 1.25},
    "shoe_style": {"plain": 1.0, "bar": 1.3, "egg_bar": 1.6, "heart_bar": 1.3, "rolled_toe": 0.9},
    "shoe_material": {"steel": 1.0, "aluminium": 1.2, "polymer": 1.2},
    "season": {"winter": 1.3, "spring": 1.15, "summer": 1.0, "autumn": 1.05},
    "turnout": {"stabled": 1.0, "part_day": 1.1, "full_time": 1.3},
    "handling": {"1": 1.0, "2": 1.0, "3": 1.1, "4": 1.25, "5": 1.5},
    "hind_shod": {"shod": 1.0, "bare": 0.8},
    "farrier": {},
}

SLOPES_FROM = {
    "nails_total": (6.0, 1.0),
    "heel_nails": (0.0, 1.0),
    "nails_on_unsound_side": (3.0, 1.0),
    "hind_toe_leaving_mm": (82.0, 5.0),
    "hind_angle_leaving_deg": (54.0, 1.0),
}
"""Measured factor → (value at which its ratio is 1, units one ratio stands for)."""

BRANCH_FROM = (5.0, 5.0)

LOSS_SLOPES = {
    "nails_total": 0.93,
    "heel_nails": 0.95,
    "nails_on_unsound_side": 1.12,
    "hind_toe_leaving_mm": 1.12,
    "hind_angle_leaving_deg": 0.97,
}

DISCIPLINE_MIX = {
    "trail": 13,
    "barrel_racing": 12,
    "dressage": 12,
    "show_jumping": 11,
    "eventing": 10,
    "team_roping": 8,
    "reining": 8,
    "hunting": 7,
    "polo": 7,
    "schooling": 6,
    "endurance": 5,
    "driving": 5,
    "companion": 5,
    "draft_work": 4,
    "young_stock": 3,
    "other": 1,
}

BLANKS = {
    "foaled_year": 0.06, "sex": 0.03, "breed": 0.2, "height_hands": 0.15, "mass_kg": 0.45, "turnout": 0.1,
    "work_days_per_week": 0.25, "microchip": 0.2, "ueln": 0.4, "owner_contact": 0.15, "vet_practice": 0.12,
    "minutes": 0.08, "fee": 0.05, "travel_km": 0.12, "planned_weeks": 0.06, "handling": 0.1,
    "shoe_material": 0.05, "web_mm": 0.35, "thickness_mm": 0.55, "branch_past_heel_mm": 0.1, "expansion_mm": 0.3,
    "nails_medial": 0.04, "nails_lateral": 0.04, "heel_nails": 0.15, "nail_line": 0.35, "clips": 0.03, "pad": 0.05,
    "fitting": 0.08, "edges_dressed": 0.15, "sole_relief": 0.1, "wall_state": 0.03, "wall_side": 0.1,
    "bruise_site": 0.06, "angle_arrival_deg": 0.08, "angle_leaving_deg": 0.06, "toe_arrival_mm": 0.2,
    "toe_leaving_mm": 0.15, "cause": 0.08, "activity": 0.2, "ground": 0.3,
}  # fmt: skip


@dataclass(frozen=True)
class Truth:
    """What is really so in a made-up practice. Ratios multiply, 1 is no effect; a level not named has ratio 1."""

    # How shoes come off. The reference shoe is a front shoe of a trail horse, sound wall, 28 to 42 days old.
    base_per_1000_days: float = 0.36
    age_ratios: tuple[float, ...] = (1.5, 0.9, 0.8, 1.0, 1.4, 2.2, 3.0)
    frailty_shape: float = 0.9  # gamma shape of the horses' own multipliers, mean 1; infinite: all horses alike
    loss_ratios: Mapping[str, Mapping[str, float]] = field(default_factory=lambda: LOSS_RATIOS)
    loss_slopes: Mapping[str, float] = field(default_factory=lambda: LOSS_SLOPES)
    branch_per_5mm: Mapping[str, float] = field(default_factory=lambda: {"fast": 1.35, "mixed": 1.15, "slow": 1.0})
    overdue: float = 1.25  # from the day the next visit was planned for
    wall_worse_after_loss: float = 0.3  # chance; ties wall state to the horse's own multiplier

    # What is told of it.
    unreported_share: float = 0.25  # losses noticed only at the next visit
    found_late_share: float = 0.3  # reported losses found a day or two late
    last_seen_share: float = 0.4  # reports that say when the shoe was last seen on
    told_twice_share: float = 0.02
    blanks: Mapping[str, float] = field(default_factory=lambda: BLANKS)
    unmeasured_visits: float = 0.05
    unlooked_feet: float = 0.12  # handled feet not looked at for a bruise

    # Bruises: chances at each look, given the look before.
    bruise_new: float = 0.045
    bruise_again: float = 0.38
    bruise_discipline: Mapping[str, float] = field(
        default_factory=lambda: {
            "endurance": 1.6,
            "show_jumping": 1.3,
            "eventing": 1.3,
            "driving": 1.4,
            "dressage": 0.8,
        }
    )
    bruise_end: Mapping[str, float] = field(default_factory=lambda: {"front": 1.0, "hind": 0.6})
    bruise_relief_new: Mapping[str, float] = field(default_factory=lambda: {"yes": 1.0, "no": 1.7})
    bruise_relief_again: Mapping[str, float] = field(default_factory=lambda: {"yes": 1.0, "no": 1.3})
    bruise_same_visit: float = 0.3  # correlation of one horse's feet at one look
    bruise_same_site: float = 0.7  # a bruise that is seen again lies where it lay before

    # Angles. Growth drift: van Heel 2005 and Moleman 2006, as quoted elsewhere, about -3.5 degrees in 8 weeks.
    drift_shod_deg_per_week: float = -0.44
    drift_bare_deg_per_week: float = -0.12
    drift_sd_between_feet: float = 0.10
    trend_deg_per_year: float = -0.25
    trend_sd_between_feet: float = 0.6
    angle_sd_between_horses: float = 2.0
    angle_sd_between_feet: float = 0.7
    trim_sd_deg: float = 0.5
    angle_error_sd_deg: float = 0.6
    toe_mm_per_week: float = 1.75  # Josseck 1995, EVJ 27:175: 7 mm in 28 days
    toe_error_sd_mm: float = 1.0

    # The practice and its diary.
    discipline_mix: Mapping[str, float] = field(default_factory=lambda: DISCIPLINE_MIX)
    joins_share: float = 0.35  # horses that come after the record began
    leaves_per_year: float = 0.08
    leaves_barefoot: float = 0.6  # of those, shoes taken off at the last visit
    rests_share: float = 0.1  # horses whose shoes come off over winter
    late_share: float = 0.2  # intervals that run on by an exponential number of days
    late_mean_days: float = 12.0
    wait_days: int = 5  # a loss this close to the next visit waits for it
    other_visits_share: float = 0.025  # intervals with a look in between
    vet_request_share: float = 0.02

    @classmethod
    def nothing_to_find(cls, **changes: Any) -> "Truth":
        """No factor, age, season or horse changes the chance of losing a shoe. `changes` set single fields."""
        flat = cls(
            base_per_1000_days=1.0,
            age_ratios=(1.0,) * (len(AGE_BANDS) + 1),
            frailty_shape=float("inf"),
            loss_ratios={},
            loss_slopes={},
            branch_per_5mm={},
            overdue=1.0,
            wall_worse_after_loss=0.0,
        )
        return replace(flat, **changes)

    @classmethod
    def plainly_recorded(cls, **changes: Any) -> "Truth":
        """The same effects in a record without gaps: losses dated to the day, nothing blank, nobody leaves untold.

        For coverage studies: wall state does not follow from earlier losses, so it is not confounded with the horse.
        """
        plain = cls(
            wall_worse_after_loss=0.0,
            unreported_share=0.0,
            found_late_share=0.0,
            told_twice_share=0.0,
            blanks={},
            unmeasured_visits=0.0,
            unlooked_feet=0.0,
            leaves_per_year=0.0,
        )
        return replace(plain, **changes)

    def as_dict(self) -> dict[str, Any]:
        """Every field by its name, in plain types that JSON can hold (an infinite shape becomes null)."""
        values = {item.name: _plain(getattr(self, item.name)) for item in fields(self)}
        return values | {"age_bands_end_day": list(AGE_BANDS), "slopes_from": _plain(SLOPES_FROM)}


def _plain(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, tuple):
        return list(value)
    return None if value == float("inf") else value
