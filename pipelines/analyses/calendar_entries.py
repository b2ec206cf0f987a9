"""Which entries should a calendar hold, which no longer, and when was each last revised?"""

import polars as pl

from pipelines.analyses import due_list
from schemas.results import CalendarEntries

CANCELLED_DAYS = 60

# An entry tells of its horse and of that horse's visits, so it is revised by each load that changed one of these rows.
# Told by the as-of dates and the order of the loads, not by the clock: the same records give the same results.
_REVISED = """
    select horse_id, max(load_id) as revising_load
    from (
        select horse_id, load_id from accepted.horses
        union all
        select horse_id, load_id from accepted.visits
    ) group by all
"""
COUNTS = {
    "as_of": due_list.COUNTS["as_of"],
    "rounds": due_list.COUNTS["rounds"],
    "revised": f"""
with loads as (
    select load_id, max(as_of) over (order by load_id) + load_id * interval 1 second as revised_at from ledger.loads
)
select horse_id, revised_at, date_diff('second', timestamp '2000-01-01', revised_at) + 2 * load_id as revision
from ({_REVISED}) join loads on load_id = revising_load
""",
    # Each load was published, so the entry of a visit was in a calendar where the next one came with a later load.
    "ended": f"""
with known as (
    select visit_id, min(load_id) as first_load
    from (
        select visit_id, load_id from accepted.visits
        union all
        select json_extract_string(row_json, '$.visit_id'), load_id from ledger.superseded where table_name = 'visits'
    ) group by all
),
ended as (
    select i.* from derived.visit_intervals i
    join known here on here.visit_id = i.from_visit_id
    join known there on there.visit_id = i.to_visit_id and there.first_load > here.first_load
    where i.to_date >= getvariable('as_of')::date - {CANCELLED_DAYS}
),
usual as (
    select e.from_visit_id, count(*) as intervals, quantile_cont(p.days, 0.5) as usual_days
    from ended e join derived.visit_intervals p
      on p.horse_id = e.horse_id and (p.to_date, p.to_visit_id) <= (e.from_date, e.from_visit_id)
    group by all
)
select horse_id, from_visit_id as round_visit_id, from_date as round_on, to_date as seen_again_on, planned_weeks,
       intervals, usual_days
from ended left join usual using (from_visit_id)
""",
}


def calendar_entries(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """One entry a horse that is due, and those of horses seen since, to be cancelled → `calendar_entries`.

    Days are those of `due_list`; a horse not seen for 26 weeks has none. Where seen_again_on is told the entry is to be
    cancelled: the visit after its own lies at most 60 days before the as-of date and came with a later load. revision:
    seconds from 2000 to the as-of date of the latest load that changed the horse or one of its visits, plus thrice that
    load's number, plus 1 where cancelled: it grows with every such load and stays where nothing changed. A store begun
    anew counts its loads anew: of one as-of date its revisions may be lower.
    """
    as_of = counts["as_of"]["as_of"][0]
    coming = due_list.due_days(counts["rounds"], as_of).filter(~due_list.silent(as_of))
    ended = due_list.due_days(counts["ended"], as_of)
    entries = pl.concat([coming.with_columns(seen_again_on=pl.lit(None, pl.Date)), ended], how="diagonal_relaxed")
    entries = entries.drop_nulls("due_on").join(counts["revised"], on="horse_id", how="left", validate="m:1")
    table = entries.with_columns(pl.col("revision") + pl.col("seen_again_on").is_not_null().cast(pl.Int64))
    table = table.sort("seen_again_on", "due_on", "horse_id", "round_visit_id", nulls_last=False)
    return {"calendar_entries": CalendarEntries.check(table.select(*CalendarEntries.columns()))}
