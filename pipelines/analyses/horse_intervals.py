"""How long are the intervals of each horse, beside what was agreed for it?"""

import polars as pl

from pipelines.analyses.interval_lengths import LATE_DAYS
from schemas.results import HorseIntervals, HorseRounds

# The intervals of one horse lie in one part of the record whole, so its medians need no counts that add up.
COUNTS = {
    "summary": f"""
select horse_id, count(*) as intervals, quantile_cont(days, 0.5) as median_days,
       count(days_late) as intervals_planned, avg(days - days_late) as planned_days,
       avg(days) filter (days_late is not null) as done_days,
       quantile_cont(days_late, 0.5) as median_days_late,
       count(*) filter (days_late > {LATE_DAYS}) / nullif(count(days_late), 0) as late_share
from derived.visit_intervals group by horse_id
""",
    "rounds": """
select horse_id, from_date, to_date, days, planned_weeks, days_late from derived.visit_intervals
order by horse_id, from_date, to_date, from_visit_id
""",
}


def horse_intervals(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """How long each horse's intervals are, and were agreed to be → `horse_intervals`; each of them → `horse_rounds`.

    Medians are of type 7. Late is more than 7 days past the plan, as in `interval_lengths`.
    """
    return {
        "horse_intervals": HorseIntervals.check(counts["summary"].sort("horse_id")),
        "horse_rounds": HorseRounds.check(counts["rounds"]),
    }
