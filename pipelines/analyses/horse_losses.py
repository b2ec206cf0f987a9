"""Which horses lose more shoes than others that do the same work?"""

import numpy as np
import polars as pl

from pipelines.stats.funnel import funnel_edges, funnel_place
from pipelines.stats.poisson import exact_limits
from schemas.results import FunnelBands, HorseLosses

# Bands of shoe age in days, left end excluded, right end included; the last one has no end.
BAND_ENDS = (7, 14, 28, 42, 56, 84)
LARGE_SHARE = 0.25
BAND_POINTS = 80
CELL = ("discipline", "end", "band")
GROUP = ("discipline", "end")


def _band_sums() -> str:
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
       {_band_sums()}
from derived.shoe_spells group by all
""",
    "names": """
select horse_id, horse_name, discipline from accepted.horses
where horse_id in (select horse_id from derived.shoe_spells)
""",
}


def horse_losses(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """Losses of each horse beside those its shoe-days would bring at its peers' rate → `horse_losses`; the
    edges of the funnel over the range of expected losses → `funnel_bands`.

    Peers are the shoes of one age band, discipline and end. A horse that holds over a quarter of the shoe-days of
    such a group is left out of its own peers there. Where it then has none, the peers' rate over all ages of that
    discipline and end stands in; where there is none either, nothing is expected and the note says so. ratio has
    exact limits; funnel is the place of losses among the exact points of a Poisson count of mean `expected`.
    """
    cells = _by_band(counts["cells"])
    expected = (
        _expected(cells)
        .group_by("horse_id")
        .agg(
            pl.col("losses", "shoe_days").sum(),
            expected=pl.when(pl.col("expected").null_count() == 0).then(pl.col("expected").sum()),
            widened=pl.col("widened").any(),
        )
    )
    shoes = counts["cells"].group_by("horse_id").agg(pl.col("shoes").sum())
    horses = counts["names"].join(shoes, on="horse_id", validate="1:1").join(expected, on="horse_id", validate="1:1")
    judged = _judged(horses).sort(-pl.col("ratio").fill_null(-1), "horse_id")
    unknown = dict.fromkeys(("shrunk_ratio", "shrunk_low", "shrunk_high", "chance_above_double"), pl.lit(None))
    table = judged.with_columns(**unknown).select(*HorseLosses.columns())
    return {"horse_losses": HorseLosses.check(table), "funnel_bands": FunnelBands.check(_bands(table))}


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
    at_all_ages = pl.col("losses", "shoe_days").sum().over("horse_id", *GROUP).name.suffix("_all_ages")
    cells = cells.with_columns(at_all_ages)
    rate = _peers_rate("losses", "shoe_days", CELL)
    wider = _peers_rate("losses_all_ages", "shoe_days_all_ages", GROUP)
    return cells.with_columns(rate=rate, wider=wider).with_columns(
        expected=pl.col("shoe_days") * pl.coalesce("rate", "wider"), widened=pl.col("rate").is_null()
    )


def _peers_rate(losses: str, shoe_days: str, group: tuple[str, ...]) -> pl.Expr:
    """Losses a shoe-day of the group; without the horse's own where it holds over a quarter; null with no peers.

    The group's sums are taken over the rows' own shoe-days, the horse's are those of the two columns named.
    """
    own = pl.col(shoe_days) > LARGE_SHARE * pl.col("shoe_days").sum().over(*group)
    peers_losses = pl.col("losses").sum().over(*group) - pl.when(own).then(losses).otherwise(0)
    peers_days = pl.col("shoe_days").sum().over(*group) - pl.when(own).then(shoe_days).otherwise(0)
    return pl.when(peers_days > 0).then(peers_losses / peers_days)


def _judged(horses: pl.DataFrame) -> pl.DataFrame:
    """The horses with ratio, limits, funnel and note; those without an expected number keep blanks."""
    compared = horses.filter(pl.col("expected") > 0)
    low, high = exact_limits(compared["losses"].to_numpy())
    expected = compared["expected"].to_numpy()
    compared = compared.with_columns(
        ratio=pl.col("losses") / pl.col("expected"),
        ratio_low=pl.Series(low / expected),
        ratio_high=pl.Series(high / expected),
        funnel=pl.Series(funnel_place(compared["losses"].to_numpy(), expected).tolist(), dtype=pl.String),
        note=pl.when("widened").then(pl.lit("some shoes outlasted every peer's: the peers' rate over all ages there")),
    )
    others = horses.filter((pl.col("expected") > 0).fill_null(False).not_()).with_columns(
        note=pl.when(pl.col("expected").is_null())
        .then(pl.lit("no other horse of this discipline to compare with"))
        .otherwise(pl.lit("none of the peers lost a shoe, so there is no ratio"))
    )
    return pl.concat([compared, others], how="diagonal")


def _bands(horses: pl.DataFrame) -> pl.DataFrame:
    expected = horses.filter(pl.col("expected") > 0)["expected"]
    if expected.is_empty():
        return FunnelBands.empty()
    points = np.unique(np.geomspace(expected.min(), expected.max(), BAND_POINTS))
    return pl.DataFrame({"expected": points} | funnel_edges(points))
