"""Losses by length of branch and pace: fast work is commonly shod closer, slow work with more steel behind."""

import numpy as np
import polars as pl

from pipelines.analyses.factor_design import coded
from pipelines.analyses.loss_hazard import limits_by_horse
from pipelines.analyses.shoe_patterns import PACES, Shoes
from schemas.results import FitByPace

BRANCHES = ("short of the heel", "0 to 5 mm", "5 to 10 mm", "10 mm and over")


def fit_by_pace(shoes: Shoes) -> pl.DataFrame:
    """Losses of each length of branch on each pace, beside those expected by age, discipline and end."""
    frame = shoes.patterns.select("horse_id", "pace", "discipline", "end", mm="branch_past_heel_mm")
    worn, lost = shoes.by_band
    group = coded(frame.select(pl.concat_str("discipline", "end", separator="/")).to_series())[0]
    groups = int(group.max(initial=-1)) + 1
    days = np.column_stack([np.bincount(group, worn[:, band], groups) for band in range(worn.shape[1])])
    losses = np.column_stack([np.bincount(group, lost[:, band], groups) for band in range(worn.shape[1])])
    rate = np.divide(losses, days, out=np.zeros(days.shape), where=days > 0)
    band = pl.col("mm")
    cells = frame.select(
        "horse_id",
        "pace",
        branch_band=pl.when(band < 0).then(pl.lit(BRANCHES[0])).when(band < 5).then(pl.lit(BRANCHES[1]))
        .when(band < 10).then(pl.lit(BRANCHES[2])).when(band.is_not_null()).then(pl.lit(BRANCHES[3])),
        shoes=pl.Series(shoes.shoes), losses=pl.Series(shoes.losses), shoe_days=pl.Series(worn.sum(axis=1)),
        expected=pl.Series((worn * rate[group]).sum(axis=1)),
    ).filter(pl.col("branch_band").is_not_null(), pl.col("pace") != "other")  # fmt: skip
    return _with_limits(cells)


def _with_limits(cells: pl.DataFrame) -> pl.DataFrame:
    """One row a pace and length of branch; its limits have horses as the units (`loss_hazard.limits_by_horse`)."""
    cell = ("pace", "branch_band")
    ranks = [
        pl.col(name).replace_strict(levels, range(len(levels)), return_dtype=pl.Int64)
        for name, levels in zip(cell, (PACES, BRANCHES), strict=True)
    ]
    sums = pl.col("shoes", "losses", "shoe_days", "expected").sum()
    horses = cells.group_by(*cell, "horse_id", maintain_order=True).agg(sums).sort(*ranks, "horse_id")
    horses = horses.with_columns(group=pl.struct(*cell).rle_id())
    table = horses.group_by("group", *cell, maintain_order=True).agg(pl.len().cast(pl.Int64).alias("horses"), sums)
    low, high = limits_by_horse(horses, table)
    few = pl.col("losses") < 2
    return table.with_columns(
        per_100_shoes=100 * pl.col("losses") / pl.col("shoes"),
        per_1000_days=1000 * pl.col("losses") / pl.col("shoe_days"),
        low=1000 * low,
        high=1000 * high,
        note=pl.when(few)
        .then(pl.lit("fewer than 2 losses: the range leaves out that horses differ"))
        .when(low.is_null())
        .then(pl.lit("all losses are of one horse: no range")),
    ).select(*FitByPace.columns())
