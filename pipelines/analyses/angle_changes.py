"""Which changes of one foot are larger than the error of reading, and on arrival than growth explains?"""

import numpy as np
import polars as pl

from pipelines.analyses import angle_peers
from pipelines.analyses.angle_peers import Peers
from pipelines.analyses.angle_trend import line_sums
from pipelines.analyses.splits import yes_or_no
from pipelines.stats.poisson import Z95
from pipelines.stats.random_slopes import LineSums, random_slopes
from schemas.results import AngleChanges, AnglePrecision

STAGES = ("arrival", "leaving", "growth")
ENOUGH_FEET = 5
UNKNOWN = "too few feet read often enough to judge the error"
# 1.96·√2: two readings, each with its own error.
OF_TWO_READINGS = Z95 * np.sqrt(2)

# Beside each visit, of the visits before it: when the foot was last handled, and whether it left with a shoe.
_BEFORE = "rows between unbounded preceding and 1 preceding"
_SO_FAR = f"over (partition by v.horse_id, f.foot order by v.visit_date, f.visit_id {_BEFORE})"
_READ = f"""(
    select v.horse_id, h.horse_name, v.visit_date, f.visit_id, f.foot, v.farrier,
           f.angle_arrival_deg, f.angle_leaving_deg,
           v.visit_date - last_value(case when f.work <> 'none' then v.visit_date end ignore nulls) {_SO_FAR} as grown,
           last_value(case when f.work <> 'none' then {yes_or_no("f.work in ('fit_new', 'reset')")} end ignore nulls)
               {_SO_FAR} as shod
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


def _pairs(stage: str) -> str:
    """Consecutive readings of one foot at one stage."""
    return f"""
    select horse_id, horse_name, foot, angle_at, visit_date as to_date, visit_id, farrier,
           lag(visit_date) over story as from_date, lag(farrier) over story as from_farrier,
           round(angle - lag(angle) over story, 6) as change_deg,
           lag(grown) over story as grown_from, grown as grown_to, lag(shod) over story as shod_from, shod as shod_to
    from {_STAGED} where angle_at = '{stage}'
    window story as (partition by horse_id, foot, angle_at order by visit_date, visit_id)
    qualify change_deg is not null
"""


# Growth explains nothing of these: two leavings, and growth itself.
_CHANGES = f"""(
    select * exclude (grown_from, grown_to, shod_from, shod_to) from ({_pairs("leaving")})
    union all
    select s.horse_id, h.horse_name, s.foot, 'growth', s.to_date, s.to_visit_id, there.farrier, s.from_date,
           here.farrier, round(s.angle_change_deg, 6)
    from derived.foot_steps s
    join accepted.horses h using (horse_id)
    left join accepted.visits here on here.visit_id = s.from_visit_id
    left join accepted.visits there on there.visit_id = s.to_visit_id
    where s.angle_change_deg is not null
)"""
_LATEST = "row_number() over (partition by horse_id, foot, angle_at order by to_date desc, visit_id desc) = 1"

COUNTS = {
    "growth": angle_peers.GROWTH,
    "sums": f"""
select angle_at, horse_id, foot, {line_sums("", "angle")}
from (select *, {_DAYS} as days from {_STAGED}) group by all
""",
    "changes": f"""
select angle_at, change_deg, count(*) as changes, count(*) filter (farrier <> from_farrier) as other_farrier
from {_CHANGES} group by all
""",
    "latest_changes": f"""
select horse_id, horse_name, foot, angle_at, from_date, to_date, change_deg, farrier <> from_farrier as hand_changed
from {_CHANGES} qualify {_LATEST}
""",
    "arrivals": f"""
select horse_id, horse_name, foot, angle_at, from_date, to_date, change_deg, farrier <> from_farrier as hand_changed,
       grown_from, grown_to, shod_from, shod_to, {_LATEST} as latest
from ({_pairs("arrival")})
""",
}


def angle_changes(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """The error of one reading and the smallest real change → `angle_precision`; each foot's latest change, where it
    is larger → `angle_changes`.

    The error comes from leaving and the next arrival, see `angle_peers.reading_error`; the smallest real change of one
    foot is 1.96·√2 times that. Of two arrivals the growth that is to be expected is taken away first, by how long and
    how (shod or bare) the foot grew before each; what is not known of that growth widens the limit. The spread about a
    foot's own line over the years (REML) stands beside it: trimming counts in it, and on arrival growth. Source:
    `pipelines.stats.random_slopes`.
    """
    known = angle_peers.peers(counts["growth"])
    error = angle_peers.reading_error(known)
    arrivals = _beyond_growth(counts["arrivals"], known, error)
    precision = _precision(counts, arrivals, error)
    return {
        "angle_precision": AnglePrecision.check(precision),
        "angle_changes": AngleChanges.check(_beyond_error(counts["latest_changes"], arrivals, error)),
    }


def _beyond_growth(arrivals: pl.DataFrame, known: dict[str, Peers | str], error: float | None) -> pl.DataFrame:
    """Changes between arrivals with growth_deg, what growth explains, and smallest_change_deg; blank where unknown."""
    groups = {level: group for level, group in known.items() if isinstance(group, Peers)}
    slopes = pl.concat([angle_peers.NO_FEET, *(group.own for group in groups.values())])
    slopes = slopes.select("horse_id", "foot", "shod", "slope", "error")
    common = pl.DataFrame(
        [(level, group.fit.slope, group.stranger) for level, group in groups.items()],
        schema={"shod": pl.String, "slope_of_all": pl.Float64, "error_of_all": pl.Float64},
        orient="row",
    )
    for end in ("from", "to"):
        there = {f"shod_{end}": "shod"}
        arrivals = (
            arrivals.rename(there)
            .join(slopes, on=["horse_id", "foot", "shod"], how="left", validate="m:1", maintain_order="left")
            .join(common, on="shod", how="left", validate="m:1", maintain_order="left")
            .with_columns(
                pl.coalesce("slope", "slope_of_all").alias(f"slope_{end}"),
                pl.coalesce("error", "error_of_all").alias(f"error_{end}"),
                pl.col(f"grown_{end}") / 7,
            )
            .drop("slope", "error", "slope_of_all", "error_of_all")
            .rename({"shod": f"shod_{end}"})
        )
    grown_from, grown_to = pl.col("grown_from"), pl.col("grown_to")
    same_slope = (grown_to - grown_from) ** 2 * pl.col("error_to") ** 2
    two_slopes = (grown_from * pl.col("error_from")) ** 2 + (grown_to * pl.col("error_to")) ** 2
    unsure = pl.when(pl.col("shod_from") == pl.col("shod_to")).then(same_slope).otherwise(two_slopes)
    return arrivals.with_columns(
        growth_deg=grown_to * pl.col("slope_to") - grown_from * pl.col("slope_from"),
        smallest_change_deg=Z95 * (unsure + 2 * (np.nan if error is None else error) ** 2).sqrt(),
    )


def _larger() -> pl.Expr:
    return (pl.col("change_deg") - pl.col("growth_deg")).abs() > pl.col("smallest_change_deg")


def _precision(counts: dict[str, pl.DataFrame], arrivals: pl.DataFrame, error: float | None) -> pl.DataFrame:
    """One row a stage that was read, with the changes that are larger than error and growth explain."""
    sums = counts["sums"].sort("horse_id", "foot")
    rows = [_stage(stage, counts, sums.filter(angle_at=stage), arrivals, error) for stage in STAGES]
    return pl.DataFrame([row for row in rows if row["angles_read"]], schema=AnglePrecision.dtypes())


def _about_line(feet: pl.DataFrame) -> float | None:
    """Standard deviation of one reading about its foot's own line; None where too little is known."""
    if feet.height < ENOUGH_FEET:
        return None
    fit = random_slopes(LineSums(*(feet[name].to_numpy() for name in LineSums._fields)))
    return None if fit is None else fit.sd_residual


def _stage(
    stage: str, counts: dict[str, pl.DataFrame], sums: pl.DataFrame, arrivals: pl.DataFrame, error: float | None
) -> dict:
    """One row: growth has no readings of its own, and arrivals are judged pair by pair."""
    smallest = None if error is None else OF_TWO_READINGS * error
    if stage == "arrival":
        told = arrivals.drop_nulls(["growth_deg", "smallest_change_deg"])
        compared, judged, beyond = arrivals.height, told.height, told.filter(_larger()).height
        other = arrivals["hand_changed"].sum()
    else:
        changes = counts["changes"].filter(angle_at=stage)
        compared = judged = int(changes["changes"].sum())
        beyond = 0 if smallest is None else changes.filter(pl.col("change_deg").abs() > smallest)["changes"].sum()
        other = changes["other_farrier"].sum()
    is_growth = stage == "growth"
    return {
        "angle_at": stage,
        "feet": counts["latest_changes"].filter(angle_at=stage).height if is_growth else sums.height,
        "angles_read": 2 * compared if is_growth else int(sums["n"].sum()),
        "error_sd_deg": error,
        "smallest_change_deg": smallest,
        "residual_sd_deg": None if is_growth else _about_line(sums),
        "changes": compared,
        "changes_judged": None if error is None else judged,
        "changes_beyond": None if error is None else int(beyond),
        "other_farrier": int(other),
        "note": UNKNOWN if error is None else None,
    }


def _beyond_error(latest: pl.DataFrame, arrivals: pl.DataFrame, error: float | None) -> pl.DataFrame:
    columns = AngleChanges.columns()
    if error is None:
        return AngleChanges.empty()
    plain = latest.with_columns(growth_deg=pl.lit(0.0), smallest_change_deg=pl.lit(OF_TWO_READINGS * error))
    both = pl.concat([plain.select(*columns), arrivals.filter("latest").select(*columns)])
    return both.filter(_larger()).sort("horse_id", "foot", "angle_at")
