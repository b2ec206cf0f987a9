"""What does a late visit cost in shoes, angle and bruises, and which horses are seen later and later?"""

import numpy as np
import polars as pl

from pipelines.analyses.angle_trend import line_sums
from pipelines.stats.clustered_mean import clustered_mean_limits
from pipelines.stats.clustered_proportion import clustered_proportion_limits
from pipelines.stats.poisson import Z95, clustered_rate_limits, exact_limits
from pipelines.stats.random_slopes import LineSums, random_slopes, unit_slopes
from schemas.results import Lateness, LatenessTrend

# Band → days late above and up to which it runs; late is more than 7 days, as in interval_lengths.
BANDS = {
    "more than 7 days early": (None, -7),
    "within 7 days": (-7, 7),
    "8 to 14 days late": (7, 14),
    "15 to 28 days late": (14, 28),
    "over 28 days late": (28, None),
}
PAST = {
    "before it was due": (None, 0),
    "1 to 7 days past": (0, 7),
    "8 to 14 days past": (7, 14),
    "15 to 28 days past": (14, 28),
    "over 28 days past": (28, None),
    "on any day past it": (0, None),
}
NO_PLAN = "no day agreed"
ORDER = {("interval", level): place for place, level in enumerate(BANDS)} | {
    ("days_past_plan", level): place for place, level in enumerate((*PAST, NO_PLAN), len(BANDS))
}
FEW_HORSES, FEW_INTERVALS = 5, 4
NO_END = 100_000
BRUISES = ("steps_clear", "clear_to_bruised", "steps_bruised", "bruised_to_bruised")


def _values(bands: dict[str, tuple[int | None, int | None]]) -> str:
    rows = (
        f"('{name}', {-NO_END if low is None else low}, {NO_END if high is None else high})"
        for name, (low, high) in bands.items()
    )
    return f"(values {', '.join(rows)}) as bands(level, above, up_to)"


def _squares(hits: str, steps: str, name: str) -> str:
    """Sums over horses of the squares and the product of two columns."""
    return f"""sum({hits} * {hits}) as {name}_squared,
       sum({hits} * {steps}) as {name}_times_steps, sum({steps} * {steps}) as {name}_steps_squared"""


_INTERVALS = f"""(
    select i.*, level from derived.visit_intervals i join {_values(BANDS)} on days_late > above and days_late <= up_to
)"""
_SQUARES = """sum(losses * losses)::double as losses_squared, sum(losses * shoe_days) as losses_times_days,
       sum(shoe_days * shoe_days) as days_squared"""
_RATES = f"""count(*) as horses, sum(shoes)::bigint as shoes, sum(losses)::bigint as losses,
       sum(shoe_days) as shoe_days, {_SQUARES}"""
# Days past the plan at which a shoe was nailed on, and those of them that fall in the band.
_DUE = "7 * v.planned_weeks"
_WITHIN = f"greatest(least(days_on, {_DUE} + up_to) - greatest(0, {_DUE} + above), 0)"

# Sums of squares over horses are all that the limits need of a horse, and they add up as counts do.
COUNTS = {
    "intervals": f"""
select level, count(*) as intervals, count(distinct horse_id) as horses from {_INTERVALS} group by all
""",
    "shoes": f"""
with by_horse as (
    select 'interval' as dimension, i.level, s.horse_id, count(*) as shoes,
           count(*) filter (end_reason = 'lost') as losses,
           sum(case when days_on = 0 then 0.5::double else days_on end) as shoe_days
    from derived.shoe_spells s join {_INTERVALS} i on s.fitted_visit_id = i.from_visit_id
    group by all
    union all
    select 'days_past_plan', level, s.horse_id, count(*),
           count(*) filter (end_reason = 'lost' and days_on <= {_DUE} + up_to),
           sum(case when days_on = 0 then 0.5::double else {_WITHIN} end)
    from derived.shoe_spells s join accepted.visits v on s.fitted_visit_id = v.visit_id and v.planned_weeks is not null
    join {_values(PAST)} on days_on > {_DUE} + above
    group by all
    union all
    select 'days_past_plan', '{NO_PLAN}', s.horse_id, count(*), count(*) filter (end_reason = 'lost'),
           sum(case when days_on = 0 then 0.5::double else days_on end)
    from derived.shoe_spells s join accepted.visits v on s.fitted_visit_id = v.visit_id and v.planned_weeks is null
    group by all
)
select dimension, level, {_RATES} from by_horse group by all
""",
    "angles": f"""
with by_horse as (
    select level, s.horse_id, count(*)::double as steps, round(sum(angle_change_deg), 8) as total
    from derived.foot_steps s join {_INTERVALS} i using (from_visit_id, to_visit_id)
    where angle_change_deg is not null group by all
)
select level, count(*) as horses, sum(steps) as steps, round(sum(total), 8) as total,
       round(sum(total * total), 8) as total_squared, round(sum(total * steps), 8) as total_times_steps,
       sum(steps * steps) as steps_squared
from by_horse group by all
""",
    "bruises": f"""
with by_horse as (
    select level, s.horse_id, count(*) filter (bruise_from = 0)::double as steps_clear,
           count(*) filter (bruise_from = 0 and bruise_to >= 1)::double as clear_to_bruised,
           count(*) filter (bruise_from >= 1)::double as steps_bruised,
           count(*) filter (bruise_from >= 1 and bruise_to >= 1)::double as bruised_to_bruised
    from derived.bruise_steps s join {_INTERVALS} i using (from_visit_id, to_visit_id) group by all
)
select level, {", ".join(f"sum({name}) as {name}" for name in BRUISES)},
       count(*) filter (steps_clear > 0) as horses_clear, {_squares("clear_to_bruised", "steps_clear", "new")},
       count(*) filter (steps_bruised > 0) as horses_bruised, {_squares("bruised_to_bruised", "steps_bruised", "again")}
from by_horse group by all
""",
    "horses": f"""
select horse_id, horse_name, {line_sums("", "days_late")}
from (
    select horse_id, days_late, to_date - min(to_date) over (partition by horse_id) as days
    from derived.visit_intervals where days_late is not null
) join accepted.horses using (horse_id) group by all
""",
}


def lateness(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """Losses, angle and bruises by how late the visit was → `lateness`; horses slipping later → `lateness_trend`.

    dimension `interval`: everything that lies between two visits of the round whose plan is known, by how late the
    second was. `days_past_plan`: the same shoes' days and losses by how long the shoe was past its plan on that day,
    which is the fair comparison, since a long interval has more days in which to lose a shoe; shoes nailed on where no
    day was agreed have a level of their own. Limits have horses as the sampling units, but for low and high, which are
    exact. A horse's trend is drawn to that of all (REML).
    Sources: `pipelines.stats.poisson`, `clustered_mean`, `clustered_proportion`, `random_slopes`.
    """
    rates = _rates(counts["shoes"])
    inside = counts["intervals"].with_columns(dimension=pl.lit("interval"))
    for part in (_angles(counts["angles"]), _bruises(counts["bruises"])):
        inside = inside.join(part, on="level", how="left", validate="1:1")
    table = rates.join(inside, on=["dimension", "level"], how="full", coalesce=True, validate="1:1", suffix="_seen")
    table = table.with_columns(
        pl.coalesce("horses_seen", "horses").alias("horses"),
        pl.col("shoes", "losses").fill_null(0),
        pl.col("shoe_days").fill_null(0.0),
        note=pl.when(pl.col("losses").fill_null(0) < 2).then(pl.lit("fewer than 2 losses: the rate means little")),
    )
    place = pl.struct("dimension", "level").map_elements(lambda key: ORDER[*key.values()], return_dtype=pl.Int64)
    return {
        "lateness": Lateness.check(table.sort(place).select(*Lateness.columns())),
        "lateness_trend": LatenessTrend.check(_trend(counts["horses"].sort("horse_id"))),
    }


def _rates(shoes: pl.DataFrame) -> pl.DataFrame:
    losses, days = shoes["losses"].to_numpy(), shoes["shoe_days"].to_numpy()
    low, high = exact_limits(losses)
    squares = (shoes[name].to_numpy() for name in ("losses_squared", "losses_times_days", "days_squared"))
    low_clustered, high_clustered = clustered_rate_limits(shoes["horses"].to_numpy(), losses, days, *squares)
    limits = {"low": low / days, "high": high / days, "low_clustered": low_clustered, "high_clustered": high_clustered}
    return shoes.select(
        "dimension", "level", "horses", "shoes", "losses", "shoe_days",
        per_1000_days=1000 * pl.col("losses") / pl.col("shoe_days"),
        **{name: pl.Series(1000 * values).fill_nan(None) for name, values in limits.items()},
    )  # fmt: skip


def _angles(angles: pl.DataFrame) -> pl.DataFrame:
    sums = ("horses", "total", "steps", "total_squared", "total_times_steps", "steps_squared")
    low, high = clustered_mean_limits(*(angles[name].to_numpy() for name in sums))
    mean = pl.col("total") / pl.col("steps")
    return angles.select("level", "steps", mean_change_deg=mean, change_low=low, change_high=high).fill_nan(None)


def _bruises(bruises: pl.DataFrame) -> pl.DataFrame:
    new_low, new_high = _share_limits(bruises, "clear", "clear_to_bruised", "new")
    again_low, again_high = _share_limits(bruises, "bruised", "bruised_to_bruised", "again")
    clear, bruised = pl.col("steps_clear"), pl.col("steps_bruised")
    return bruises.select(
        "level",
        "horses_clear",
        "horses_bruised",
        *BRUISES,
        chance_new=pl.when(clear > 0).then(pl.col("clear_to_bruised") / clear),
        new_low=new_low,
        new_high=new_high,
        chance_again=pl.when(bruised > 0).then(pl.col("bruised_to_bruised") / bruised),
        again_low=again_low,
        again_high=again_high,
    ).fill_nan(None)


def _share_limits(bruises: pl.DataFrame, was: str, hits: str, name: str) -> tuple[np.ndarray, np.ndarray]:
    sums = (f"horses_{was}", hits, f"steps_{was}")
    squares = (f"{name}_squared", f"{name}_times_steps", f"{name}_steps_squared")
    return clustered_proportion_limits(*(bruises[column].to_numpy() for column in (*sums, *squares)))


def _trend(horses: pl.DataFrame) -> pl.DataFrame:
    """Each horse's days later a year, drawn to that of all; blank where its intervals or the horses are few."""
    units = LineSums(*(horses[name].to_numpy() for name in LineSums._fields))
    fit = random_slopes(units) if horses.height >= FEW_HORSES else None
    slope, error = (np.full(horses.height, np.nan),) * 2 if fit is None else unit_slopes(units, fit)
    enough = pl.lit(fit is not None) & (pl.col("n") >= FEW_INTERVALS)
    figures = {"days_later_per_year": slope, "low": slope - Z95 * error, "high": slope + Z95 * error}
    few = f"fewer than {FEW_INTERVALS} intervals with a plan"
    return horses.select(
        "horse_id",
        "horse_name",
        intervals="n",
        mean_days_late=pl.col("y") / pl.col("n"),
        **{name: pl.when(enough).then(pl.Series(values, dtype=pl.Float64)) for name, values in figures.items()},
        slipping=pl.when(enough).then(pl.Series(figures["low"] > 0, dtype=pl.Boolean)),
        note=pl.when(~enough).then(pl.lit(few if fit is not None else "too little to fit a trend to all horses")),
    )
