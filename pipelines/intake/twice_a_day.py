"""Two visits to one horse on one day that may be one: told by two farriers, or under two spellings of one."""

import polars as pl

from pipelines.intake.made_keys import said
from pipelines.intake.rows import AT, Rows, found
from schemas import words

NAILED = ("fit_new", "reset")
HERE = ("on", "bare")
"""How a foot arrives that nobody need come back for: a shoe off or sprung is nailed twice on one day in earnest."""


def two_that_may_be_one(visits: Rows, feet: Rows, aside: dict[str, pl.Series]) -> list[pl.DataFrame]:
    """A doubt on each later visit of a horse and day on which the same feet were nailed, or which seems told by the
    same farrier written otherwise. aside: which rows of each table are set aside.
    """
    told = visits.typed.select("visit_id", "horse_id", "visit_date").with_columns(said(visits.typed, "farrier"))
    told = told.with_row_index(AT).cast({AT: pl.Int64}).filter(~aside["visits"])
    told = told.drop_nulls(["visit_id", "horse_id", "visit_date"])
    told = told.unique("visit_id", keep="first", maintain_order=True)
    told = told.filter(pl.len().over("horse_id", "visit_date") > 1)
    if told.is_empty():
        return []
    pairs = told.join(told, on=["horse_id", "visit_date"], suffix="_before").filter(pl.col(AT) > pl.col(f"{AT}_before"))
    shod = feet.typed.filter(~aside["feet"]).filter(pl.col("work").is_in(NAILED) & pl.col("arrival").is_in(HERE))
    shod = shod.select("visit_id", "foot").unique()
    both = pairs.join(shod, on="visit_id").join(
        shod, left_on=["visit_id_before", "foot"], right_on=["visit_id", "foot"], how="semi"
    )
    order = pl.col("foot").cast(pl.Enum(words.FEET)).sort().cast(pl.String).str.join(", ")
    nailed = both.group_by(AT, f"{AT}_before").agg(order.alias("nailed"))
    pairs = pairs.join(nailed, on=[AT, f"{AT}_before"], how="left")
    one, other = pl.col("farrier").fill_null(""), pl.col("farrier_before").fill_null("")
    alike = (one != other) & (one.str.starts_with(other) | other.str.starts_with(one))
    doubted = pairs.filter(pl.col("nailed").is_not_null() | alike).sort(AT, f"{AT}_before")
    doubted = doubted.unique(AT, keep="first", maintain_order=True)
    if doubted.is_empty():
        return []
    places = visits.texts.select(visits.places()).to_series()
    bad = pl.repeat(False, visits.height, eager=True).scatter(doubted[AT], True)
    line = found(visits, bad, "two_visits_one_day", "farrier", pl.lit(None), pl.lit(""))
    shod_twice = pl.when(doubted["nailed"].is_not_null()).then(
        pl.concat_str(pl.lit(" and nailed "), doubted["nailed"], pl.lit(" both times"))
    )
    reason = pl.concat_str(
        pl.lit("this horse was visited twice on "), doubted["visit_date"].cast(pl.String), shod_twice.fill_null(""),
        pl.lit(" (see "), places.gather(doubted[f"{AT}_before"]),
        pl.lit("): both are kept; if it was one visit, write its farrier alike or keep one of the two"),
    )  # fmt: skip
    return [line.with_columns(reason.alias("reason"))]
