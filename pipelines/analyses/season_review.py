"""What was the season under review, in figures?"""

import polars as pl

from pipelines.analyses.season_rates import rate_limits
from pipelines.stats.quantiles import quantile_of_counts
from schemas.results import SeasonReview, VisitKinds

# No visit takes no time; visits whose minutes nobody wrote down take some, which is left blank.
NO_VISIT = {"visits": 0, "timed": 0, "minutes": 0.0, "driven": 0, "travel_km": 0.0}

_START, _STOP = "getvariable('season_start')::date", "getvariable('season_stop')::date"
_VISITS = f"""accepted.visits
where visit_date between {_START} and {_STOP} and visit_date <= getvariable('as_of')::date"""

# A spell's days are those after nailing up to its end, so a day belongs to one season only.
_DAYS = f"""case when days_on = 0 then 0.5::double
            else least(ended_on, {_STOP}) - greatest(fitted_on, {_START} - 1) end"""

COUNTS = {
    "season": f"select {_START} as start, {_STOP} as stop",
    "kinds": f"""
select visit_kind, count(*) as visits, count(minutes) as timed, sum(minutes) as minutes, count(travel_km) as driven,
       sum(travel_km) as travel_km
from {_VISITS} group by all
""",
    "horses": f"select count(distinct horse_id) as horses from {_VISITS}",
    "shoes": f"""
select count(*) as shoes_nailed from accepted.feet
where work in ('fit_new', 'reset') and visit_id in (select visit_id from {_VISITS})
""",
    "spells": f"""
select horse_id, count(*) filter (end_reason = 'lost' and ended_on between {_START} and {_STOP}) as losses,
       sum({_DAYS})::double as shoe_days
from derived.shoe_spells
where fitted_on <= {_STOP} and ended_on >= {_START} group by all
""",
    "intervals": f"""
select days, count(*) as intervals from derived.visit_intervals where to_date between {_START} and {_STOP} group by all
""",
}


def season_review(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """The season in one row → `season_review`; its visits by kind → `visit_kinds`.

    Losses are those dated within the season, shoe-days those that fall in it, intervals those that end in it. The
    rate has limits with horses as the units, blank with too few horses. Without a season both are empty. Source:
    `pipelines.analyses.season_rates`.
    """
    kinds = counts["kinds"].sort(-pl.col("visits"), "visit_kind")
    review = counts["season"].drop_nulls()
    if review.height:
        review = review.hstack(counts["horses"]).hstack(counts["shoes"])
        review = _with_intervals(
            _with_visits(_with_rate(review, counts["spells"]), kinds), counts["intervals"].sort("days")
        )
    else:
        review = SeasonReview.empty()
    return {"season_review": SeasonReview.check(review), "visit_kinds": VisitKinds.check(kinds)}


def _with_rate(review: pl.DataFrame, horses: pl.DataFrame) -> pl.DataFrame:
    losses, days = int(horses["losses"].sum()), float(horses["shoe_days"].sum())
    low, high = rate_limits(horses)
    figures = {"per_1000_days": losses / days if days else None, "low": low, "high": high}
    return review.with_columns(losses=pl.lit(losses), shoe_days=pl.lit(days)).with_columns(
        **{name: 1000 * pl.lit(figure, pl.Float64) for name, figure in figures.items()}
    )


def _with_visits(review: pl.DataFrame, kinds: pl.DataFrame) -> pl.DataFrame:
    for_loss = kinds.filter(pl.col("visit_kind") == "lost_shoe")
    sums = for_loss.drop("visit_kind").row(0, named=True) if for_loss.height else NO_VISIT
    return review.with_columns(
        visits=pl.lit(int(kinds["visits"].sum())),
        lost_shoe_visits=pl.lit(sums["visits"]),
        lost_shoe_timed=pl.lit(sums["timed"]),
        lost_shoe_driven=pl.lit(sums["driven"]),
        lost_shoe_minutes=pl.lit(sums["minutes"]),
        lost_shoe_km=pl.lit(sums["travel_km"]),
    )


def _with_intervals(review: pl.DataFrame, lengths: pl.DataFrame) -> pl.DataFrame:
    days, counts = lengths["days"].to_numpy(), lengths["intervals"].to_numpy()
    median = quantile_of_counts(days, counts, 0.5) if lengths.height else None
    return review.with_columns(intervals=pl.lit(int(counts.sum())), median_days=pl.lit(median))
