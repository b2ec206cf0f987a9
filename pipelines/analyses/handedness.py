"""What does each farrier leave different between left and right, or between inside and outside?

For the farrier's own eyes: never ranked, never part of anything shared.
"""

import numpy as np
import polars as pl

from pipelines.analyses.splits import NOT_RECORDED
from pipelines.stats.clustered_mean import clustered_mean_limits
from pipelines.stats.clustered_proportion import clustered_proportion_limits
from schemas.results import Handedness

ENOUGH_HORSES = 5
SHARES = ("wall_findings",)

_FEET = f"""(
    select v.horse_id, coalesce(v.farrier, '{NOT_RECORDED}') as farrier, f.*
    from accepted.feet f join accepted.visits v using (visit_id)
    where v.visit_date <= getvariable('as_of')::date
)"""


def _of_pairs(compared: str, column: str) -> str:
    """Left minus right of each pair, front and hind, of one visit."""
    return f"""
    select '{compared}' as compared, farrier, horse_id,
           max({column}) filter (foot in ('LF', 'LH')) - max({column}) filter (foot in ('RF', 'RH')) as difference
    from {_FEET} group by farrier, horse_id, visit_id, foot in ('LF', 'RF')
    having difference is not null"""


# Sums of squares over horses are all that the limits need of a horse, and they add up as counts do.
COUNTS = {
    "differences": f"""
with differences as ({_of_pairs("leaving_angle", "angle_leaving_deg")}
    union all {_of_pairs("leaving_toe", "toe_leaving_mm")}
    union all
    select 'nails', farrier, horse_id, nails_medial - nails_lateral
    from {_FEET} where nails_medial - nails_lateral is not null
    union all
    select 'wall_findings', farrier, horse_id, case wall_side when 'medial' then 1 else 0 end
    from {_FEET} where wall_side in ('medial', 'lateral')
),
by_horse as (
    select farrier, compared, horse_id, count(*)::double as pairs, round(sum(difference)::double, 8) as total
    from differences group by all
)
select farrier, compared, count(*) as horses, sum(pairs) as pairs, round(sum(total), 8) as total,
       round(sum(total * total), 8) as total_squared, round(sum(total * pairs), 8) as total_times_pairs,
       sum(pairs * pairs) as pairs_squared
from by_horse group by all
"""
}


def handedness(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """Left minus right leaving angle and toe, inside minus outside nails, wall findings inside → `handedness`.

    Limits have horses as the sampling units, on the logit for the share; blank below 5 horses. Sources:
    `pipelines.stats.clustered_mean` and `clustered_proportion`.
    """
    sums = counts["differences"].sort("farrier", "compared")
    low, high = _limits(sums)
    few = pl.col("horses") < ENOUGH_HORSES
    known = pl.col("low").is_not_nan()
    table = sums.select(
        "farrier", "compared", "pairs", "horses", mean_difference=pl.col("total") / pl.col("pairs"), low=low, high=high
    ).with_columns(
        low=pl.when(~few & known).then("low"),
        high=pl.when(~few & known).then("high"),
        note=pl.when(few)
        .then(pl.lit(f"fewer than {ENOUGH_HORSES} horses: no limits"))
        .when(~known)
        .then(pl.lit("all on one side: no limits")),
    )
    return {"handedness": Handedness.check(table)}


def _limits(sums: pl.DataFrame) -> tuple[np.ndarray, np.ndarray]:
    horses, pairs, total, squared, crossed, pairs_squared = (
        sums[name].to_numpy().astype(float)
        for name in ("horses", "pairs", "total", "total_squared", "total_times_pairs", "pairs_squared")
    )
    low, high = clustered_mean_limits(horses, total, pairs, squared, crossed, pairs_squared)
    as_share = clustered_proportion_limits(horses, total, pairs, squared, crossed, pairs_squared)
    is_share = np.isin(sums["compared"].to_list(), SHARES)
    return np.where(is_share, as_share[0], low), np.where(is_share, as_share[1], high)
