"""Is the way shoes come off over their life different between disciplines, feet, seasons or styles, or is it chance?"""

import polars as pl

from pipelines.analyses.splits import NOT_RECORDED, split
from pipelines.stats.logrank import logrank
from schemas.results import RetentionTests

DIMENSIONS = {name: f'"{name}"' for name in ("discipline", "pace", "end", "foot", "season", "shoe_style")}

COUNTS = {
    "ends": split(
        DIMENSIONS,
        "days_on as day, count(*) filter (end_reason = 'lost') as lost, "
        "count(*) filter (end_reason <> 'lost') as renewed",
        "derived.shoe_spells",
    )
}


def retention_tests(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """One log-rank test a dimension → `retention_tests`.

    Shoes whose level is not recorded take no part. chi2 and p_value are blank where fewer than two levels can be
    compared. The test takes shoes as independent; `loss_factors` has the comparison that counts horses.
    Source: `pipelines.stats.logrank`.
    """
    ends = counts["ends"].filter(pl.col("level") != NOT_RECORDED)
    tests = [_test(name, ends.filter(pl.col("dimension") == name)) for name in DIMENSIONS]
    return {"retention_tests": RetentionTests.check(pl.DataFrame(tests, schema=RetentionTests.dtypes()))}


def _test(dimension: str, ends: pl.DataFrame) -> dict[str, object]:
    levels = ends["level"].unique().sort().to_list()
    if len(levels) < 2:
        return {"dimension": dimension, "df": max(len(levels) - 1, 0)}
    days = ends.pivot("level", index="day", values=["lost", "renewed"]).fill_null(0).sort("day")
    lost, left = (days.select([f"{part}_{level}" for level in levels]).to_numpy() for part in ("lost", "renewed"))
    found = logrank(lost, left)
    known = found.chi2 == found.chi2
    return {
        "dimension": dimension,
        "chi2": found.chi2 if known else None,
        "df": found.df,
        "p_value": found.p_value if known else None,
    }
