"""Each foot beside its peers while it grows, shod with shod and bare with bare, and the error of one reading."""

from typing import NamedTuple

import numpy as np
import polars as pl

from pipelines.analyses.splits import yes_or_no
from pipelines.stats.slopes import Slopes, UnitSums, random_slope, unit_slopes

ENOUGH_FEET = 5
ENOUGH_REPEATED = 3
# A spread from fewer steps than these beyond the first of each foot may as well be half or double.
ENOUGH_REPEATS = 10
SUMS = ("steps", "tt", "ty", "yy")

# The sums of a foot are all that the likelihood needs of it; weeks are the days over 7. A foot that was shod and bare
# has a row of each.
GROWTH = f"""
select horse_id, foot, discipline, "end", {yes_or_no("shod")} as shod, count(*) as steps,
       sum(days * days)::double / 49 as tt, round(sum(days * angle_change_deg), 8) / 7 as ty,
       round(sum(angle_change_deg * angle_change_deg), 8) as yy
from derived.foot_steps where angle_change_deg is not null group by all
"""


NO_FEET = pl.DataFrame(
    schema={"horse_id": pl.String, "foot": pl.String, "shod": pl.String, "steps": pl.Int64}
    | dict.fromkeys(("slope", "error", "peers", "unread"), pl.Float64)
)


class Peers(NamedTuple):
    """What is known of growth among shod feet, or among bare ones.

    own: horse_id, foot, shod, steps, slope, error, peers (the slope of all of them), unread (the part of the spread
    between feet that its steps leave open). The slope of a foot not among them is that of all, with the error
    `stranger`. repeats: steps beyond the first of each foot.
    """

    fit: Slopes
    own: pl.DataFrame
    repeats: int

    @property
    def stranger(self) -> float:
        """Standard error of the slope of a foot never read: feet differ, and their mean has its own error."""
        return float(np.hypot(self.fit.sd_units, self.fit.error))


def units(feet: pl.DataFrame) -> UnitSums:
    """The sums of the fit, one foot a row."""
    return UnitSums(*(feet[name].to_numpy() for name in SUMS))


def fitted(feet: pl.DataFrame) -> Slopes | str:
    """The fitted slopes, or why there are none."""
    if feet.height < ENOUGH_FEET:
        return f"fewer than {ENOUGH_FEET} feet with an angle at both visits of a step"
    if feet.filter(pl.col("steps") >= 2).height < ENOUGH_REPEATED:
        return f"fewer than {ENOUGH_REPEATED} feet with two steps or more"
    return random_slope(units(feet)) or "the angles lie exactly on straight lines: no spread to judge by"


def peers(growth: pl.DataFrame) -> dict[str, Peers | str]:
    """Growth among shod feet (`yes`) and bare ones (`no`), or why nothing is known of it. growth: rows of GROWTH."""
    parts = growth.sort("shod", "horse_id", "foot").partition_by("shod", maintain_order=True, as_dict=True)
    return {level: _peers(part) for (level,), part in parts.items()}


def _peers(feet: pl.DataFrame) -> Peers | str:
    fit = fitted(feet)
    if isinstance(fit, str):
        return fit
    slope, error = unit_slopes(units(feet), fit)
    own = feet.select("horse_id", "foot", "shod", "steps").with_columns(
        slope=slope, error=error, peers=fit.slope, unread=fit.sd_units / (1 + fit.ratio * units(feet).tt)
    )
    return Peers(fit, own, int(feet["steps"].sum()) - feet.height)


def reading_error(known: dict[str, Peers | str]) -> float | None:
    """Standard deviation of one reading; None where too little is known.

    Between leaving and the next arrival a foot only grows: what is left of the change about the foot's own growth is
    the error of two readings, √2 times that of one. Growth that is not steady counts as error too.
    """
    found = [group for group in known.values() if isinstance(group, Peers)]
    repeats = sum(group.repeats for group in found)
    if repeats < ENOUGH_REPEATS:
        return None
    return float(np.sqrt(sum(group.repeats * group.fit.sd_residual**2 for group in found) / repeats / 2))
