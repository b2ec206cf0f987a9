"""Is the way shoes come off over their life different between disciplines, feet, seasons or styles, or is it chance?"""

import polars as pl

from pipelines.analyses.splits import NOT_RECORDED, split
from pipelines.stats.logrank import LogRank, clustered_logrank, logrank
from schemas.results import RetentionTests

DIMENSIONS = {name: f'"{name}"' for name in ("discipline", "pace", "end", "foot", "season", "shoe_style")}

COUNTS = {
    "ends": split(
        DIMENSIONS,
        "horse_id, days_on as day, count(*) filter (end_reason = 'lost') as lost, "
        "count(*) filter (end_reason <> 'lost') as renewed",
        "derived.shoe_spells",
    )
}


def retention_tests(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """One log-rank test a dimension → `retention_tests`.

    Shoes whose level is not recorded take no part. chi2 and p_value take shoes as independent; chi2_clustered and
    p_clustered take horses as the units, and are what the pages judge by. Blank where fewer than two levels can be
    compared. Source: `pipelines.stats.logrank`.
    """
    ends = counts["ends"].filter(pl.col("level") != NOT_RECORDED).sort("dimension", "level", "horse_id", "day")
    tests = [_test(name, ends.filter(pl.col("dimension") == name)) for name in DIMENSIONS]
    return {"retention_tests": RetentionTests.check(pl.DataFrame(tests, schema=RetentionTests.dtypes()))}


def _test(dimension: str, ends: pl.DataFrame) -> dict[str, object]:
    levels = ends["level"].unique().sort().to_list()
    if len(levels) < 2:
        return {"dimension": dimension, "df": max(len(levels) - 1, 0)}
    days = ends.group_by("day", "level").agg(pl.col("lost", "renewed").sum())
    days = days.pivot("level", index="day", values=["lost", "renewed"]).fill_null(0).sort("day")
    lost, left = (days.select([f"{part}_{level}" for level in levels]).to_numpy() for part in ("lost", "renewed"))
    level, horse = (ends[name].rank("dense").cast(pl.Int64).to_numpy() - 1 for name in ("level", "horse_id"))
    by_horse = clustered_logrank(*(ends[name].to_numpy() for name in ("day", "lost", "renewed")), level, horse)
    by_shoe = logrank(lost, left)
    said = _said(by_shoe, "chi2", "p_value") | _said(by_horse, "chi2_clustered", "p_clustered")
    return {"dimension": dimension, "df": by_shoe.df} | said


def _said(test: LogRank, chi2: str, p_value: str) -> dict[str, float | None]:
    known = test.chi2 == test.chi2
    return {chi2: test.chi2 if known else None, p_value: test.p_value if known else None}
