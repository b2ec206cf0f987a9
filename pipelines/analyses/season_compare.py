"""How was the season beside the one before: work, losses, busiest weeks, horses come and gone, minutes a visit?"""

import polars as pl

from pipelines.analyses.season_rates import rate_limits, ratio_limits, shod
from pipelines.analyses.splits import EVERYTHING, NO_RANGE, in_order, split
from pipelines.stats.quantiles import quantile_of_counts
from schemas.results import BusiestWeeks, DayLoads, HorseTurnover, SeasonCompare, VisitMinutes

BUSIEST = 5
FEW_TIMED = 10
MINUTES = {"median_minutes": 0.5, "p25_minutes": 0.25, "p75_minutes": 0.75}
COUNTED = (
    "visits",
    "horses",
    "days_worked",
    "timed",
    "driven",
    "charged",
    "shoes_nailed",
    "losses",
    "lost_shoe_visits",
    "lost_shoe_timed",
    "lost_shoe_driven",
    "lost_shoe_charged",
    "intervals",
)
DIMENSIONS = ("all", "work_done", "handling")

_START, _STOP = "getvariable('season_start')::date", "getvariable('season_stop')::date"
_AS_OF = "getvariable('as_of')::date"
_BEFORE = f"({_START} - ({_STOP} - {_START} + 1)::integer)"
# While a season runs, of the one before only as many days are counted: a part beside a whole compares nothing.
_SO_FAR = f"case when {_AS_OF} between {_START} and {_STOP} then {_AS_OF} else {_STOP} end"
_SEASONS = f"""(
    select 'this' as which, {_START} as start, {_SO_FAR} as stop
    union all
    select 'before', {_BEFORE}, {_BEFORE} + ({_SO_FAR} - {_START})::integer
)"""
_VISITS = "(from accepted.visits where visit_date <= getvariable('as_of')::date)"
_WORKED = f"""(
    select v.*, visit_kind = 'lost_shoe' as for_loss, coalesce(shoes, 0) as shoes, coalesce(trims, 0) as trims
    from {_VISITS} v left join (
        select visit_id, count(*) filter (work in ('fit_new', 'reset')) as shoes,
               count(*) filter (work = 'trim') as trims
        from accepted.feet group by visit_id
    ) using (visit_id)
)"""


def _here(visits: str) -> str:
    """SQL of these visits, each beside the season it lies in."""
    return f"{_SEASONS} s join {visits} v on v.visit_date between s.start and s.stop"


_WORK_DONE = """case when shoes > 1 then shoes || ' shoes' when shoes = 1 then '1 shoe' when trims > 0 then 'trim only'
    else 'no shoe or trim' end"""

COUNTS = {
    "seasons": f"""
select *, (select min(visit_date) from accepted.visits) as record_start, {_STOP} as season_stop, {_AS_OF} as as_of
from {_SEASONS}
""",
    "visits": f"""
select which, count(*) as visits, count(distinct horse_id) as horses, count(distinct visit_date) as days_worked,
       count(minutes) as timed, sum(minutes) as minutes, count(travel_km) as driven, sum(travel_km) as travel_km,
       sum(shoes)::bigint as shoes_nailed, count(*) filter (for_loss) as lost_shoe_visits,
       count(minutes) filter (for_loss) as lost_shoe_timed, count(travel_km) filter (for_loss) as lost_shoe_driven,
       count(fee) filter (for_loss) as lost_shoe_charged,
       sum(minutes) filter (for_loss)::double as lost_shoe_minutes,
       sum(travel_km) filter (for_loss)::double as lost_shoe_km,
       count(fee) as charged, sum(fee) as fee, sum(fee) filter (for_loss) as lost_shoe_fee
from {_here(_WORKED)} group by all
""",
    # A spell's days are those after nailing up to its end, so a day belongs to one season only.
    "spells": f"""
select which, horse_id, count(*) filter (end_reason = 'lost' and ended_on between start and stop) as losses,
       sum(case when days_on = 0 then 0.5::double
           else least(ended_on, stop) - greatest(fitted_on, start - 1) end)::double as shoe_days
from {_SEASONS} s join derived.shoe_spells on fitted_on <= stop and ended_on >= start group by all
""",
    "intervals": f"""
select which, days, count(*) as intervals
from {_SEASONS} s join derived.visit_intervals on to_date between start and stop group by all
""",
    "weeks": f"""
select date_trunc('week', visit_date)::date as starts_on, count(*) as visits, count(distinct horse_id) as horses,
       count(distinct visit_date) as days_worked, count(minutes) as timed, sum(minutes) as minutes
from {_here(_VISITS)} where which = 'this' group by all
""",
    "days": f"""
with days as (
    select which, count(distinct horse_id) as horses_a_day
    from {_here(_VISITS)} group by which, visit_date, farrier
)
select which, horses_a_day, count(*) as farrier_days from days group by all
""",
    "horses": f"""
with seen as (
    select horse_id, bool_or(visit_date >= {_START}) as this, bool_or(visit_date < {_START}) as before
    from {_VISITS} where visit_date between {_BEFORE} and {_STOP} group by all
)
select horse_id, horse_name, min(visit_date) as first_visit_on, max(visit_date) as last_visit_on,
       case when this and before then 'kept'
            when before then case when {_AS_OF} < {_STOP} then 'not_yet' else 'gone' end
            when min(visit_date) >= {_START} then 'new' else 'returned' end as standing
from seen join accepted.horses using (horse_id) join {_VISITS} using (horse_id)
group by horse_id, horse_name, this, before
""",
    "minutes": f"""
with timed as materialized (
    select minutes, {_WORK_DONE} as work_done, handling::varchar as handling
    from {_here(_WORKED)} where which = 'this'
)
{split({**EVERYTHING, "work_done": "work_done", "handling": "handling"}, "minutes, count(*) as visits", "timed")}
""",
}


def season_compare(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """The season and the one of the same length before it → `season_compare`; its weeks with most visits →
    `busiest_weeks`; how many horses a farrier saw on how many days → `day_loads`; horses new, kept, returned or gone →
    `horse_turnover`; minutes by work and handling → `visit_minutes`.

    Of a season that still runs the days so far are counted, and as many first days of the one before; only for the
    horses it is whole, and none has gone while this one runs. A sum is blank where no visit has the figure and 0 where
    there is no such visit; timed, driven and charged count the visits it rests on.
    ratio is this season's loss rate over the last's, in the row of this season. Rates and ratio have limits with
    horses as the units, blank with too few horses. Without a season all are empty. Sources:
    `pipelines.analyses.season_rates`, `pipelines.stats.quantiles` (type 7).
    """
    seasons = counts["seasons"].drop_nulls("start").sort(pl.col("which") == "before")
    horses = {which: shod(counts["spells"].filter(which=which)) for which in ("this", "before")}
    table = _with_ratio(_with_rate(_with_counts(seasons, counts), horses), horses)
    weeks = counts["weeks"].sort(-pl.col("visits"), "starts_on").head(BUSIEST)
    return {
        "season_compare": SeasonCompare.check(table.select(*SeasonCompare.columns())),
        "busiest_weeks": BusiestWeeks.check(weeks),
        "day_loads": DayLoads.check(counts["days"].sort(pl.col("which") == "before", "horses_a_day")),
        "horse_turnover": HorseTurnover.check(counts["horses"].sort("horse_id")),
        "visit_minutes": VisitMinutes.check(_minutes(counts["minutes"])),
    }


def _with_counts(seasons: pl.DataFrame, counts: dict[str, pl.DataFrame]) -> pl.DataFrame:
    lengths = counts["intervals"].sort("days").group_by("which").agg("days", "intervals")
    medians = lengths.with_columns(
        median_days=pl.struct("days", "intervals").map_elements(_median, return_dtype=pl.Float64),
        intervals=pl.col("intervals").list.sum().cast(pl.Int64),
    ).drop("days")
    spells = counts["spells"].group_by("which").agg(pl.col("losses", "shoe_days").sum())
    for part in (counts["visits"], spells, medians):
        seasons = seasons.join(part, on="which", how="left", validate="1:1", maintain_order="left")
    seasons = seasons.with_columns(pl.col(*COUNTED, "shoe_days").fill_null(0))
    none = pl.when(pl.col("lost_shoe_visits") == 0).then(0.0)
    return seasons.with_columns(none.otherwise(name).alias(name) for name in ("lost_shoe_minutes", "lost_shoe_km"))


def _note() -> pl.Expr:
    """What the record lacks of a season: its beginning, its end, horses enough for a range."""
    within = pl.format("the record begins on {}, within it, so it is not whole on record", _day("record_start"))
    after = pl.format(
        "the record begins on {}, after {}, the last day that would be set beside this season",
        _day("record_start"),
        _day("stop"),
    )
    is_within = pl.col("record_start") <= pl.col("stop")
    begins = pl.when(pl.col("record_start") > pl.col("start")).then(pl.when(is_within).then(within).otherwise(after))
    runs = pl.when((pl.col("which") == "this") & (pl.col("stop") < pl.col("season_stop"))).then(
        pl.format("it runs to {}, the record to {}", _day("season_stop"), _day("as_of"))
    )
    few = pl.when(pl.col("per_1000_days").is_not_null() & pl.col("low").is_null()).then(pl.lit(NO_RANGE))
    note = pl.concat_str(begins, runs, few, separator="; ", ignore_nulls=True)
    return pl.when(note != "").then(note)


def _day(column: str) -> pl.Expr:
    return pl.col(column).dt.to_string("%-d %B %Y")


def _median(lengths: dict) -> float:
    days, intervals = (pl.Series(lengths[name]).to_numpy() for name in ("days", "intervals"))
    return quantile_of_counts(days, intervals, 0.5)


def _with_rate(seasons: pl.DataFrame, horses: dict[str, pl.DataFrame]) -> pl.DataFrame:
    limits = [rate_limits(horses[which]) for which in seasons["which"]]
    low, high = (pl.Series([both[place] for both in limits], dtype=pl.Float64) for place in (0, 1))
    thousands = pl.when(pl.col("shoe_days") > 0).then(pl.col("shoe_days") / 1000)
    return seasons.with_columns(
        per_1000_days=pl.col("losses") / thousands, low=1000 * low, high=1000 * high
    ).with_columns(note=_note())


def _with_ratio(seasons: pl.DataFrame, horses: dict[str, pl.DataFrame]) -> pl.DataFrame:
    """This season's rate over the last's; blank where either has no shoe-day or the last no loss."""
    figures = {"ratio": None, "ratio_low": None, "ratio_high": None}
    sides = seasons.select("losses", "shoe_days").rows()
    if len(sides) == 2 and sides[1][0] and sides[0][1] and sides[1][1]:
        low, high = ratio_limits(horses["this"], horses["before"])
        figures = {
            "ratio": sides[0][0] / sides[0][1] / (sides[1][0] / sides[1][1]),
            "ratio_low": low,
            "ratio_high": high,
        }
    this = pl.col("which") == "this"
    return seasons.with_columns(
        **{name: pl.when(this).then(pl.lit(value, pl.Float64)) for name, value in figures.items()}
    )


def _minutes(minutes: pl.DataFrame) -> pl.DataFrame:
    rows = [_level(level.sort("minutes")) for level in minutes.partition_by("dimension", "level")]
    table = pl.DataFrame(rows, schema=VisitMinutes.dtypes()).filter(pl.col("visits") > 0)
    return in_order(table, DIMENSIONS)


def _level(level: pl.DataFrame) -> dict:
    timed = level.drop_nulls("minutes")
    values, visits = timed["minutes"].to_numpy(), timed["visits"].to_numpy()
    total = int(visits.sum())
    return {
        "dimension": level["dimension"][0],
        "level": level["level"][0],
        "visits": int(level["visits"].sum()),
        "timed": total,
        **{name: quantile_of_counts(values, visits, share) if total else None for name, share in MINUTES.items()},
        "note": f"fewer than {FEW_TIMED} visits with minutes" if total < FEW_TIMED else None,
    }
