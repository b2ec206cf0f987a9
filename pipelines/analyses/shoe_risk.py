"""What a shoe risks as it ages: the hazard that the interval guide and the due list share."""

import numpy as np
import polars as pl

from pipelines.analyses.horse_losses import BAND_ENDS, LARGE_SHARE, band_sums
from pipelines.stats.poisson import by_cluster_limits
from pipelines.stats.spread_losses import Bands, hazard_of_spread

ENDS = ("front", "hind")
BANDS = len(BAND_ENDS) + 1
AGES = Bands(np.array((*BAND_ENDS, np.inf)))
# A loss nobody reported lies between two days; the middle one would pile losses up where half an interval is.
SPREAD = "coalesce(end_reason = 'lost' and ended_on <> lost_by and lost_by - lost_after > 1, false)"
CALLED_WITHIN = 7
"""Days within which a farrier is called to a shoe that came off (common practice, no source)."""
# A visit made for a lost shoe that nobody gave the day of: its day hangs on the loss, so that the loss lies anywhere
# since nailing is no fair telling. Spread that wide, every such loss would fall on the first days, which all share.
CALLED = f"""exists (
    from accepted.visits calls where calls.horse_id = spells.horse_id and visit_date = lost_by
    and visit_kind = 'lost_shoe' and not exists (
        from accepted.losses told where told.horse_id = spells.horse_id
        and found_off between visit_date - {2 * CALLED_WITHIN} and visit_date))"""
COUNTS = {
    "ages": f"""
select "end", {band_sums()}
from derived.shoe_spells where not {SPREAD} group by all
""",
    "spread": f"""
select spells.horse_id, discipline, "end", round(7 * planned_weeks)::bigint as planned,
       (case when {CALLED} then greatest(lost_after, lost_by - {CALLED_WITHIN}) else lost_after end
        - fitted_on)::bigint as after, (lost_by - fitted_on)::bigint as by, count(*) as shoes
from derived.shoe_spells spells left join accepted.visits on visit_id = fitted_visit_id
where {SPREAD} group by all
""",
}
ENOUGH_LOSSES = 5
"""Bands of age that would hold fewer at the rate of all ages are taken together: one loss must make no step."""
WIDTH = ("after", "by", "shoes")
OWN_DAYS = 365.0
"""With fewer shoe-days of its own a horse goes by its kind of work: ages it has hardly reached say nothing of it."""


def hazard_by_age(counts: dict[str, pl.DataFrame]) -> dict[str, np.ndarray]:
    """Losses a shoe-day of each age band, front and hind apart, over all horses.

    counts: the parts COUNTS. A loss known only to lie between two days is spread over them by maximum likelihood
    (`stats.spread_losses`); one found at a call-out that nobody gave the day of, over the week before the call-out.
    From the first band on, bands are taken together until their shoe-days would bring 5 losses at the rate of all ages;
    what is left at the end goes with the last of these, so a band nobody was followed in has its rate.
    """
    rates = {}
    for end in ENDS:
        known, spread = (counts[part].filter(pl.col("end") == end) for part in ("ages", "spread"))
        losses, days = (_sums(known, part) for part in ("losses", "days"))
        after, by, shoes = (spread.sort("after", "by")[name].to_numpy().astype(float) for name in WIDTH)
        all_days = days + shoes @ AGES.days(np.zeros(len(after)), (after + by) / 2)
        group = _together(all_days * (losses.sum() + shoes.sum()) / max(all_days.sum(), 1.0))
        bands = Bands(np.array([AGES.stops[group == place][-1] for place in range(group[-1] + 1)]))
        events, time = (np.bincount(group, part) for part in (losses, days))
        rates[end] = hazard_of_spread(events, time, after, by, shoes, bands)[group]
    return rates


def _sums(cells: pl.DataFrame, part: str) -> np.ndarray:
    columns = [pl.col(f"{part}_{band}").sum() for band in range(BANDS)]
    return cells.select(columns).fill_null(0).to_numpy()[0].astype(float)


def _together(expected: np.ndarray) -> np.ndarray:
    """The group of each band, from 0."""
    group, held, at = np.zeros(BANDS, dtype=int), 0.0, 0
    for band in range(BANDS):
        if held >= ENOUGH_LOSSES and expected[band:].sum() >= ENOUGH_LOSSES:
            at, held = at + 1, 0.0
        group[band] = at
        held += expected[band]
    return group


def days_in_bands(start: float, stop: float) -> np.ndarray:
    """How many days of each band lie between two ages."""
    return AGES.days(np.array([start]), np.array([stop]))[0]


def horse_sums(cells: pl.DataFrame, hazard: dict[str, np.ndarray]) -> pl.DataFrame:
    """horse_id, discipline, losses, shoe_days, and `usual`: what its shoe-days would bring at the hazard of all."""
    usual = sum(
        pl.when(pl.col("end") == end).then(float(rate) * pl.col(f"days_{band}").fill_null(0)).otherwise(0.0)
        for end, rates in hazard.items()
        for band, rate in enumerate(rates)
    )
    return (
        cells.sort("horse_id", "discipline", "end")
        .group_by("horse_id", "discipline", maintain_order=True)
        .agg(
            losses=_over_bands("losses").sum(),
            shoe_days=_over_bands("days").sum().cast(pl.Float64),
            usual=usual.sum(),
        )
    )


def _over_bands(part: str) -> pl.Expr:
    return pl.sum_horizontal(pl.col(f"{part}_{band}").fill_null(0) for band in range(BANDS))


def work_ratios(sums: pl.DataFrame) -> pl.DataFrame:
    """Each discipline's losses over those its shoe-days would bring at the hazard of all → discipline, losses, ratio.

    low and high have horses as the units (`stats.poisson.by_cluster_limits`), blank with fewer than 5 horses or where
    one has most of the losses: they speak of a horse that is average for its work.
    """
    works = sums.group_by("discipline", maintain_order=True).agg(pl.col("losses", "usual").sum())
    group = sums.join(works.with_row_index("group"), on="discipline", how="left", maintain_order="left")["group"]
    limits = by_cluster_limits(
        sums["losses"].to_numpy().astype(float), sums["usual"].to_numpy(), group.to_numpy(), works.height
    )
    ratio = pl.when(pl.col("usual") > 0).then(pl.col("losses") / pl.col("usual"))
    return works.select(
        "discipline",
        "losses",
        ratio=ratio,
        ratio_low=pl.Series(limits[0]).fill_nan(None),
        ratio_high=pl.Series(limits[1]).fill_nan(None),
    )


def peers_ratios(sums: pl.DataFrame, expected: pl.DataFrame) -> pl.DataFrame:
    """For each horse the ratio of its peers to the hazard of all → horse_id, peers.

    expected: horse_id and expected, of `horse_losses`. It is expected/usual over the horse's own shoe-days, so that
    peers × its shrunk ratio brings over those days just what that ratio says. With under a year of shoe-days it is
    that of its kind of work, without the horse itself where it holds over a quarter of it. Null without peers.
    """
    joined = sums.join(expected.select("horse_id", "expected"), on="horse_id", how="left", validate="m:1")
    losses, usual, days = (pl.col(name).sum().over("discipline") for name in ("losses", "usual", "shoe_days"))
    is_large = pl.col("shoe_days") > LARGE_SHARE * days
    others = usual - is_large * pl.col("usual")
    of_work = pl.when(others > 0).then((losses - is_large * pl.col("losses")) / others)
    own = pl.when((pl.col("expected") > 0) & (pl.col("usual") > 0)).then(pl.col("expected") / pl.col("usual"))
    return joined.select("horse_id", peers=pl.when(pl.col("shoe_days") >= OWN_DAYS).then(own).otherwise(of_work))
