"""Does a bruise come back where it was, and do both front feet bruise together?"""

import polars as pl

from pipelines.analyses.splits import in_order, named, split
from pipelines.stats.clustered_proportion import clustered_proportion_limits
from schemas.results import BothFronts, BruiseReturns

RETURNS = named("discipline", "end") | {"site": "site_from"}
FRONTS = named("discipline")
SUMS = ("horses", "hits", "trials", "hits_squared", "hits_times_trials", "trials_squared")

_CLUSTERED = """count(*) as horses, sum(hits)::bigint as hits, sum(trials)::bigint as trials,
       sum(hits * hits)::double as hits_squared, sum(hits * trials)::double as hits_times_trials,
       sum(trials * trials)::double as trials_squared"""
_RETURNS = """(
    select * from derived.bruise_steps
    where bruise_from >= 1 and bruise_to >= 1 and site_from is not null and site_to is not null
)"""
_PAIRS = """(
    select v.horse_id, h.discipline, (max(bruise_grade) filter (foot = 'LF') >= 1)::integer as bruised_left,
           (max(bruise_grade) filter (foot = 'RF') >= 1)::integer as bruised_right
    from accepted.feet f join accepted.visits v using (visit_id) join accepted.horses h using (horse_id)
    where v.visit_date <= getvariable('as_of')::date group by v.horse_id, h.discipline, f.visit_id
    having bruised_left is not null and bruised_right is not null
)"""

# Sums of squares over horses are all that the limits need of a horse, and they add up as counts do.
COUNTS = {
    "returns": f"""
with by_horse as (
{split(RETURNS, "horse_id, count(*) filter (site_from = site_to) as hits, count(*) as trials", _RETURNS)}
)
select dimension, level, {_CLUSTERED} from by_horse group by all
""",
    "sites": split(RETURNS, "site_from, site_to, count(*) as returns", _RETURNS),
    "fronts": f"""
with by_horse as (
{
        split(
            FRONTS,
            "horse_id, sum(bruised_left * bruised_right) as hits, count(*) as trials, sum(bruised_left) as lefts, "
            "sum(bruised_right) as rights",
            _PAIRS,
        )
    }
)
select dimension, level, {_CLUSTERED}, sum(lefts)::bigint as lefts, sum(rights)::bigint as rights
from by_horse group by all
""",
}


def bruise_patterns(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """Bruises found again at the same site → `bruise_returns`; looks with both fronts bruised → `both_fronts`.

    share_by_chance is the share if the second site, or the other foot, had nothing to do with the first: the product
    of the two margins, summed over sites. Limits have horses as the sampling units, on the logit.
    Source: `pipelines.stats.clustered_proportion`.
    """
    returns = in_order(_limits(counts["returns"]), RETURNS).join(
        _by_chance(counts["sites"]), on=["dimension", "level"], how="left", validate="1:1", maintain_order="left"
    )
    fronts = in_order(_limits(counts["fronts"]), FRONTS).with_columns(
        one_bruised=pl.col("lefts") + pl.col("rights") - 2 * pl.col("hits"),
        share_by_chance=pl.col("lefts") * pl.col("rights") / pl.col("trials") ** 2,
    )
    as_returns = {"hits": "same_site", "trials": "returns", "share": "same_share"}
    as_fronts = {"hits": "both_bruised", "trials": "pair_looks", "share": "both_share"}
    return {
        "bruise_returns": BruiseReturns.check(returns.rename(as_returns).select(*BruiseReturns.columns())),
        "both_fronts": BothFronts.check(fronts.rename(as_fronts).select(*BothFronts.columns())),
    }


def _limits(sums: pl.DataFrame) -> pl.DataFrame:
    low, high = clustered_proportion_limits(*(sums[name].to_numpy() for name in SUMS))
    share = pl.col("hits") / pl.col("trials")
    return sums.with_columns(
        share=share,
        low=pl.Series(low, dtype=pl.Float64).fill_nan(None),
        high=pl.Series(high, dtype=pl.Float64).fill_nan(None),
        note=pl.when(pl.col("horses") < 2)
        .then(pl.lit("one horse only: no limits"))
        .when(share.is_in([0.0, 1.0]))
        .then(pl.lit("none or all: no limits")),
    )


def _by_chance(sites: pl.DataFrame) -> pl.DataFrame:
    """Sum over sites of the share of first bruises there times the share of second ones; blank by site itself."""
    key = ["dimension", "level"]
    total = pl.col("returns").sum()
    first = sites.group_by(*key, site="site_from").agg(first=total)
    second = sites.group_by(*key, site="site_to").agg(second=total)
    whole = sites.group_by(key).agg(whole=total)
    both = (
        first.join(second, on=[*key, "site"], validate="1:1")
        .group_by(key)
        .agg(met=(pl.col("first") * pl.col("second")).sum())
    )
    found = whole.join(both, on=key, how="left", validate="1:1").with_columns(pl.col("met").fill_null(0))
    chance = pl.when(pl.col("dimension") != "site").then(pl.col("met") / pl.col("whole") ** 2)
    return found.select(*key, share_by_chance=chance)
