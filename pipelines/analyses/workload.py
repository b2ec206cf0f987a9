"""What work was done each week and month, and how much of it was for lost shoes?"""

import polars as pl

from pipelines.analyses.splits import NOT_RECORDED
from schemas.results import Workload

# A sum is blank where every cell is; with no lost-shoe visit at all it is 0.
COUNTS = {
    "work": f"""
with nailed as (
    select visit_id, count(*) filter (work = 'trim') as trimmed,
           count(*) filter (work in ('fit_new', 'reset')) as shoes
    from accepted.feet group by visit_id
),
visits as (
    select v.*, v.visit_kind = 'lost_shoe' as for_loss,
           coalesce(n.trimmed, 0) as trimmed, coalesce(n.shoes, 0) as shoes
    from accepted.visits v left join nailed n using (visit_id)
    where v.visit_date <= getvariable('as_of')::date
),
dated as (
    select 'week' as period, date_trunc('week', visit_date)::date as starts_on, * from visits
    union all
    select 'month', date_trunc('month', visit_date)::date, * from visits
)
select period, starts_on, coalesce(farrier, '{NOT_RECORDED}') as farrier, count(*) as visits,
       count(distinct horse_id) as horses, sum(trimmed)::bigint as feet_trimmed, sum(shoes)::bigint as shoes_nailed,
       count(minutes) as timed, sum(minutes) as minutes, count(fee) as charged, sum(fee) as fee,
       count(travel_km) as driven, sum(travel_km) as travel_km, count(*) filter (for_loss) as lost_shoe_visits,
       count(minutes) filter (for_loss) as lost_shoe_timed, count(travel_km) filter (for_loss) as lost_shoe_driven,
       case when bool_or(for_loss) then sum(minutes) filter (for_loss) else 0 end as lost_shoe_minutes,
       case when bool_or(for_loss) then sum(travel_km) filter (for_loss) else 0 end as lost_shoe_km
from dated group by all
"""
}


def workload(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """Visits, feet, minutes, fees and driving of each farrier by week (from Monday) and month → `workload`.

    A blank farrier is `not recorded`. The minutes and kilometres of lost-shoe visits are the unpaid ones.
    timed, charged and driven count the visits that a sum rests on.
    """
    work = counts["work"].sort(pl.col("period") == "month", "starts_on", "farrier")
    return {"workload": Workload.check(work)}
