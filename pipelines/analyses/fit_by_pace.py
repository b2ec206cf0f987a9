"""Losses by length of branch and pace: fast work is commonly shod closer, slow work with more steel behind."""

import numpy as np
import polars as pl

from pipelines.analyses.factor_design import coded
from pipelines.analyses.shoe_patterns import PACES, Shoes
from pipelines.stats.poisson import clustered_rate_limits, exact_limits
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
    sums = pl.col("shoes", "losses", "shoe_days", "expected").sum()
    horses = cells.group_by("pace", "branch_band", "horse_id", maintain_order=True).agg(sums)
    table = horses.group_by("pace", "branch_band", maintain_order=True).agg(
        pl.len().alias("horses"), sums,
        dd=(pl.col("losses") ** 2).sum(), dt=(pl.col("losses") * pl.col("shoe_days")).sum(),
        tt=(pl.col("shoe_days") ** 2).sum(),
    ).sort(pl.col("pace").replace_strict(PACES, range(len(PACES)), return_dtype=pl.Int64),
           pl.col("branch_band").replace_strict(BRANCHES, range(len(BRANCHES)), return_dtype=pl.Int64))  # fmt: skip
    losses, days = table["losses"].to_numpy(), table["shoe_days"].to_numpy()
    limits = clustered_rate_limits(table["horses"].to_numpy(), losses, days, table["dd"], table["dt"], table["tt"])
    low, high = (
        pl.Series(1000 * np.where(np.isfinite(clustered), clustered, exact / days))
        for clustered, exact in zip(limits, exact_limits(losses), strict=True)
    )
    few = (pl.col("losses") < 2) | (pl.col("horses") < 2)
    return table.with_columns(
        per_100_shoes=100 * pl.col("losses") / pl.col("shoes"),
        per_1000_days=1000 * pl.col("losses") / pl.col("shoe_days"),
        low=low,
        high=high,
        note=pl.when(few).then(pl.lit("fewer than 2 losses or 2 horses: the range leaves out that horses differ")),
    ).select(*FitByPace.columns())
