"""When in its life does a shoe come off: soon after nailing, in the middle, late, or past the planned date?"""

import polars as pl

from pipelines.analyses.splits import in_order, named
from pipelines.stats.poisson import clustered_rate_limits, exact_limits
from schemas.results import LossHazard

DIMENSIONS = named("discipline", "end")
BAND_ENDS = (7, 14, 28, 42, 56, 84)
NO_END = 1_000_000
EARLY_DAYS = LATE_DAYS = 14
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
), levelled as (
    select dimension, level, phase, day_from, day_to, horse_id, sum(losses)::bigint as losses,
           sum(shoe_days) as shoe_days
    from (select *, unnest([{", ".join(f"'{name}'" for name in DIMENSIONS)}]) as dimension,
                 unnest([{", ".join(DIMENSIONS.values())}]) as level from by_horse)
    group by all
)
select dimension, level, phase, day_from, day_to, count(*) as horses, sum(losses)::bigint as losses,
       sum(shoe_days) as shoe_days, sum(losses * losses)::double as losses_squared,
       sum(losses * shoe_days) as losses_times_days, sum(shoe_days * shoe_days) as days_squared
from levelled group by all
"""
}


def loss_hazard(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """Losses per 1,000 shoe-days by age band, and by phase about the planned date → `loss_hazard`.

    phase `age`: (day_from, day_to]. The other phases count shoes with a planned interval only: early is the first 14
    days, late the last 14 before the planned date, middle what lies between, after_planned the days past it. A shoe
    of 0 days adds half a day to the first. Limits have horses as sampling units; exact below 2 losses or 2 horses.
    """
    rank = {phase: place for place, phase in enumerate(PHASES)}
    pieces = counts["pieces"].with_columns(place=pl.col("phase").replace_strict(rank, return_dtype=pl.Int64))
    pieces = in_order(pieces, DIMENSIONS, "place", "day_from")
    losses, days = pieces["losses"].to_numpy(), pieces["shoe_days"].to_numpy()
    sums = (pieces[name].to_numpy() for name in ("losses_squared", "losses_times_days", "days_squared"))
    limits = clustered_rate_limits(pieces["horses"].to_numpy(), losses, days, *sums)
    low, high = (
        pl.Series(1000 * clustered).fill_nan(None).fill_null(pl.Series(1000 * exact / days))
        for clustered, exact in zip(limits, exact_limits(losses), strict=True)
    )
    table = pieces.with_columns(
        per_1000_days=1000 * pl.col("losses") / pl.col("shoe_days"),
        low=low,
        high=high,
    )
    return {"loss_hazard": LossHazard.check(table.select(*LossHazard.columns()))}
