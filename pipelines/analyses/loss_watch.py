"""Is a bad run of lost shoes under way, or is it the luck of the month?"""

import numpy as np
import polars as pl

from pipelines.stats.cusum import control_limits, cusum, threshold_for
from schemas.results import LossWatch

BAND_ENDS = (7, 14, 28, 42, 56, 84)
FALSE_ALARM_MONTHS = 120
"""The threshold is set so that chance alone signals once in ten years of months like these."""
FEWEST_MONTHS, FEWEST_LOSSES = 6, 10

_BANDS = ", ".join(
    f"({band}, {start}, {stop})"
    for band, (start, stop) in enumerate(zip((0, *BAND_ENDS), (*BAND_ENDS, 1_000_000), strict=True))
)

# Day k of a shoe's age is the calendar day fitted_on + k; a shoe of 0 days spends its half day on the day of fitting.
COUNTS = {
    "months": f"""
with pieces as (
    select discipline, "end", band, fitted_on, ended_on, days_on, end_reason = 'lost' as was_lost,
           fitted_on + start::integer as piece_start,
           fitted_on + least(stop, days_on)::integer as piece_stop
    from derived.shoe_spells, (values {_BANDS}) bands(band, start, stop)
    where days_on > start or (days_on = 0 and start = 0)
), monthly as (
    select *, unnest(generate_series(
               date_trunc('month', piece_start + (days_on > 0)::integer)::date::timestamp,
               piece_stop::timestamp, interval 1 month))::date as starts_on
    from pieces
)
select starts_on, discipline, "end", band,
       sum(case when days_on = 0 then 0.5::double
           else least(piece_stop, last_day(starts_on)) - greatest(piece_start, starts_on - 1) end) as shoe_days,
       count(*) filter (was_lost and piece_stop = ended_on and date_trunc('month', ended_on) = starts_on) as losses
from monthly group by all
"""
}


def loss_watch(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """Losses by calendar month beside those expected, and a CUSUM for a doubling → `loss_watch`.

    expected: the month's shoe-days at this record's own rates by age band, discipline and end, so a month is compared
    with the practice's own average and the mix of its work; the season is not taken out. low and high: exact points
    of chance for the month. The sum signals at a threshold that chance alone reaches once in 120 months of the mean
    expected number; it then starts anew. A month may still be under way. Source: `pipelines.stats.cusum`.
    """
    cells = counts["months"].sort("starts_on", "discipline", "end", "band")
    if cells.is_empty():
        return {"loss_watch": LossWatch.empty()}
    group = ("discipline", "end", "band")
    rate = pl.col("losses").sum().over(group) / pl.col("shoe_days").sum().over(group)
    months = (
        cells.with_columns(expected=rate * pl.col("shoe_days"))
        .group_by("starts_on", maintain_order=True)
        .agg(pl.col("losses", "shoe_days", "expected").sum())
        .sort("starts_on")
    )
    watched = months.height >= FEWEST_MONTHS and months["losses"].sum() >= FEWEST_LOSSES
    return {"loss_watch": LossWatch.check((_watched if watched else _too_short)(months))}


def _watched(months: pl.DataFrame) -> pl.DataFrame:
    losses, expected = months["losses"].to_numpy(), months["expected"].to_numpy()
    # Rounded so that the threshold, dear to find, changes only when the practice does.
    threshold = threshold_for(FALSE_ALARM_MONTHS, float(np.round(expected.mean(), 1)) or 0.1)
    watch = cusum(losses, expected, threshold)
    low, high = control_limits(expected)
    return months.with_columns(
        low=pl.Series(low),
        high=pl.Series(high),
        cusum=pl.Series(watch.cusum),
        threshold=pl.lit(threshold),
        signal=pl.Series(watch.signal),
        note=pl.lit(None, pl.String),
    )


def _too_short(months: pl.DataFrame) -> pl.DataFrame:
    why = f"too little to watch: it takes {FEWEST_MONTHS} months and {FEWEST_LOSSES} losses"
    blank = {name: pl.lit(None) for name in ("low", "high", "cusum", "threshold", "signal")}
    return months.with_columns(**blank, note=pl.lit(why))
