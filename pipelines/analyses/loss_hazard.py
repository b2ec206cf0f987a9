"""When in its life does a shoe come off: soon after nailing, in the middle, late, or past the planned date?"""

import numpy as np
import polars as pl

from pipelines.analyses.splits import in_order, named
from pipelines.stats.poisson import exact_limits, left_out_rate_limits
from schemas.results import LossHazard

DIMENSIONS = named("discipline", "end")
BAND_ENDS = (7, 14, 28, 42, 56, 84)
NO_END = 1_000_000
EARLY_DAYS = LATE_DAYS = 14
PIECE = ("dimension", "level", "phase", "day_from", "day_to")
PHASES = ("age", "early", "middle", "late", "after_planned")

_BANDS = ", ".join(
    f"('age', {start}, {stop})" for start, stop in zip((0, *BAND_ENDS), (*BAND_ENDS, NO_END), strict=True)
)

# A piece is (start, stop] of one shoe's age. Early is the first 14 days, late the last 14 before the planned date.
COUNTS = {
    "pieces": f"""
with spells as (
    select spells.horse_id, discipline, "end", days_on, end_reason = 'lost' as was_lost,
           round(7 * planned_weeks)::bigint as planned
    from derived.shoe_spells spells left join accepted.visits on visit_id = fitted_visit_id
), pieces as (
    select spells.*, phase, start, stop from spells, (values {_BANDS}) bands(phase, start, stop)
    union all
    select *, 'early', 0, least({EARLY_DAYS}, planned) from spells where planned is not null
    union all
    select *, 'middle', {EARLY_DAYS}, planned - {LATE_DAYS} from spells where planned > {EARLY_DAYS + LATE_DAYS}
    union all
    select *, 'late', greatest({EARLY_DAYS}, planned - {LATE_DAYS}), planned from spells where planned > {EARLY_DAYS}
    union all
    select *, 'after_planned', planned, {NO_END} from spells where planned is not null
), by_horse as (
    select discipline, "end", horse_id, phase, case when phase = 'age' then start end as day_from,
           case when phase = 'age' and stop < {NO_END} then stop end as day_to,
           count(*) filter (was_lost and days_on <= stop) as losses,
           sum(case when days_on = 0 then 0.5::double else least(days_on, stop) - start end) as shoe_days
    from pieces where days_on > start or (days_on = 0 and start = 0) group by all
)
select dimension, level, phase, day_from, day_to, horse_id, sum(losses)::bigint as losses, sum(shoe_days) as shoe_days
from (select *, unnest([{", ".join(f"'{name}'" for name in DIMENSIONS)}]) as dimension,
             unnest([{", ".join(DIMENSIONS.values())}]) as level from by_horse)
group by all
"""
}


def loss_hazard(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """Losses per 1,000 shoe-days by age band, and by phase about the planned date → `loss_hazard`.

    phase `age`: (day_from, day_to]. The other phases count shoes with a planned interval only: early is the first 14
    days, late the last 14 before the planned date, middle what lies between, after_planned the days past it. A shoe
    of 0 days adds half a day to the first. Limits come from leaving each horse out in turn; exact below 2 losses, blank
    where one horse has all the losses.
    """
    rank = {phase: place for place, phase in enumerate(PHASES)}
    horses = counts["pieces"].with_columns(place=pl.col("phase").replace_strict(rank, return_dtype=pl.Int64))
    horses = in_order(horses, DIMENSIONS, "place", "day_from", "horse_id")
    horses = horses.with_columns(group=pl.struct(*PIECE).rle_id())
    pieces = horses.group_by("group", *PIECE, maintain_order=True).agg(
        horses=pl.len().cast(pl.Int64), losses=pl.col("losses").sum(), shoe_days=pl.col("shoe_days").sum()
    )
    low, high = limits_by_horse(horses, pieces)
    table = pieces.with_columns(
        per_1000_days=1000 * pl.col("losses") / pl.col("shoe_days"), low=1000 * low, high=1000 * high
    )
    return {"loss_hazard": LossHazard.check(table.select(*LossHazard.columns()))}


def limits_by_horse(horses: pl.DataFrame, groups: pl.DataFrame) -> tuple[pl.Series, pl.Series]:
    """95 % limits of losses a shoe-day of each group: horses has group, losses and shoe_days, groups losses and days.

    From leaving each horse out in turn; with fewer than 2 losses exact; blank where one horse has all of them.
    """
    each = (horses[name].cast(pl.Float64).to_numpy() for name in ("losses", "shoe_days"))
    left_out = left_out_rate_limits(*each, horses["group"].to_numpy(), groups.height)
    losses, days = groups["losses"].to_numpy(), groups["shoe_days"].to_numpy()
    low, high = (
        pl.Series(np.where(losses < 2, exact / days, by_horse)).fill_nan(None)
        for by_horse, exact in zip(left_out, exact_limits(losses), strict=True)
    )
    return low, high
