"""Which horses lose more shoes than others that do the same work?"""

import numpy as np
import polars as pl

from pipelines.stats.funnel import chance_above, dispersion, funnel_edges, funnel_place, spread_edges
from pipelines.stats.gamma_poisson import Spread, gamma_poisson, shrunk
from pipelines.stats.poisson import chance_of_as_many, exact_limits
from schemas.results import FunnelBands, HorseLosses, HorseSpread

# Bands of shoe age in days, left end excluded, right end included; the last one has no end.
BAND_ENDS = (7, 14, 28, 42, 56, 84)
LARGE_SHARE = 0.25
# With fewer other horses, or fewer losses among them, what is expected is a guess itself.
FEWEST_PEERS, FEWEST_LOSSES = 3, 5
BAND_POINTS = 80
# The first alarm of a national joint registry: Australian Orthopaedic Association National Joint Replacement Registry,
# on prosthesis performance (aoanjrr.sahmri.com).
ALARM_RATIO, ALARM_CHANCE, ALARM_SHOES = 2, 0.05, 10
SHRUNK = ("shrunk_ratio", "shrunk_low", "shrunk_high", "chance_above_double")
# Peers, and where a horse has none of those, the next.
PEERS = (("discipline", "end", "band"), ("discipline", "end"), ("discipline",))


def band_sums() -> str:
    """Shoe-days and losses of each age band. A shoe of 0 days spends its half day in the first band."""
    sums = []
    for band, (start, stop) in enumerate(zip((0, *BAND_ENDS), (*BAND_ENDS, 1_000_000), strict=True)):
        days = f"least(days_on, {stop}) - {start}"
        within = f"days_on > {start}" if band else "days_on >= 0"
        half = "case when days_on = 0 then 0.5::double else least(days_on, 7) end"
        sums.append(f"sum({half if band == 0 else days}) filter ({within})::double as days_{band}")
        sums.append(f"count(*) filter (end_reason = 'lost' and {within} and days_on <= {stop}) as losses_{band}")
    return ",\n       ".join(sums)


COUNTS = {
    "cells": f"""
select horse_id, discipline, "end", count(*) as shoes,
       {band_sums()}
from derived.shoe_spells group by all
""",
    "names": """
select horse_id, horse_name, discipline from accepted.horses
where horse_id in (select horse_id from derived.shoe_spells)
""",
}


def horse_losses(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """Losses of each horse beside those its shoe-days would bring at its peers' rate → `horse_losses`; the
    edges of the funnel over the range of expected losses → `funnel_bands`; how far horses differ → `horse_spread`.

    Peers are the shoes of one age band, discipline and end. A horse that holds over a quarter of the shoe-days of
    such a group is left out of its own peers there. Where it then has none, the rate over all ages of that discipline
    and end stands in, or over the discipline; where there is none either, nothing is expected and the note says so.
    ratio has exact limits; funnel is the place of losses among the exact points of a Poisson count of mean `expected`.
    shrunk_ratio and the three after it are what is believed of the horse's own ratio once all are seen (gamma-Poisson,
    plug-in); the rows stand in its order. first_alarm is a registry's rule, shown beside ours. few_peers: fewer than 3
    other horses of the discipline, or fewer than 5 losses of theirs; such a horse is in no count of `horse_spread`.
    Sources: `pipelines.stats.gamma_poisson`, `funnel` and `poisson`.
    """
    expected = (
        beside_peers(counts["cells"])
        .group_by("horse_id", maintain_order=True)
        .agg(
            pl.col("losses", "shoe_days").sum(),
            expected=pl.when(pl.col("expected").null_count() == 0).then(pl.col("expected").sum()),
            widened=pl.col("widened").any(),
        )
    )
    shoes = counts["cells"].group_by("horse_id").agg(pl.col("shoes").sum())
    horses = counts["names"].join(shoes, on="horse_id", validate="1:1").join(expected, on="horse_id", validate="1:1")
    horses = horses.sort("horse_id")
    spread = _spread(horses)
    judged = _judged(horses, spread).sort(
        -pl.col("shrunk_ratio").fill_null(-1), -pl.col("ratio").fill_null(-1), "horse_id"
    )
    table = judged.join(_peers(counts["cells"]), on="horse_id", validate="1:1", maintain_order="left").select(
        *HorseLosses.columns()
    )
    return {
        "horse_losses": HorseLosses.check(table),
        "funnel_bands": FunnelBands.check(_bands(table, spread)),
        "horse_spread": HorseSpread.check(_counted(table, spread)),
    }


def _peers(cells: pl.DataFrame) -> pl.DataFrame:
    """Of each horse, how many others do its work and how many shoes they lost."""
    horses = cells.group_by("horse_id", "discipline").agg(
        losses=pl.sum_horizontal(pl.col(f"losses_{band}").sum() for band in range(len(BAND_ENDS) + 1))
    )
    peers, losses = (pl.len() - 1).over("discipline"), pl.col("losses").sum().over("discipline") - pl.col("losses")
    return horses.select(
        "horse_id",
        peers=peers.cast(pl.Int64),
        peer_losses=losses.cast(pl.Int64),
        few_peers=(peers < FEWEST_PEERS) | (losses < FEWEST_LOSSES),
    )


def beside_peers(cells: pl.DataFrame) -> pl.DataFrame:
    """losses, shoe_days and expected of each horse, discipline, end and age band (`band`). cells: the part `cells`."""
    return _expected(_by_band(cells.sort("horse_id", "discipline", "end")))


def _by_band(wide: pl.DataFrame) -> pl.DataFrame:
    """One row a horse, end and band with at least some shoe-days."""
    bands = [
        wide.select(
            "horse_id",
            "discipline",
            "end",
            band=pl.lit(band),
            losses=pl.col(f"losses_{band}"),
            shoe_days=pl.col(f"days_{band}"),
        )
        for band in range(len(BAND_ENDS) + 1)
    ]
    return pl.concat(bands).filter(pl.col("shoe_days") > 0)


def _expected(cells: pl.DataFrame) -> pl.DataFrame:
    rates = {f"rate_{place}": _peers_rate(group) for place, group in enumerate(PEERS)}
    return cells.with_columns(**rates).with_columns(
        expected=pl.col("shoe_days") * pl.coalesce(*rates), widened=pl.col("rate_0").is_null()
    )


def _peers_rate(group: tuple[str, ...]) -> pl.Expr:
    """Losses a shoe-day of the group, without the horse's own where it holds over a quarter; null with no peers."""
    losses, days = (pl.col(name).sum().over(*group) for name in ("losses", "shoe_days"))
    own_losses, own_days = (pl.col(name).sum().over("horse_id", *group) for name in ("losses", "shoe_days"))
    is_large = own_days > LARGE_SHARE * days
    losses, days = losses - is_large * own_losses, days - is_large * own_days
    return pl.when(days > 0).then(losses / days)


def _judged(horses: pl.DataFrame, spread: Spread | None) -> pl.DataFrame:
    """The horses with ratio, limits, funnel and note; those without an expected number keep blanks."""
    compared = horses.filter(pl.col("expected") > 0)
    losses, expected = compared["losses"].to_numpy(), compared["expected"].to_numpy()
    low, high = exact_limits(losses)
    compared = compared.with_columns(
        ratio=pl.col("losses") / pl.col("expected"),
        ratio_low=pl.Series(low / expected),
        ratio_high=pl.Series(high / expected),
        funnel=pl.Series(funnel_place(losses, expected).tolist(), dtype=pl.String),
        first_alarm=(pl.col("losses") > ALARM_RATIO * pl.col("expected"))
        & (pl.col("shoes") >= ALARM_SHOES)
        & pl.Series(chance_of_as_many(losses, expected) < ALARM_CHANCE),
        note=pl.when("widened").then(
            pl.lit("some shoe-days have no peers of that age and end: a wider rate of the discipline there")
        ),
    )
    others = horses.filter((pl.col("expected") > 0).fill_null(False).not_()).with_columns(
        note=pl.when(pl.col("expected").is_null())
        .then(pl.lit("no other horse of this discipline to compare with"))
        .otherwise(pl.lit("none of the peers lost a shoe, so there is no ratio"))
    )
    return pl.concat([_shrunk(compared, spread), others], how="diagonal")


def _shrunk(compared: pl.DataFrame, spread: Spread | None) -> pl.DataFrame:
    """The horses with their ratio drawn to that of all by how little is known of each."""
    losses, expected = compared["losses"].to_numpy(), compared["expected"].to_numpy()
    if spread is None:
        lost_none = pl.lit("no horse with peers lost a shoe, so nothing is known of how they differ")
        blank = dict.fromkeys(SHRUNK, pl.lit(None, pl.Float64))
        return compared.with_columns(**blank, note=_also(lost_none))
    belief = dict(zip(SHRUNK, shrunk(spread, losses, expected), strict=True))
    alike = pl.lit("horses differ no more than chance alone would make them, so all are given one ratio")
    note = _also(alike) if np.isinf(spread.shape) else pl.col("note")
    return compared.with_columns(**{name: pl.Series(values) for name, values in belief.items()}, note=note)


def _also(reason: pl.Expr) -> pl.Expr:
    return pl.concat_str("note", reason, separator="; ", ignore_nulls=True)


def _spread(horses: pl.DataFrame) -> Spread | None:
    """How the true ratios of the horses spread, as far as that can be told."""
    known = horses.filter(pl.col("expected") > 0)
    return gamma_poisson(known["losses"].to_numpy(), known["expected"].to_numpy()) if known.height else None


def _bands(horses: pl.DataFrame, spread: Spread | None) -> pl.DataFrame:
    expected = horses.filter(pl.col("expected") > 0)["expected"]
    if expected.is_empty():
        return FunnelBands.empty()
    points = np.unique(np.geomspace(expected.min(), expected.max(), BAND_POINTS))
    differ = spread_edges(points, spread.shape, spread.rate) if spread else {}
    blank = dict.fromkeys(("low_95_spread", "high_95_spread"))
    return pl.DataFrame(
        {"expected": points} | funnel_edges(points) | blank | differ, schema=FunnelBands.dtypes(), strict=False
    )


def _counted(horses: pl.DataFrame, spread: Spread | None) -> pl.DataFrame:
    """How many horses lie above the funnel, how many chance alone would put there, and how far they scatter."""
    told = horses.filter((pl.col("expected") > 0) & ~pl.col("few_peers")).sort("horse_id")
    if told.is_empty():
        return HorseSpread.empty()
    losses, expected = told["losses"].to_numpy(), told["expected"].to_numpy()
    chance_95, chance_998 = chance_above(expected)
    beyond = spread is not None and np.isfinite(spread.shape)
    row = {
        "horses": told.height,
        "above_95": told["funnel"].is_in(["above_95", "above_998"]).sum(),
        "above_998": told["funnel"].eq("above_998").sum(),
        "chance_above_95": chance_95,
        "chance_above_998": chance_998,
        "first_alarms": told["first_alarm"].sum(),
        "dispersion": dispersion(losses, expected),
        "ratio_sd": float(np.sqrt(spread.shape) / spread.rate) if beyond else 0.0 if spread else None,
    }
    return pl.DataFrame([row], schema=HorseSpread.dtypes())
