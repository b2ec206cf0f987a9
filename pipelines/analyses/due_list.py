"""Which horses are due, which are overdue, at what chance of a lost shoe meanwhile, and how many will come when?"""

from collections.abc import Iterator

import numpy as np
import polars as pl

from pipelines.analyses import horse_losses as horses
from pipelines.analyses import shoe_risk
from pipelines.analyses.shoe_risk import days_in_bands, hazard_by_age, horse_sums, peers_ratios
from pipelines.stats.poisson_binomial import points, poisson_binomial
from schemas.results import DueList, LoadToCome

WEEKS_AHEAD = 6
SILENT_DAYS = 182
LEAST_DAYS = 7
ENOUGH_INTERVALS, ENOUGH_PLANS = 3, 20

_ROUNDS = """(from accepted.visits
    where visit_kind in ('routine', 'first', 'vet_request') and visit_date <= getvariable('as_of')::date)"""

# A shoe is on as long as there has been word of it: its nailing, or a look at which it was on and left alone. The days
# a shoe is followed without word are those of a spell that was cut.
_RUNNING = """(
    select s.*, greatest(fitted_on, coalesce(looked_on, fitted_on)) as heard_on
    from derived.shoe_spells s left join (
        select s.spell_id, max(visit_date) as looked_on
        from derived.shoe_spells s join accepted.visits v
          on v.horse_id = s.horse_id and visit_date between fitted_on and getvariable('as_of')::date
        join accepted.feet f on f.visit_id = v.visit_id and f.foot = s.foot
        where end_reason = 'running' and work = 'none' and arrival in ('on', 'sprung') group by all
    ) using (spell_id)
    where end_reason = 'running'
)"""
_HEARD = "(ended_on = getvariable('as_of')::date or getvariable('as_of')::date - heard_on <= days_on)"

COUNTS = {
    **horses.COUNTS,
    **shoe_risk.COUNTS,
    "as_of": "select getvariable('as_of')::date as as_of",
    "rounds": f"""
with usual as (
    select horse_id, count(*) as intervals, quantile_cont(days, 0.5) as usual_days
    from derived.visit_intervals group by all
),
seen as (
    select horse_id, max(visit_date) as last_visit_on
    from accepted.visits where visit_date <= getvariable('as_of')::date group by all
),
rounds as (
    select horse_id, max(visit_date) as round_on,
           arg_max(coalesce(planned_weeks, -1), (visit_date, visit_id)) as planned_weeks,
           arg_max(visit_id, (visit_date, visit_id)) as round_visit_id
    from {_ROUNDS} group by all
)
select h.horse_id, horse_name, discipline, yard, last_visit_on, round_on,
       case when planned_weeks > 0 then planned_weeks end as planned_weeks, round_visit_id, intervals, usual_days
from accepted.horses h join seen using (horse_id) left join rounds using (horse_id) left join usual using (horse_id)
""",
    "shoes": f"""
select horse_id, "end", (getvariable('as_of')::date - fitted_on)::integer as age, count(*) as shoes
from {_RUNNING} where {_HEARD} group by all
""",
    # Shoes followed no longer: whether they are still on is not known.
    "unheard": f"""
select horse_id, count(*) as unheard, max(heard_on) as unheard_since from {_RUNNING} where not {_HEARD} group by all
""",
    "late": """
select days_late, count(*) as intervals from derived.visit_intervals where days_late is not null group by all
""",
}


def due_list(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """When each horse is due → `due_list`, the longest overdue first; visits of the weeks ahead → `load_to_come`.

    Due is the latest visit of the round plus the interval agreed then; where none was agreed, plus the horse's own
    median interval if it has 3. chance_lost goes on from the age each shoe now has: the record's losses a shoe-day by
    end and age band, times the ratio of the horse's peers to these, times its own shrunk ratio (`shoe_risk`); shoes
    are taken as independent. A horse comes to its due day as late or early as horses have come so far, given that it
    has not come yet; low and high are the 2.5 % and 97.5 % points of the number of horses, each counted once. A horse
    overdue by as long as any has ever come late, or longer, is expected in no week: horses_beyond counts these.
    Sources: `pipelines.analyses.horse_losses`, `pipelines.stats.poisson_binomial`.
    """
    as_of = counts["as_of"]["as_of"][0]
    table = due_days(counts["rounds"], as_of)
    table = table.join(_chances(table, counts), on="horse_id", how="left", validate="1:1")
    table = _only_what_is_known(_with_shoes(table, counts))
    table = table.with_columns(
        note=pl.when(silent(as_of)).then(pl.lit("no visit for over 26 weeks: it may have left")).otherwise("note"),
        silent=silent(as_of),
    )
    return {
        "due_list": DueList.check(
            table.sort("silent", "due_on", "horse_id", nulls_last=True).select(*DueList.columns())
        ),
        "load_to_come": LoadToCome.check(_load(table.filter(~pl.col("silent")), counts["late"], as_of)),
    }


def _with_shoes(table: pl.DataFrame, counts: dict[str, pl.DataFrame]) -> pl.DataFrame:
    """Shoes on; not known where of one of them there has been no word for long."""
    worn = counts["shoes"].group_by("horse_id").agg(shoes_on=pl.col("shoes").sum().cast(pl.Int64))
    for part in (worn, counts["unheard"]):
        table = table.join(part, on="horse_id", how="left", validate="1:1")
    return table.with_columns(shoes_on=pl.when(pl.col("unheard").is_null()).then(pl.col("shoes_on").fill_null(0)))


def _only_what_is_known(table: pl.DataFrame) -> pl.DataFrame:
    """The chance where there is something to go by, and chance_note where there is not: no record can say 0."""
    shoe = pl.when(pl.col("unheard") == 1).then(pl.lit("1 shoe")).otherwise(pl.format("{} shoes", "unheard"))
    note = (
        pl.when(pl.col("unheard").is_not_null())
        .then(pl.format("no word of {} since {}", shoe, pl.col("unheard_since").dt.to_string("%-d %B %Y")))
        .when(pl.col("shoes_on") == 0)
        .then(None)
        .when(pl.col("due_on").is_null())
        .then(pl.lit("no day it is due, so none to reckon to"))
        .when(pl.col("chance_lost").is_null())
        .then(pl.lit("no other horse in its kind of work has lost a shoe, so nothing to go by"))
        .when(pl.col("chance_lost") <= 0)
        .then(pl.lit("no shoe has been lost in its kind of work to go by"))
    )
    return table.with_columns(chance_note=note).with_columns(
        chance_lost=pl.when(pl.col("chance_note").is_null()).then("chance_lost")
    )


def silent(as_of: object) -> pl.Expr:
    """Whether a horse was last seen so long before the as-of date that it may have left."""
    return (pl.lit(as_of) - pl.col("last_visit_on")).dt.total_days() > SILENT_DAYS


def due_days(rounds: pl.DataFrame, as_of: object) -> pl.DataFrame:
    """The day each horse is due after its round of `round_on`, how long ago that was, and what it goes by."""
    planned = (7 * pl.col("planned_weeks")).round()
    usual = pl.when(pl.col("intervals") >= ENOUGH_INTERVALS).then(pl.col("usual_days").round())
    days = pl.coalesce(planned, usual)
    due = pl.col("round_on") + pl.duration(days=days.cast(pl.Int64))
    return rounds.with_columns(
        due_on=due,
        days_overdue=(pl.lit(as_of) - due).dt.total_days(),
        note=pl.when(days.is_null())
        .then(pl.lit("no interval agreed, and too few of its own to go by"))
        .when(planned.is_null())
        .then(pl.format("no interval agreed: due by its own median of {} days", usual.cast(pl.Int64))),
    )


def _chances(table: pl.DataFrame, counts: dict[str, pl.DataFrame]) -> pl.DataFrame:
    """Chance of losing a shoe from now to the due day, or for 7 days where that is nearer or past."""
    hazard = hazard_by_age(counts)
    own = _ratios(table, counts, hazard)
    ahead = table.select(
        "horse_id", ahead=pl.max_horizontal(-pl.col("days_overdue"), pl.lit(LEAST_DAYS)).fill_null(LEAST_DAYS)
    )
    shoes = (
        counts["shoes"].sort("horse_id", "end", "age").join(ahead, on="horse_id", validate="m:1", maintain_order="left")
    )
    risk = [
        row["shoes"] * (hazard[row["end"]] @ days_in_bands(row["age"], row["age"] + row["ahead"]))
        for row in shoes.to_dicts()
    ]
    total = (
        shoes.with_columns(risk=pl.Series(risk, dtype=pl.Float64))
        .group_by("horse_id", maintain_order=True)
        .agg(pl.col("risk").sum())
    )
    return total.join(own, on="horse_id", validate="1:1").select(
        "horse_id", chance_lost=1 - (-pl.col("risk") * pl.col("own")).exp()
    )


def _ratios(table: pl.DataFrame, counts: dict[str, pl.DataFrame], hazard: dict[str, np.ndarray]) -> pl.DataFrame:
    """For each horse its peers' ratio times its own shrunk one; null where it has no peers."""
    found = horses.horse_losses(counts)["horse_losses"].select("horse_id", "expected", "shrunk_ratio")
    peers = peers_ratios(horse_sums(counts["cells"], hazard), found)
    own = (
        table.select("horse_id")
        .join(found, on="horse_id", how="left", validate="1:1")
        .join(peers, on="horse_id", how="left", validate="1:1")
    )
    return own.select("horse_id", own=pl.col("peers") * pl.col("shrunk_ratio").fill_null(1.0))


def _load(table: pl.DataFrame, late: pl.DataFrame, as_of: object) -> pl.DataFrame:
    """One row a week from the Monday of the day after the as-of date."""
    due = table.drop_nulls("due_on").sort("days_overdue")  # the same sums whatever the order of the rows
    if due.is_empty():
        return LoadToCome.empty()
    first = pl.select((pl.lit(as_of) + pl.duration(days=1)).dt.truncate("1w")).item()
    overdue = due["days_overdue"].to_numpy().astype(float)
    to_monday = pl.select((pl.lit(first) - pl.lit(as_of)).dt.total_days()).item()
    rows = list(_weeks(overdue, late.sort("days_late"), to_monday))
    starts = pl.date_range(first, first + pl.select(pl.duration(weeks=WEEKS_AHEAD - 1)).item(), "1w", eager=True)
    return pl.DataFrame(
        rows, schema=[name for name in LoadToCome.columns() if name != "starts_on"], orient="row"
    ).with_columns(starts_on=starts)


def _weeks(overdue: np.ndarray, late: pl.DataFrame, to_monday: int) -> Iterator[tuple]:
    """horses_due, horses_beyond, visits_expected, low, high, note of each week; lateness counts from the due day."""
    lateness, counts = late["days_late"].to_numpy(), late["intervals"].to_numpy()
    few = (
        None
        if counts.sum() >= ENOUGH_PLANS
        else f"fewer than {ENOUGH_PLANS} intervals with a plan to judge lateness by"
    )
    beyond = overdue >= lateness.max(initial=-np.inf)
    for week in range(WEEKS_AHEAD):
        begins, ends = to_monday + 7 * week, to_monday + 7 * week + 6
        is_due = -overdue <= ends if week == 0 else (-overdue >= begins) & (-overdue <= ends)
        if few:
            yield int(is_due.sum()), None, None, None, None, few
            continue
        chances = _chance_between(overdue + max(begins, 1), overdue + ends, overdue, lateness, counts)
        low, high = points(poisson_binomial(chances))
        yield int(is_due.sum()), int(beyond.sum()), float(chances.sum()), float(low), float(high), None


def _chance_between(
    start: np.ndarray, stop: np.ndarray, now: np.ndarray, lateness: np.ndarray, counts: np.ndarray
) -> np.ndarray:
    """Share of past lateness from start to stop days after the due day, among that above now; 0 where none is."""
    reached = np.concatenate([[0], np.cumsum(counts)])
    beyond = reached[-1] - reached[np.searchsorted(lateness, now, side="right")]
    within = (
        reached[np.searchsorted(lateness, stop, side="right")] - reached[np.searchsorted(lateness, start, side="left")]
    )
    return np.divide(within, beyond, out=np.zeros(len(now)), where=beyond > 0)
