"""How often do shoes come off, and does it differ by discipline, foot, farrier, yard, season or style?"""

import numpy as np
import polars as pl

from pipelines.analyses.splits import FEWEST_HORSES, NO_RANGE, in_order, named, split
from pipelines.stats.median_unbiased import rate_shift
from pipelines.stats.poisson import by_cluster_limits, clustered_rate_limits, exact_limits
from schemas.results import LossRates

DIMENSIONS = named("discipline", "pace", "foot", "end", "farrier", "yard", "season", "shoe_style")

# One row a horse in each level: the limits that take horses as the sampling units need each of them.
COUNTS = {
    "horses": split(
        DIMENSIONS,
        "horse_id, count(*) as shoes, count(*) filter (end_reason = 'lost') as losses, "
        "sum(case when days_on = 0 then 0.5::double else days_on end) as shoe_days",
        "derived.shoe_spells",
    )
}
KEY = ("dimension", "level")


def loss_rates(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """Losses per 1,000 shoe-days with exact and horse-clustered limits → `loss_rates`.

    Days with a shoe on are the exposure, so a shoe still on adds days and no loss; a shoe of 0 days adds half a day.
    The clustered limits are blank below 2 losses or 2 horses. low_left_out and high_left_out come from leaving each
    horse out in turn, and hold the truth more often where horses are few; blank with fewer than 5, or where one has
    most of the losses. per_1000_median_unbiased is the rate set to fall above the truth as often as below, since that
    of few horses is mostly a little low and now and then far too high; blank without losses or with under 5 horses.
    Sources: `pipelines.stats.poisson`, `median_unbiased`.
    """
    horses = counts["horses"].sort(*KEY, "horse_id")
    rates = in_order(_summed(horses), DIMENSIONS)
    losses, days = rates["losses"].to_numpy(), rates["shoe_days"].to_numpy()
    sums = (rates[name].to_numpy() for name in ("losses_squared", "losses_times_days", "days_squared"))
    group = horses.join(rates.with_row_index("group"), on=KEY, how="left", maintain_order="left")["group"].to_numpy()
    each = (horses["losses"].to_numpy(), horses["shoe_days"].to_numpy())
    limits = {
        "": [part / days for part in exact_limits(losses)],
        "_clustered": clustered_rate_limits(rates["horses"].to_numpy(), losses, days, *sums),
        "_left_out": by_cluster_limits(*each, group, rates.height),
    }
    rates = rates.with_columns(
        per_1000_days=1000 * pl.col("losses") / pl.col("shoe_days"),
        per_100_shoes=100 * pl.col("losses") / pl.col("shoes"),
        **{
            f"{name}{kind}": pl.Series(1000 * part).fill_nan(None)
            for kind, both in limits.items()
            for name, part in zip(("low", "high"), both, strict=True)
        },
    )
    shift = rate_shift(*each, group, rates.height, rates["dimension"].rle_id().cast(pl.Int64).to_numpy())
    middle = pl.col("per_1000_days") * pl.Series(np.exp(shift)).fill_nan(None)
    rates = rates.with_columns(
        per_1000_median_unbiased=pl.when(pl.col("horses") >= FEWEST_HORSES).then(middle), note=_note()
    )
    return {"loss_rates": LossRates.check(rates.select(*LossRates.columns()))}


def _summed(horses: pl.DataFrame) -> pl.DataFrame:
    """Each level's sums over horses, and the sums of squares that the clustered limits need."""
    losses, days = pl.col("losses"), pl.col("shoe_days")
    return horses.group_by(KEY, maintain_order=True).agg(
        horses=pl.len().cast(pl.Int64),
        shoes=pl.col("shoes").sum(),
        losses=losses.sum(),
        shoe_days=days.sum(),
        losses_squared=(losses * losses).sum().cast(pl.Float64),
        losses_times_days=(losses * days).sum(),
        days_squared=(days * days).sum(),
    )


def _note() -> pl.Expr:
    return (
        pl.when(pl.col("losses") < 2)
        .then(pl.lit("fewer than 2 losses: the range leaves out that a horse that lost one shoe loses more"))
        .when(pl.col("horses") < 2)
        .then(pl.lit("one horse only: the range says nothing about other horses"))
        .when(pl.col("low_left_out").is_null())
        .then(pl.lit(NO_RANGE))
    )
