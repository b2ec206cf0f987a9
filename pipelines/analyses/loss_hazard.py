"""When in its life does a shoe come off: soon after nailing, in the middle, late, or past the planned date?"""

import numpy as np
import polars as pl

from pipelines.analyses import shoe_risk
from pipelines.analyses.horse_losses import BAND_ENDS
from pipelines.analyses.splits import in_order, named
from pipelines.stats.poisson import by_cluster_limits
from schemas.results import LossHazard

DIMENSIONS = named("discipline", "end")
NO_END = 1_000_000
EARLY_DAYS = LATE_DAYS = 14
PIECE = ("dimension", "level", "phase", "day_from", "day_to")
BY_HORSE = ("discipline", "end", "horse_id", "phase", "day_from", "day_to", "losses", "shoe_days")
PHASES = ("age", "early", "middle", "late", "after_planned")

_BANDS = ", ".join(
    f"('age', {start}, {stop})" for start, stop in zip((0, *BAND_ENDS), (*BAND_ENDS, NO_END), strict=True)
)

# A piece is (start, stop] of one shoe's age. Early is the first 14 days, late the last 14 before the planned date.
COUNTS = {
    **shoe_risk.COUNTS,
    "pieces": f"""
with spells as (
    select spells.horse_id, discipline, "end", days_on, end_reason = 'lost' as was_lost,
           round(7 * planned_weeks)::bigint as planned
    from derived.shoe_spells spells left join accepted.visits on visit_id = fitted_visit_id
    where not {shoe_risk.SPREAD}
), pieces as (
    select spells.*, phase, start, stop from spells, (values {_BANDS}) bands(phase, start, stop)
    union all
    select *, 'early', 0, least({EARLY_DAYS}, planned) from spells where planned is not null
    union all
    select *, 'middle', {EARLY_DAYS}, planned - {LATE_DAYS} from spells where planned > {EARLY_DAYS + LATE_DAYS}
    union all
    select *, 'late', greatest({EARLY_DAYS}, planned - {LATE_DAYS}), planned from spells where planned > {EARLY_DAYS}
    union all
    select *, 'after_planned', planned, {NO_END} from spells where planned is not null
), by_horse as (
    select discipline, "end", horse_id, phase, case when phase = 'age' then start end as day_from,
           case when phase = 'age' and stop < {NO_END} then stop end as day_to,
           count(*) filter (was_lost and days_on <= stop) as losses,
           sum(case when days_on = 0 then 0.5::double else least(days_on, stop) - start end) as shoe_days
    from pieces where days_on > start or (days_on = 0 and start = 0) group by all
)
select * from by_horse
""",
}


def loss_hazard(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """Losses per 1,000 shoe-days by age band, and by phase about the planned date → `loss_hazard`.

    phase `age`: (day_from, day_to]. The other phases count shoes with a planned interval only: early is the first 14
    days, late the last 14 before the planned date, middle what lies between, after_planned the days past it. A shoe
    of 0 days adds half a day to the first. A loss known only to lie between two days is spread over them by the hazard
    of all shoes of its end (`shoe_risk.hazard_by_age`), so losses are no whole numbers. Limits have horses as the
    units (`stats.poisson.by_cluster_limits`).
    """
    parts = pl.concat([counts["pieces"].select(*BY_HORSE), _spread_pieces(counts)], how="vertical_relaxed")
    rank = {phase: place for place, phase in enumerate(PHASES)}
    levels = [
        parts.with_columns(dimension=pl.lit(name), level=pl.col(column) if name != "all" else pl.lit("all"))
        for name, column in (("all", ""), ("discipline", "discipline"), ("end", "end"))
    ]
    horses = (
        pl.concat(levels)
        .group_by(*PIECE, "horse_id")
        .agg(pl.col("losses", "shoe_days").sum())
        .with_columns(place=pl.col("phase").replace_strict(rank, return_dtype=pl.Int64))
    )
    horses = in_order(horses, DIMENSIONS, "place", "day_from", "horse_id")
    horses = horses.with_columns(group=pl.struct(*PIECE).rle_id())
    pieces = horses.group_by("group", *PIECE, maintain_order=True).agg(
        horses=pl.len().cast(pl.Int64), losses=pl.col("losses").sum(), shoe_days=pl.col("shoe_days").sum()
    )
    low, high = limits_by_horse(horses, pieces)
    table = pieces.with_columns(
        losses_spread=pl.col("losses").cast(pl.Float64),
        per_1000_days=1000 * pl.col("losses") / pl.col("shoe_days"),
        low=1000 * low,
        high=1000 * high,
    )
    return {"loss_hazard": LossHazard.check(table.select(*LossHazard.columns()))}


def _spread_pieces(counts: dict[str, pl.DataFrame]) -> pl.DataFrame:
    """The pieces of shoes lost on no known day: each counts on every day it may have come off, as likely as that is."""
    spread = counts["spread"].with_row_index("shoe")
    if spread.is_empty():
        return counts["pieces"].select(*BY_HORSE).clear()
    hazard = shoe_risk.hazard_by_age(counts)
    days = spread.with_columns(days_on=pl.int_ranges(pl.col("after") + 1, pl.col("by") + 1)).explode("days_on")
    last = int(days["by"].max())
    daily = {end: np.repeat(rates, shoe_risk.days_in_bands(0, last).astype(int)) for end, rates in hazard.items()}
    chance = {end: np.exp(-(np.cumsum(rate) - rate)) * -np.expm1(-rate) for end, rate in daily.items()}
    table = pl.DataFrame(
        [(end, day + 1, float(part)) for end, parts in chance.items() for day, part in enumerate(parts)],
        schema={"end": pl.String, "days_on": pl.Int64, "chance": pl.Float64},
        orient="row",
    )
    days = days.join(table, on=["end", "days_on"], how="left", validate="m:1", maintain_order="left")
    total = pl.col("chance").sum().over("shoe")
    share = pl.when(total > 0).then(pl.col("chance") / total).otherwise(1 / pl.len().over("shoe"))
    days = days.with_columns(weight=share * pl.col("shoes"))
    worn = pl.min_horizontal("days_on", "stop") - pl.col("start")
    return (
        pl.concat([_cut(days, *piece) for piece in _cuts()])
        .filter(pl.col("stop") > pl.col("start"), pl.col("days_on") > pl.col("start"))
        .group_by(*(name for name in BY_HORSE if name not in ("losses", "shoe_days")), maintain_order=True)
        .agg(
            losses=(pl.col("weight") * (pl.col("days_on") <= pl.col("stop"))).sum(),
            shoe_days=(pl.col("weight") * worn).sum(),
        )
    )


def _cuts() -> list[tuple]:
    """phase, day_from, day_to, and start and stop of each piece of a shoe's age, as the SQL has them."""
    planned, some = pl.col("planned"), pl.lit(None, pl.Int64)
    ages = [
        ("age", pl.lit(start), pl.lit(stop, pl.Int64), pl.lit(start), pl.lit(stop or NO_END))
        for start, stop in zip((0, *BAND_ENDS), (*BAND_ENDS, None), strict=True)
    ]
    about = [
        ("early", pl.lit(0), pl.min_horizontal(pl.lit(EARLY_DAYS), planned)),
        ("middle", pl.lit(EARLY_DAYS), planned - LATE_DAYS),
        ("late", pl.max_horizontal(pl.lit(EARLY_DAYS), planned - LATE_DAYS), planned),
        ("after_planned", planned, pl.lit(NO_END)),
    ]
    known = [(name, some, some, start, pl.when(planned.is_not_null()).then(stop)) for name, start, stop in about]
    return [*ages, *known]


def _cut(days: pl.DataFrame, phase: str, day_from: pl.Expr, day_to: pl.Expr, start: pl.Expr, stop: pl.Expr):
    return days.with_columns(
        phase=pl.lit(phase),
        day_from=day_from.cast(pl.Int64),
        day_to=day_to.cast(pl.Int64),
        start=start.cast(pl.Int64),
        stop=stop.cast(pl.Int64),
    )


def limits_by_horse(horses: pl.DataFrame, groups: pl.DataFrame) -> tuple[pl.Series, pl.Series]:
    """95 % limits of losses a shoe-day of each group: horses has group, losses and shoe_days; groups one row each."""
    each = (horses[name].cast(pl.Float64).to_numpy() for name in ("losses", "shoe_days"))
    low, high = by_cluster_limits(*each, horses["group"].to_numpy(), groups.height)
    return pl.Series(low).fill_nan(None), pl.Series(high).fill_nan(None)
