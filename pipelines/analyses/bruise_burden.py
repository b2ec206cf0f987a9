"""How many bruises has a foot had by a given day, where on the sole, and how many feet were looked at?"""

import numpy as np
import polars as pl

from pipelines.analyses.splits import NOT_RECORDED, in_order, named, split
from pipelines.stats.mean_cumulative import Events, Followed, mean_cumulative
from schemas.results import BruiseBurden, BruiseLooks, BruiseSites

# A curve with more rises than this is written down on a grid of days instead: the picture is the same.
MOST_RISES, GRID_DAYS = 120, 14
DIMENSIONS = ("all", "discipline", "sole_relief")
SEEN = named("discipline")
SITES = named("discipline") | {"horse": "horse_id"}

_SEEN = """(
    select v.horse_id, f.foot, h.discipline, v.visit_date, f.visit_id, f.bruise_grade, f.bruise_site,
           case when f.foot in ('LF', 'RF') then 'front' else 'hind' end as "end"
    from accepted.feet f join accepted.visits v using (visit_id) join accepted.horses h using (horse_id)
    where v.visit_date <= getvariable('as_of')::date
)"""
_LOOKS = f"""(
    select *, bruise_grade >= 1 as bruised,
           bruised and coalesce(lag(bruise_grade) over story, 0) = 0 as begins,
           visit_date - min(visit_date) over story as day
    from {_SEEN} where bruise_grade is not null
    window story as (partition by horse_id, foot order by visit_date, visit_id)
)"""

COUNTS = {
    "followed": f"select horse_id, foot, discipline, max(day) as last_day from {_LOOKS} group by all",
    "episodes": f"select horse_id, foot, discipline, day from {_LOOKS} where begins",
    "relief": """
select horse_id, foot, case when sole_relief then 'yes' else 'no' end as sole_relief,
       from_date - min(from_date) over foot as from_day, to_date - min(from_date) over foot as to_day,
       bruise_from = 0 and bruise_to >= 1 as begins
from derived.bruise_steps
window foot as (partition by horse_id, foot)
qualify sole_relief is not null and to_date > from_date
""",
    "sites": split(
        SITES,
        f""""end", coalesce(bruise_site, '{NOT_RECORDED}') as site,
        count(*) filter (begins) as episodes, count(*) as bruised_looks""",
        f"{_LOOKS} where bruised",
    ),
    "looks": split(
        SEEN,
        "count(*) as feet_at_visits, count(bruise_grade) as feet_looked, "
        "count(*) filter (bruise_grade >= 1) as bruised_looks",
        _SEEN,
    ),
}


def bruise_burden(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """Mean number of bruising episodes of a foot by day since its first look → `bruise_burden`; where they lay →
    `bruise_sites`; feet seen but not looked at → `bruise_looks`.

    An episode begins where a foot is bruised at its first look, or clear at one and bruised at the next. By sole
    relief a foot counts where it stands on each day, so that one foot may be in both curves, and only episodes that
    begin between two looks belong to the shoe worn. low, high take feet as independent; low_by_horse,
    high_by_horse take horses. Source: `pipelines.stats.mean_cumulative`.
    """
    sites = in_order(counts["sites"], SITES, "end", "site")
    looks = in_order(counts["looks"].filter(pl.col("feet_at_visits") > 0), SEEN).with_columns(
        looked_share=pl.col("feet_looked") / pl.col("feet_at_visits")
    )
    return {
        "bruise_burden": BruiseBurden.check(pl.concat([BruiseBurden.empty(), *_curves(counts)])),
        "bruise_sites": BruiseSites.check(sites),
        "bruise_looks": BruiseLooks.check(looks),
    }


def _curves(counts: dict[str, pl.DataFrame]) -> list[pl.DataFrame]:
    # The first look itself may find a bruise, so a foot is watched from the day before, the start being excluded.
    watched = (
        counts["followed"]
        .sort("horse_id", "foot")
        .select("horse_id", "foot", "discipline", start=pl.lit(-1), stop="last_day")
    )
    episodes = counts["episodes"].sort("horse_id", "foot", "day")
    relief = (
        counts["relief"]
        .sort("horse_id", "foot", "from_day", "to_day")
        .select("horse_id", "foot", "sole_relief", "begins", start="from_day", stop="to_day")
    )
    begun = relief.filter("begins").rename({"stop": "day"})
    curves = [_curve("all", "all", watched, episodes)] if watched.height else []
    for dimension, stretches, events in (("discipline", watched, episodes), ("sole_relief", relief, begun)):
        for level in stretches[dimension].unique().sort():
            here = pl.col(dimension) == level
            curves.append(_curve(dimension, level, stretches.filter(here), events.filter(here)))
    return curves


def _curve(dimension: str, level: str, stretches: pl.DataFrame, episodes: pl.DataFrame) -> pl.DataFrame:
    feet = stretches.select("horse_id", "foot").unique().sort("horse_id", "foot").with_row_index("unit")
    horses = feet["horse_id"].rank("dense").to_numpy().astype(np.int64) - 1
    rows = stretches.join(feet, on=["horse_id", "foot"], validate="m:1")
    begun = episodes.join(feet, on=["horse_id", "foot"], validate="m:1")
    followed = Followed(*(rows[name].to_numpy().astype(np.int64) for name in ("unit", "start", "stop")))
    events = Events(*(begun[name].to_numpy().astype(np.int64) for name in ("unit", "day")))
    days = _days(events.day, int(followed.stop.max()))
    own = mean_cumulative(followed, events, days)
    by_horse = mean_cumulative(followed, events, days, horses)
    figures = {"mean_episodes": own.mean, "low": own.low, "high": own.high}
    table = pl.DataFrame({"day": days, "feet": own.followed, **figures}).with_columns(
        low_by_horse=by_horse.low, high_by_horse=by_horse.high, dimension=pl.lit(dimension), level=pl.lit(level)
    )
    return table.select(*BruiseBurden.columns()).cast(BruiseBurden.dtypes()).fill_nan(None)


def _days(rises: np.ndarray, last: int) -> np.ndarray:
    """The first day, each day on which the mean rises, and the last; every 14th day where those are too many."""
    days = np.unique(rises)
    if days.size > MOST_RISES:
        days = np.arange(0, last, GRID_DAYS)
    return np.unique(np.concatenate([[0], days, [last]])).astype(np.int64)
