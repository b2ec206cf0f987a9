"""How even are a horse's feet left and right, of what class are they, and how far can one reading be trusted?"""

import numpy as np
import polars as pl

from pipelines.analyses.angle_trend import line_sums
from pipelines.analyses.splits import in_order, named
from pipelines.stats.poisson import Z95
from pipelines.stats.random_slopes import LineSums, random_slopes
from schemas.results import AngleChanges, AngleGaps, AnglePrecision, HoofClasses

# Wiggers et al 2015, PLoS ONE 10:e0114836: an uneven pair differs by more than 1.5°; flat, medium and upright feet.
CUT_OFF_DEG = 1.5
FLAT_BELOW, UPRIGHT_ABOVE = 50, 55
DIMENSIONS = named("discipline", "end")
CLASSES = ("flat", "medium", "upright")
STAGES = ("arrival", "leaving", "growth")
ENOUGH_FEET = 5
# 1.96·√2: two readings, each with its own error.
OF_TWO_READINGS = Z95 * np.sqrt(2)

_READ = """(
    select v.horse_id, h.horse_name, h.discipline, v.visit_date, f.visit_id, f.foot, v.farrier,
           case when f.foot in ('LF', 'RF') then 'front' else 'hind' end as "end", f.foot in ('LF', 'LH') as is_left,
           f.angle_arrival_deg, f.angle_leaving_deg
    from accepted.feet f join accepted.visits v using (visit_id) join accepted.horses h using (horse_id)
    where v.visit_date <= getvariable('as_of')::date
)"""
_STAGED = f"""(
    select * exclude (angle_arrival_deg, angle_leaving_deg), 'arrival' as angle_at, angle_arrival_deg as angle
    from {_READ} where angle_arrival_deg is not null
    union all
    select * exclude (angle_arrival_deg, angle_leaving_deg), 'leaving', angle_leaving_deg
    from {_READ} where angle_leaving_deg is not null
)"""
_DAYS = "visit_date - min(visit_date) over (partition by horse_id, foot, angle_at)"

_CHANGES = f"""(
    select horse_id, horse_name, foot, angle_at, visit_date as to_date, visit_id, farrier,
           lag(visit_date) over story as from_date, lag(farrier) over story as from_farrier,
           angle - lag(angle) over story as change_deg
    from {_STAGED}
    window story as (partition by horse_id, foot, angle_at order by visit_date, visit_id)
    qualify change_deg is not null
    union all
    select s.horse_id, h.horse_name, s.foot, 'growth', s.to_date, s.to_visit_id, there.farrier, s.from_date,
           here.farrier, s.angle_change_deg
    from derived.foot_steps s
    join accepted.horses h using (horse_id)
    left join accepted.visits here on here.visit_id = s.from_visit_id
    left join accepted.visits there on there.visit_id = s.to_visit_id
    where s.angle_change_deg is not null
)"""

COUNTS = {
    "gaps": f"""
with pairs as (
    select horse_id, horse_name, "end", visit_id, visit_date,
           round(max(angle_leaving_deg) filter (is_left) - max(angle_leaving_deg) filter (not is_left), 6) + 0.0 as gap
    from {_READ} group by all having gap is not null
)
select horse_id, horse_name, "end", count(*) as visits, max(visit_date) as measured_on,
       arg_max(gap, (visit_date, visit_id)) as latest_gap_deg, round(sum(gap), 6) / count(*) + 0.0 as mean_gap_deg,
       count(*) filter (abs(gap) > {CUT_OFF_DEG}) as uneven_visits
from pairs group by all
""",
    "latest": f"""
select horse_id, foot, discipline, "end", arg_max(angle, (visit_date, visit_id)) as angle
from {_STAGED} where angle_at = 'leaving' group by all
""",
    "sums": f"""
select angle_at, horse_id, foot, {line_sums("", "angle")}
from (select *, {_DAYS} as days from {_STAGED}) group by all
""",
    "changes": f"""
select angle_at, round(change_deg, 6) as change_deg, count(*) as changes,
       count(*) filter (farrier <> from_farrier) as other_farrier
from {_CHANGES} group by all
""",
    "latest_changes": f"""
select horse_id, horse_name, foot, angle_at, from_date, to_date, round(change_deg, 6) as change_deg,
       farrier <> from_farrier as hand_changed
from {_CHANGES}
qualify row_number() over (partition by horse_id, foot, angle_at order by to_date desc, visit_id desc) = 1
""",
}


def angle_gaps(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """Left minus right of each pair → `angle_gaps`; feet by class → `hoof_classes`; the error of one reading and the
    smallest real change → `angle_precision`; each foot's latest change, where it is larger → `angle_changes`.

    A reading's error is the spread about its foot's own line over the years (REML), arrivals and leavings apart; the
    smallest real change of one foot is 1.96·√2 times that. Growth compares leaving with the next arrival, so it has
    one error of each. Source: `pipelines.stats.random_slopes`.
    """
    gaps = (
        counts["gaps"]
        .sort("horse_id", "end")
        .with_columns(cut_off_deg=pl.lit(CUT_OFF_DEG), latest_uneven=pl.col("latest_gap_deg").abs() > CUT_OFF_DEG)
    )
    precision = _precision(counts)
    return {
        "angle_gaps": AngleGaps.check(gaps),
        "hoof_classes": HoofClasses.check(_classes(counts["latest"])),
        "angle_precision": AnglePrecision.check(precision),
        "angle_changes": AngleChanges.check(_beyond_error(counts["latest_changes"], precision)),
    }


def _classes(latest: pl.DataFrame) -> pl.DataFrame:
    flat, upright = pl.col("angle") < FLAT_BELOW, pl.col("angle") > UPRIGHT_ABOVE
    named_class = pl.when(flat).then(pl.lit("flat")).when(upright).then(pl.lit("upright")).otherwise(pl.lit("medium"))
    feet = latest.with_columns(hoof_class=named_class, all=pl.lit("all"))
    levels = [
        feet.group_by(pl.col(name).alias("level"), "hoof_class")
        .agg(pl.len().alias("feet"))
        .with_columns(dimension=pl.lit(name))
        for name in DIMENSIONS
    ]
    share = pl.col("feet") / pl.col("feet").sum().over("dimension", "level")
    return in_order(pl.concat(levels).with_columns(class_share=share), DIMENSIONS, "hoof_class")


def _precision(counts: dict[str, pl.DataFrame]) -> pl.DataFrame:
    """One row a stage that was read, with the changes that are larger than its smallest real one."""
    sums = counts["sums"].sort("horse_id", "foot")
    arrival, leaving = (_error(sums.filter(angle_at=stage)) for stage in ("arrival", "leaving"))
    growth = None if arrival is None or leaving is None else float(np.hypot(arrival, leaving) / np.sqrt(2))
    errors = dict(zip(STAGES, (arrival, leaving, growth), strict=True))
    rows = [_stage(stage, error, counts) for stage, error in errors.items()]
    return pl.DataFrame([row for row in rows if row["angles_read"]], schema=AnglePrecision.dtypes())


def _error(feet: pl.DataFrame) -> float | None:
    """Standard deviation of one reading about its foot's own line; None where too little is known."""
    if feet.height < ENOUGH_FEET:
        return None
    fit = random_slopes(LineSums(*(feet[name].to_numpy() for name in LineSums._fields)))
    return None if fit is None else fit.sd_residual


def _stage(stage: str, error: float | None, counts: dict[str, pl.DataFrame]) -> dict:
    changes, sums = (counts[part].filter(angle_at=stage) for part in ("changes", "sums"))
    compared = int(changes["changes"].sum())
    smallest = None if error is None else OF_TWO_READINGS * error
    beyond = None if smallest is None else changes.filter(pl.col("change_deg").abs() > smallest)
    is_growth = stage == "growth"
    return {
        "angle_at": stage,
        "feet": counts["latest_changes"].filter(angle_at=stage).height if is_growth else sums.height,
        "angles_read": 2 * compared if is_growth else int(sums["n"].sum()),
        "residual_sd_deg": error,
        "smallest_change_deg": smallest,
        "changes": compared,
        "changes_beyond": None if beyond is None else int(beyond["changes"].sum()),
        "other_farrier": int(changes["other_farrier"].sum()),
        "note": "too few feet read often enough to judge the error" if error is None else None,
    }


def _beyond_error(latest: pl.DataFrame, precision: pl.DataFrame) -> pl.DataFrame:
    known = precision.select("angle_at", "smallest_change_deg").drop_nulls()
    beyond = latest.join(known, on="angle_at", validate="m:1").filter(
        pl.col("change_deg").abs() > pl.col("smallest_change_deg")
    )
    return beyond.select(*AngleChanges.columns()).sort("horse_id", "foot", "angle_at")
