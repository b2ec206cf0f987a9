"""Which bruises come back, and does it differ by foot, site, sole relief or style of shoe?"""

from itertools import combinations_with_replacement

import numpy as np
import polars as pl

from pipelines.analyses.splits import in_order, named, split, yes_or_no
from pipelines.stats.clustered_proportion import clustered_proportion_limits, clustered_ratio_limits
from schemas.results import BruiseRecurrence

NAMED = named("discipline", "foot", "end", "shoe_style", "interval_band") | {"sole_relief": yes_or_no("sole_relief")}
SITE = {"site": "site_from"}
DIMENSIONS = (*NAMED, *SITE)

# Of each horse, in this order: bruised again, looks at a bruise, newly bruised, looks at a clear foot.
SUMS = ("bruised_to_bruised", "steps_bruised", "clear_to_bruised", "steps_clear")
PAIRS = tuple(combinations_with_replacement(range(4), 2))

_PER_HORSE = "horse_id, count(distinct foot) as feet, " + ", ".join(f"sum({name})::bigint as {name}" for name in SUMS)
_PRODUCTS = ",\n       ".join(f"sum({SUMS[i]} * {SUMS[j]})::double as product_{i}_{j}" for i, j in PAIRS)

# Weeks of the interval between the two looks: up to 4, 6, 8, and more. Two looks that a call-out or a visit without a
# look sets apart tell nothing of how long an interval was.
_BAND = """case when not one_interval then 'not one interval' when days <= 28 then '4 weeks or less'
    when days <= 42 then '4 to 6 weeks' when days <= 56 then '6 to 8 weeks' else 'over 8 weeks' end"""

# One pass over the steps, then all dimensions from what is left. A clear foot has no site, so only steps from a
# bruise are split by it.
COUNTS = {
    "steps": f"""
with cells as materialized (
    select horse_id, foot, discipline, "end", sole_relief, shoe_style, {_BAND} as interval_band,
           site_from, bruise_from >= 1 as bruised,
           count(*) filter (bruised and bruise_to >= 1) as bruised_to_bruised,
           count(*) filter (bruised) as steps_bruised,
           count(*) filter (not bruised and bruise_to >= 1) as clear_to_bruised,
           count(*) filter (not bruised) as steps_clear
    from derived.bruise_steps group by all
),
by_horse as (
{split(NAMED, _PER_HORSE, "cells")}
union all
{split(SITE, _PER_HORSE, "cells where bruised")}
)
select dimension, level, count(*) as horses, count(*) filter (steps_bruised > 0) as horses_bruised,
       sum(feet)::bigint as feet, {", ".join(f"sum({name})::bigint as {name}" for name in SUMS)},
       {_PRODUCTS}
from by_horse group by all
"""
}


def bruising(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """Chance of a new bruise and of a bruise coming back, from one look to the next → `bruise_recurrence`.

    Bruised is grade 1 or more; feet not looked at are passed over. Limits have horses as the sampling units and are
    blank where they cannot be had, with the reason in the note. Sources: `pipelines.stats.clustered_proportion`.
    """
    steps = in_order(counts["steps"], DIMENSIONS)
    again_low, again_high = clustered_proportion_limits(
        *(steps[name].to_numpy() for name in ("horses_bruised", *SUMS[:2], "product_0_0", "product_0_1", "product_1_1"))
    )
    ratio_low, ratio_high = clustered_ratio_limits(steps["horses"].to_numpy(), *_moments(steps))
    new, again = _chance("clear_to_bruised", "steps_clear"), _chance("bruised_to_bruised", "steps_bruised")
    table = steps.with_columns(
        chance_new=new,
        chance_again=again,
        again_low=pl.Series(again_low).fill_nan(None),
        again_high=pl.Series(again_high).fill_nan(None),
        ratio=pl.when(new > 0).then(again / new),
        ratio_low=pl.Series(ratio_low).fill_nan(None),
        ratio_high=pl.Series(ratio_high).fill_nan(None),
    ).with_columns(note=_note())
    return {"bruise_recurrence": BruiseRecurrence.check(table.select(*BruiseRecurrence.columns()))}


def _moments(steps: pl.DataFrame) -> tuple[np.ndarray, np.ndarray]:
    products = np.empty((steps.height, 4, 4))
    for i, j in PAIRS:
        products[:, i, j] = products[:, j, i] = steps[f"product_{i}_{j}"].to_numpy()
    return steps.select(SUMS).to_numpy(), products


def _chance(hits: str, trials: str) -> pl.Expr:
    return pl.when(pl.col(trials) > 0).then(pl.col(hits) / pl.col(trials))


def _note() -> pl.Expr:
    reasons = (
        (pl.col("steps_bruised") == 0, "no bruise was looked at again"),
        (pl.col("horses_bruised") < 2, "bruises of one horse only: no limits"),
        (pl.col("chance_again").is_in([0.0, 1.0]), "none or all came back: no limits"),
        (pl.col("dimension") == "site", "a clear foot has no site: only the chance of coming back"),
        (pl.col("clear_to_bruised") == 0, "no new bruise was seen: no ratio"),
    )
    return pl.coalesce(pl.when(when).then(pl.lit(why)) for when, why in reasons)
