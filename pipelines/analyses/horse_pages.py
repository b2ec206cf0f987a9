"""What is on record for each horse: its shoes, visits, angles and bruises in time, its lost beside its kept shoes?"""

import numpy as np
import polars as pl
from scipy.special import stdtrit

from schemas.results import HorseAngles, HorseBruises, HorseFit, HorseGaps, HorseList, HorseShoes, HorseVisits
from schemas.words import FIT_MEASURES

FEWEST_LOST, FEWEST_KEPT = 3, 5
CERTAIN = 0.975

# The value of each measure in one shoe, a yes being 1 and a no being 0. The hind foot is the one on the same side.
_VALUES = {
    "branch_past_heel_mm": "branch_past_heel_mm",
    "expansion_mm": "expansion_mm",
    "nails": "nails_medial + nails_lateral",
    "heel_nails": "heel_nails",
    "clips": "clips <> 'none'",
    "edges_dressed": "edges_dressed",
    "sole_relief": "sole_relief",
    "wall_unsound": "wall_state <> 'sound'",
    "hind_toe_leaving_mm": "hinds.toe_leaving_mm",
    "hind_angle_leaving_deg": "hinds.angle_leaving_deg",
    "hind_shod": "case when hinds.work in ('fit_new', 'reset') then true when hinds.work in ('trim', 'take_off') "
    "then false when hinds.work = 'none' then hinds.arrival in ('on', 'sprung') end",
}
_SUMS = ",\n       ".join(
    f'count("{name}") as "{name}:shoes", sum("{name}") as "{name}:sum", sum("{name}" * "{name}") as "{name}:squares"'
    for name in _VALUES
)
_SELECTED = ",\n           ".join(f'({sql})::double as "{name}"' for name, sql in _VALUES.items())

# What a page reads of a horse; a blank there is something its record lacks. The rows counted, then their columns.
_SHOES = "accepted.feet join accepted.visits using (visit_id)"
_READ = (
    ("feet", f"{_SHOES} where work in ('fit_new', 'reset')",
     ("branch_past_heel_mm", "expansion_mm", "nails_medial", "heel_nails", "edges_dressed", "wall_state")),
    ("feet", _SHOES, ("angle_leaving_deg", "toe_leaving_mm", "bruise_grade")),
    ("visits", "accepted.visits", ("planned_weeks",)),
    ("losses", "accepted.losses", ("cause", "last_seen_on")),
)  # fmt: skip
_NOT_LATER = {"losses": "found_off"}


def _gaps(table: str, source: str, columns: tuple[str, ...]) -> str:
    day = f"{_NOT_LATER.get(table, 'visit_date')} <= getvariable('as_of')"
    rows = f"from {source}{' and ' if ' where ' in source else ' where '}{day}"
    return "\nunion all\n".join(
        f"select horse_id, '{table}' as table_name, '{name}' as column_name, count(*) as rows, "
        f'count("{name}") as filled\n{rows} group by horse_id'
        for name in columns
    )


_SEEN = "select * from accepted.feet join accepted.visits using (visit_id) where visit_date <= getvariable('as_of')"

COUNTS = {
    "horses": """
with seen as (
    select horse_id, count(*) as visits, min(visit_date) as first_visit_on, max(visit_date) as last_visit_on
    from accepted.visits where visit_date <= getvariable('as_of') group by all
), looked as (
    select horse_id, count(*) as feet_at_visits, count(bruise_grade) as feet_looked,
           count(*) filter (bruise_grade >= 1) as bruised_looks
    from accepted.feet join accepted.visits using (visit_id)
    where visit_date <= getvariable('as_of') group by all
)
select horse_id, row_number() over (order by horse_id) as page_no, horse_name, discipline, yard,
       coalesce(visits, 0) as visits, first_visit_on, last_visit_on, coalesce(feet_at_visits, 0) as feet_at_visits,
       coalesce(feet_looked, 0) as feet_looked, coalesce(bruised_looks, 0) as bruised_looks
from accepted.horses left join seen using (horse_id) left join looked using (horse_id) order by horse_id
""",
    "shoes": """
select horse_id, foot, fitted_on, ended_on, end_reason, days_on, lost_after, lost_by, cause, shoe_style,
       branch_past_heel_mm, nails_medial + nails_lateral as nails, wall_state
from derived.shoe_spells order by horse_id, foot, fitted_on, spell_id
""",
    "visits": """
select horse_id, visit_date, visit_kind from accepted.visits
where visit_date <= getvariable('as_of') order by horse_id, visit_date, visit_id
""",
    "fit": f"""
with hinds as (
    select visit_id, toe_leaving_mm, angle_leaving_deg, work, arrival,
           case foot when 'LH' then 'LF' when 'RH' then 'RF' end as front_foot
    from accepted.feet where foot in ('LH', 'RH')
), valued as (
    select spells.horse_id, "end", end_reason = 'lost' as was_lost,
           {_SELECTED}
    from (from derived.shoe_spells where end_reason <> 'running') spells
    left join hinds on hinds.visit_id = fitted_visit_id and front_foot = spells.foot
)
select horse_id, "end", was_lost,
       {_SUMS}
from valued group by all
""",
    "gaps": "\nunion all\n".join(_gaps(*read) for read in _READ),
    "angles": f"""
with seen as ({_SEEN})
select horse_id, foot, visit_date, visit_id, 'arrival' as angle_at, angle_arrival_deg as angle_deg,
       toe_arrival_mm as toe_mm
from seen where angle_arrival_deg is not null or toe_arrival_mm is not null
union all
select horse_id, foot, visit_date, visit_id, 'leaving', angle_leaving_deg, toe_leaving_mm
from seen where angle_leaving_deg is not null or toe_leaving_mm is not null
""",
    "bruises": f"""
with looked as (
    select horse_id, foot, visit_id, bruise_grade >= 1 and lag(bruise_grade) over story >= 1 as again,
           again and bruise_site = lag(bruise_site) over story as same_site_again
    from ({_SEEN}) where bruise_grade is not null
    window story as (partition by horse_id, foot order by visit_date, visit_id)
)
select horse_id, foot, visit_date, visit_id, bruise_grade is not null as looked, bruise_grade,
       case when bruise_grade >= 1 then bruise_site end as bruise_site,
       case when bruise_grade >= 1 then coalesce(again, false) end as again,
       case when bruise_grade >= 1 then coalesce(same_site_again, false) end as same_site_again
from ({_SEEN}) left join looked using (horse_id, foot, visit_id)
""",
}


def horse_pages(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """What the page of each horse shows → `horse_list`, `horse_shoes`, `horse_visits`, `horse_fit`, `horse_gaps`,
    `horse_angles`, `horse_bruises`.

    page_no is the rank of horse_id, so that no name gets into a file's name. horse_fit sets the mean of each measure
    in lost shoes beside those renewed or taken off, front and hind apart; the hind measures stand by front shoes. A
    bruise is there again where the foot's look before, however long ago, found one too.
    """
    in_time = ("horse_id", "foot", "visit_date", "visit_id")
    angles, bruises = counts["angles"].sort(*in_time, "angle_at"), counts["bruises"].sort(*in_time)
    gaps = counts["gaps"].sort("horse_id", "table_name", "column_name")
    return {
        "horse_list": HorseList.check(counts["horses"]),
        "horse_shoes": HorseShoes.check(counts["shoes"]),
        "horse_visits": HorseVisits.check(counts["visits"]),
        "horse_fit": HorseFit.check(_fit(counts["fit"])),
        "horse_gaps": HorseGaps.check(gaps),
        "horse_angles": HorseAngles.check(angles.drop("visit_id")),
        "horse_bruises": HorseBruises.check(bruises.drop("visit_id")),
    }


def _fit(sums: pl.DataFrame) -> pl.DataFrame:
    """One row a horse, end and measure that at least one of its shoes has a value of."""
    rows = pl.concat([_one_measure(sums, place, name) for place, name in enumerate(FIT_MEASURES)])
    pair = [_side(rows.filter(pl.col("was_lost") == lost), name) for lost, name in ((True, "lost"), (False, "kept"))]
    key = ["horse_id", "end", "place", "fit_measure"]
    both = pair[0].join(pair[1], on=key, how="full", coalesce=True, validate="1:1")
    both = both.with_columns(pl.col("lost_shoes", "kept_shoes").fill_null(0))
    both = both.filter(pl.col("lost_shoes") + pl.col("kept_shoes") > 0).sort("horse_id", "end", "place")
    return _judged(both).select(*HorseFit.columns())


def _one_measure(sums: pl.DataFrame, place: int, name: str) -> pl.DataFrame:
    parts = {part: pl.col(f"{name}:{part}").fill_null(0) for part in ("shoes", "sum", "squares")}
    found = sums.select("horse_id", "end", "was_lost", place=pl.lit(place), fit_measure=pl.lit(name), **parts)
    return found.filter(pl.col("end") == "front") if name.startswith("hind_") else found


def _side(rows: pl.DataFrame, name: str) -> pl.DataFrame:
    mean = pl.when(pl.col("shoes") > 0).then(pl.col("sum") / pl.col("shoes"))
    around = pl.col("squares") - pl.col("sum") * mean
    return rows.select(
        "horse_id", "end", "place", "fit_measure",
        pl.col("shoes").alias(f"{name}_shoes"), mean.alias(f"{name}_figure"), around.alias(f"{name}_around"),
    )  # fmt: skip


def _judged(both: pl.DataFrame) -> pl.DataFrame:
    """Two-sided t with one variance; where all shoes of both sides are the same, nothing differs."""
    lost, kept = (both[f"{side}_shoes"].to_numpy().astype(float) for side in ("lost", "kept"))
    enough = (lost >= FEWEST_LOST) & (kept >= FEWEST_KEPT)
    free = np.where(enough, lost + kept - 2, 1.0)
    around = both.select(pl.sum_horizontal("lost_around", "kept_around").clip(0)).to_series().to_numpy()
    error = np.sqrt(around / free * (1 / np.maximum(lost, 1) + 1 / np.maximum(kept, 1)))
    apart = (both["lost_figure"] - both["kept_figure"]).abs().to_numpy()
    differs = pl.Series(apart > stdtrit(free, CERTAIN) * np.maximum(error, 1e-9))
    return both.with_columns(differs=pl.when(pl.Series(enough)).then(differs))
