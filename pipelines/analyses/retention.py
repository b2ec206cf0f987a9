"""How long do shoes stay on, and how many are lost by each booking interval?"""

import numpy as np
import polars as pl

from pipelines.analyses.splits import in_order, named, split
from pipelines.stats.product_limit import left_out_limits, never_narrower, product_limit
from schemas.results import Retention, ShareLostByWeeks

DIMENSIONS = named("discipline", "end")
BOOKING_WEEKS = range(4, 11)
ENOUGH_AT_RISK = 10

COUNTS = {
    "ends": split(
        DIMENSIONS,
        "horse_id, days_on as day, count(*) filter (end_reason = 'lost') as lost, "
        "count(*) filter (end_reason <> 'lost') as renewed",
        "derived.shoe_spells",
    )
}


def retention(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """Product-limit curves by day of shoe age → `retention`; the share lost by 4 to 10 weeks → `share_lost_by_weeks`.

    A renewed, taken-off or running shoe leaves after the losses of its day. Every day from 0 to the last on which a
    shoe of that level ended has a row. low and high take shoes as independent; low_left_out and high_left_out come
    from leaving each horse out in turn where that makes them wider, and are what the pages show.
    Source: `pipelines.stats.product_limit`.
    """
    ends = in_order(counts["ends"], DIMENSIONS, "day", "horse_id")
    curves = [_curve(level) for level in ends.partition_by("dimension", "level", maintain_order=True)]
    curve = pl.concat([Retention.empty(), *curves])
    return {
        "retention": Retention.check(curve),
        "share_lost_by_weeks": ShareLostByWeeks.check(_share_lost(curve)),
    }


def _curve(ends: pl.DataFrame) -> pl.DataFrame:
    days = np.arange(ends["day"].max() + 1)
    horse = ends["horse_id"].rank("dense").cast(pl.Int64).to_numpy() - 1
    rows = tuple(ends[name].to_numpy() for name in ("day", "lost", "renewed"))
    lost, renewed = (np.bincount(rows[0], part).astype(np.int64) for part in rows[1:])
    curve = product_limit(lost, renewed)
    by_horse = never_narrower(left_out_limits(*rows, horse), (curve.low, curve.high))
    columns = {"day": days, "at_risk": curve.at_risk, "lost": lost, "renewed": renewed, "kept": curve.kept}
    limits = {"kept_low": curve.low, "kept_high": curve.high}
    limits |= dict(zip(("kept_low_left_out", "kept_high_left_out"), by_horse, strict=True))
    split_by = {"dimension": pl.lit(ends["dimension"][0]), "level": pl.lit(ends["level"][0])}
    frame = pl.DataFrame(columns | limits).fill_nan(None).with_columns(**split_by)
    return frame.select(*Retention.columns()).cast(Retention.dtypes())


def _share_lost(curve: pl.DataFrame) -> pl.DataFrame:
    weeks = pl.DataFrame({"weeks": list(BOOKING_WEEKS)}, schema={"weeks": pl.Int64}).with_columns(
        day=pl.col("weeks") * 7
    )
    levels = curve.select("dimension", "level").unique(maintain_order=True)
    enough = pl.col("at_risk") >= ENOUGH_AT_RISK
    shares = levels.join(weeks, how="cross", maintain_order="left_right").join(
        curve, on=["dimension", "level", "day"], how="left", validate="1:1", maintain_order="left"
    )
    return shares.with_columns(pl.col("at_risk").fill_null(0)).select(
        "dimension",
        "level",
        "weeks",
        "at_risk",
        share_lost=pl.when(enough).then(1 - pl.col("kept")),
        low=pl.when(enough).then(1 - pl.col("kept_high")),
        high=pl.when(enough).then(1 - pl.col("kept_low")),
        low_left_out=pl.when(enough).then(1 - pl.col("kept_high_left_out")),
        high_left_out=pl.when(enough).then(1 - pl.col("kept_low_left_out")),
        note=pl.when(~enough)
        .then(pl.lit(f"fewer than {ENOUGH_AT_RISK} shoes were followed so long"))
        .when(pl.col("kept") == 1)
        .then(pl.lit("no shoe was lost by then, so no limits can be drawn"))
        .when(pl.col("kept_low_left_out").is_null())
        .then(pl.lit("fewer than 5 horses, or one has most of the losses by then: no range")),
    )
