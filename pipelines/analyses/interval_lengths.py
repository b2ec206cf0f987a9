"""How long are the intervals between visits, and how many run late?"""

import numpy as np
import polars as pl

from pipelines.analyses.splits import in_order, named, split
from pipelines.stats.quantiles import quantile_of_counts
from schemas.results import IntervalLengths

DIMENSIONS = named("discipline", "season", "yard")
LONG_DAYS = 56
LATE_DAYS = 7
FEW = 10
QUANTILES = {"median_days": 0.5, "p10_days": 0.1, "p25_days": 0.25, "p75_days": 0.75, "p90_days": 0.9}

COUNTS = {
    "lengths": split(
        DIMENSIONS,
        f"days, count(*) as intervals, count(days_late) as planned, count(*) filter (days_late > {LATE_DAYS}) as late",
        "derived.visit_intervals",
    ),
    "plans": split(
        DIMENSIONS,
        "days_late, count(*) as intervals, sum(days)::bigint as days",
        "(from derived.visit_intervals where days_late is not null)",
    ),
    "horses": split(DIMENSIONS, "count(distinct horse_id) as horses", "derived.visit_intervals"),
}


def interval_lengths(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """Quantiles of the days between visits, shares over 56 days and over 7 days late → `interval_lengths`.

    planned_days, done_days and median_days_late are of the intervals that had a plan.
    The counts say how often each length occurs, so quantiles (type 7) come from counts that add up. late_share is of
    the intervals that had a plan; blank where none had. Source: `pipelines.stats.quantiles`.
    """
    lengths = in_order(counts["lengths"], DIMENSIONS, "days")
    rows = [_row(level) for level in lengths.partition_by("dimension", "level", maintain_order=True)]
    joined = ("horses", "planned_days", "done_days", "median_days_late")
    schema = {name: kind for name, kind in IntervalLengths.dtypes().items() if name not in joined}
    table = pl.DataFrame(rows, schema=schema)
    for part in (counts["horses"], _plans(counts["plans"])):
        table = table.join(part, on=["dimension", "level"], how="left", validate="1:1", maintain_order="left")
    return {"interval_lengths": IntervalLengths.check(table.select(*IntervalLengths.columns()))}


def _plans(plans: pl.DataFrame) -> pl.DataFrame:
    """Means of the days agreed and done, and the median of the days past them, by level."""
    rows = [_plan(level.sort("days_late")) for level in plans.partition_by("dimension", "level")]
    schema = {"dimension": pl.String, "level": pl.String, "planned_days": pl.Float64, "done_days": pl.Float64}
    return pl.DataFrame(rows, schema={**schema, "median_days_late": pl.Float64})


def _plan(level: pl.DataFrame) -> dict:
    late, intervals = level["days_late"].to_numpy(), level["intervals"].to_numpy()
    done = level["days"].sum() / intervals.sum()
    return {
        "dimension": level["dimension"][0],
        "level": level["level"][0],
        "planned_days": done - (late * intervals).sum() / intervals.sum(),
        "done_days": done,
        "median_days_late": quantile_of_counts(late, intervals, 0.5),
    }


def _row(lengths: pl.DataFrame) -> dict:
    days, intervals = lengths["days"].to_numpy(), lengths["intervals"].to_numpy()
    total, planned = int(intervals.sum()), int(lengths["planned"].sum())
    notes = [f"fewer than {FEW} intervals: the figures may change much with the next few"] if total < FEW else []
    if planned == 0:
        notes.append("no interval had a plan, so none can be late")
    return {
        "dimension": lengths["dimension"][0],
        "level": lengths["level"][0],
        "intervals": total,
        **{name: quantile_of_counts(days, intervals, share) for name, share in QUANTILES.items()},
        "intervals_planned": planned,
        "share_over_56": float(np.sum(intervals[days > LONG_DAYS]) / total),
        "late_share": lengths["late"].sum() / planned if planned else None,
        "note": "; ".join(notes) or None,
    }
