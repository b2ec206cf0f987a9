"""How even are a horse's feet left and right, of what class are they, and how far can one reading be trusted?"""

import polars as pl

from pipelines.analyses import angle_changes
from pipelines.analyses.splits import in_order, named
from schemas.results import AngleGaps, HoofClasses

# Wiggers et al 2015, PLoS ONE 10:e0114836: an uneven pair differs by more than 1.5°; flat, medium and upright feet.
CUT_OFF_DEG = 1.5
FLAT_BELOW, UPRIGHT_ABOVE = 50, 55
DIMENSIONS = named("discipline", "end")
CLASSES = ("flat", "medium", "upright")

_READ = """(
    select v.horse_id, h.horse_name, h.discipline, v.visit_date, f.visit_id, f.foot,
           case when f.foot in ('LF', 'RF') then 'front' else 'hind' end as "end", f.foot in ('LF', 'LH') as is_left,
           f.angle_arrival_deg, f.angle_leaving_deg
    from accepted.feet f join accepted.visits v using (visit_id) join accepted.horses h using (horse_id)
    where v.visit_date <= getvariable('as_of')::date
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
select horse_id, foot, discipline, "end", arg_max(angle_leaving_deg, (visit_date, visit_id)) as angle
from {_READ} where angle_leaving_deg is not null group by all
""",
    **angle_changes.COUNTS,
}


def angle_gaps(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """Left minus right of each pair → `angle_gaps`; feet by class → `hoof_classes`; how far a reading can be trusted,
    and what changed by more than that → `angle_precision`, `angle_changes`, see `pipelines.analyses.angle_changes`.
    """
    gaps = (
        counts["gaps"]
        .sort("horse_id", "end")
        .with_columns(cut_off_deg=pl.lit(CUT_OFF_DEG), latest_uneven=pl.col("latest_gap_deg").abs() > CUT_OFF_DEG)
    )
    return {
        "angle_gaps": AngleGaps.check(gaps),
        "hoof_classes": HoofClasses.check(_classes(counts["latest"])),
        **angle_changes.angle_changes(counts),
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
