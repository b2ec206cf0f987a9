"""How often do shoes come off, and does it differ by discipline, foot, farrier, yard, season or style?"""

import polars as pl

from pipelines.analyses.splits import in_order, named, split
from pipelines.stats.poisson import clustered_rate_limits, exact_limits
from schemas.results import LossRates

DIMENSIONS = named("discipline", "pace", "foot", "end", "farrier", "yard", "season", "shoe_style")

# Sums of squares over horses are all that the clustered limits need of a horse, and they add up as counts do.
COUNTS = {
    "rates": f"""
with by_horse as (
{
        split(
            DIMENSIONS,
            "horse_id, count(*) as shoes, count(*) filter (end_reason = 'lost') as losses, "
            "sum(case when days_on = 0 then 0.5::double else days_on end) as shoe_days",
            "derived.shoe_spells",
        )
    }
)
select dimension, level, count(*) as horses, sum(shoes)::bigint as shoes, sum(losses)::bigint as losses,
       sum(shoe_days) as shoe_days, sum(losses * losses)::double as losses_squared,
       sum(losses * shoe_days) as losses_times_days, sum(shoe_days * shoe_days) as days_squared
from by_horse group by all
"""
}


def loss_rates(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """Losses per 1,000 shoe-days with exact and horse-clustered limits → `loss_rates`.

    Days with a shoe on are the exposure, so a shoe still on adds days and no loss; a shoe of 0 days adds half a day.
    The clustered limits are blank below 2 losses or 2 horses. Sources: `pipelines.stats.poisson`.
    """
    rates = in_order(counts["rates"], DIMENSIONS)
    losses, days = rates["losses"].to_numpy(), rates["shoe_days"].to_numpy()
    low, high = exact_limits(losses)
    sums = (rates[name].to_numpy() for name in ("losses_squared", "losses_times_days", "days_squared"))
    low_clustered, high_clustered = clustered_rate_limits(rates["horses"].to_numpy(), losses, days, *sums)
    rates = rates.drop("losses_squared", "losses_times_days", "days_squared").with_columns(
        per_1000_days=1000 * pl.col("losses") / pl.col("shoe_days"),
        low=pl.Series(1000 * low / days),
        high=pl.Series(1000 * high / days),
        low_clustered=pl.Series(1000 * low_clustered).fill_nan(None),
        high_clustered=pl.Series(1000 * high_clustered).fill_nan(None),
        per_100_shoes=100 * pl.col("losses") / pl.col("shoes"),
        note=_note(),
    )
    return {"loss_rates": LossRates.check(rates)}


def _note() -> pl.Expr:
    return (
        pl.when(pl.col("losses") < 2)
        .then(pl.lit("fewer than 2 losses: the range leaves out that a horse that lost one shoe loses more"))
        .when(pl.col("horses") < 2)
        .then(pl.lit("one horse only: the range says nothing about other horses"))
    )
