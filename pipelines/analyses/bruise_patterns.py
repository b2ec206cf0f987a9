"""Does a bruise come back where it was, and do both front feet bruise together?"""

import numpy as np
import polars as pl

from pipelines.analyses.splits import FEWEST_HORSES, in_order, named, split
from pipelines.stats.clustered_proportion import clustered_proportion_limits
from pipelines.stats.poisson import left_out_rate_limits
from pipelines.stats.together import times_chance
from schemas.results import BothFronts, BruiseReturns

RETURNS = named("discipline", "end") | {"site": "site_from"}
FRONTS = named("discipline")
SIDES = ("hits", "lefts", "rights", "trials")
AGAINST_CHANCE = ("ratio", "ratio_low", "ratio_high", "own_ratio", "own_ratio_low", "own_ratio_high")
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
    "fronts": split(
        FRONTS,
        "horse_id, sum(bruised_left * bruised_right)::bigint as hits, count(*) as trials, "
        "sum(bruised_left)::bigint as lefts, sum(bruised_right)::bigint as rights",
        _PAIRS,
    ),
}


def bruise_patterns(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """Bruises found again at the same site → `bruise_returns`; looks with both fronts bruised → `both_fronts`.

    share_by_chance is the share if the second site, or the other foot, had nothing to do with the first: the product
    of the two margins, summed over sites. Limits of shares have horses as the sampling units, on the logit. ratio: both
    bruised over what that chance brings; own_ratio: over the same within each horse, Σ lefts·rights/looks, which leaves
    out that some horses bruise more than others. Their limits come from leaving each horse out in turn. Below 5 horses
    there are none. Sources: `pipelines.stats.clustered_proportion`, `together`, `poisson`.
    """
    returns = in_order(_limits(counts["returns"]), RETURNS).join(
        _by_chance(counts["sites"]), on=["dimension", "level"], how="left", validate="1:1", maintain_order="left"
    )
    fronts = in_order(_fronts(counts["fronts"]), FRONTS)
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
    ).with_columns(
        pl.when(pl.col("horses") >= FEWEST_HORSES).then(pl.col("low", "high")),
        note=pl.when(pl.col("horses") < FEWEST_HORSES)
        .then(pl.lit(f"fewer than {FEWEST_HORSES} horses: no limits"))
        .when(share.is_in([0.0, 1.0]))
        .then(pl.lit("none or all: no limits")),
    )


def _fronts(horses: pl.DataFrame) -> pl.DataFrame:
    """One row a level from one row a horse in it."""
    horses = horses.sort("dimension", "level", "horse_id")
    hits, trials = pl.col("hits"), pl.col("trials")
    levels = horses.group_by("dimension", "level", maintain_order=True).agg(
        pl.len().cast(pl.Int64).alias("horses"),
        pl.col("hits", "trials", "lefts", "rights").sum(),
        hits_squared=(hits * hits).sum(),
        hits_times_trials=(hits * trials).sum(),
        trials_squared=(trials * trials).sum(),
    )
    told = _limits(levels).with_columns(
        one_bruised=pl.col("lefts") + pl.col("rights") - 2 * hits,
        share_by_chance=pl.col("lefts") * pl.col("rights") / trials**2,
        **{name: pl.Series(values, dtype=pl.Float64) for name, values in _against_chance(horses, levels).items()},
    )
    limits = ("ratio_low", "ratio_high", "own_ratio_low", "own_ratio_high")
    return told.with_columns(pl.when(pl.col("horses") >= FEWEST_HORSES).then(pl.col(*limits))).fill_nan(None)


def _against_chance(horses: pl.DataFrame, levels: pl.DataFrame) -> dict[str, np.ndarray]:
    """Both bruised over what chance brings, over all looks of a level and within each of its horses."""
    both, lefts, rights, trials = (horses[name].to_numpy().astype(float) for name in SIDES)
    group = (horses.select(pl.struct("dimension", "level").rle_id()).to_series()).to_numpy().astype(np.int64)
    ratio, low, high = times_chance(both, lefts, rights, trials, group, levels.height)
    expected = lefts * rights / trials
    own_low, own_high = left_out_rate_limits(both, expected, group, levels.height)
    with np.errstate(divide="ignore", invalid="ignore"):
        own = np.bincount(group, both, levels.height) / np.bincount(group, expected, levels.height)
    figures = (ratio, low, high, own, own_low, own_high)
    return dict(zip(AGAINST_CHANCE, figures, strict=True))


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
