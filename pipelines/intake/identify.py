"""Keys where a practice keeps none: a horse is its name and yard, a visit its horse, day and farrier, a loss its horse,
foot and day. Made the same way however they are written, so that the next export finds the same rows."""

from typing import NamedTuple

import polars as pl

from pipelines.intake.made_keys import days, made_key, mapped, nothing, one_of, or_key, said
from pipelines.intake.sheet import HIDDEN, MADE, SOURCE
from pipelines.intake.spellings import Habits, read
from schemas.fields import MEANINGS

NAME, YARD, DAY, BY = (HIDDEN + name for name in ("horse_name", "yard", "visit_date", "farrier"))
HORSE = HIDDEN + "horse_id"
KEYS = {
    "horses": ("horse_id",),
    "visits": ("horse_id", "visit_id"),
    "feet": ("visit_id",),
    "losses": ("horse_id", "loss_id"),
    "changes": ("horse_id",),
}


class Horses(NamedTuple):
    """How a row finds its horse. there: plain name, plain yard and horse_id; same, apart: what the practice says."""

    there: pl.DataFrame
    same: dict[str, str]
    apart: dict[str, str]


def identify(
    tables: dict[str, pl.DataFrame], habits: dict[str, Habits], same: dict[str, str], apart: dict[str, str]
) -> dict[str, pl.DataFrame]:
    """The tables of text with every key that can be made from what identifies, and which were (MADE).

    habits: how each file writes its days. same: keys of horses the practice says are one and the same. apart: keys
    that two horses share, and the column that tells which is which. Keys are made for a sheet that has none at all;
    one cell left blank among others is a fault, not a habit.
    """
    found = dict(tables)
    found["horses"] = _horses(tables["horses"], same, apart)
    horses = Horses(_by_name(found["horses"]), same, apart)
    found["visits"] = _visits(tables["visits"], horses, habits)
    found["feet"] = _feet(tables["feet"], found["visits"], horses, habits)
    found["losses"] = _losses(tables["losses"], horses, habits)
    found["changes"] = _with_horse(tables["changes"], "horse_id", horses)
    return {name: _with_made(tables[name], part, KEYS[name]) for name, part in found.items()}


def _with_made(before: pl.DataFrame, after: pl.DataFrame, keys: tuple[str, ...]) -> pl.DataFrame:
    """The rows with the names of the keys that were made, so that they are not taken for what a person wrote."""
    after = after if HORSE in before.columns else after.drop(HORSE, strict=False)
    if before.is_empty():
        return after
    made = [pl.when(_without_keys(before, key)).then(pl.lit(key)) for key in keys]
    return after.with_columns(before.select(pl.concat_str(made, separator=" ", ignore_nulls=True).alias(MADE)))


def in_several_yards(before: pl.DataFrame, after: pl.DataFrame) -> pl.Series:
    """Which horses got a key of name and yard although another of the same name stands elsewhere.

    before, after: the horses of text without and with keys made. It may be one horse that moved, or two.
    """
    if after.is_empty() or "horse_name" not in after.columns or _keyed(before, "horse_id"):
        return pl.Series([False] * after.height, dtype=pl.Boolean)
    made = before.select(_without_keys(before, "horse_id")).to_series()
    named = pl.DataFrame({"name": said(after, "horse_name"), "id": after["horse_id"], "made": made})
    several = pl.col("id").n_unique().over("name") > 1
    return named.select(pl.col("made") & pl.col("name").is_not_null() & several).to_series()


def _horses(part: pl.DataFrame, same: dict[str, str], apart: dict[str, str]) -> pl.DataFrame:
    if _keyed(part, "horse_id") or "horse_name" not in part.columns:
        return part
    named = pl.DataFrame({"name": said(part, "horse_name"), "yard": said(part, "yard")})
    made = _told_apart(part, named, made_key(*named), apart)
    there = _by_name(part.filter(~part.select(_without_keys(part, "horse_id")).to_series()))
    found = _told_apart(part, named, _found(named, there).fill_null(one_of(made, same)), apart)
    filled = _filled(part, "horse_id", found)
    return _told_alike(filled, made) if same else filled


def _told_alike(part: pl.DataFrame, made: pl.Series) -> pl.DataFrame:
    """Rows of a horse kept under two names, each with the cells of the name it is kept under, so that they are one."""
    own = part.filter(part["horse_id"] == made).unique("horse_id", keep="first", maintain_order=True)
    told = [name for name in part.columns if not name.startswith(HIDDEN) and name != "horse_id"]
    joined = part.join(own.select("horse_id", *told), on="horse_id", how="left", suffix="@own", maintain_order="left")
    other = (joined["horse_id"] != made) & joined["horse_id"].is_in(own["horse_id"].implode())
    alike = [pl.when(other).then(pl.col(f"{name}@own")).otherwise(pl.col(name)).alias(name) for name in told]
    return joined.with_columns(alike).select(part.columns)


def _by_name(horses: pl.DataFrame) -> pl.DataFrame:
    """Plain name, plain yard and horse_id of each horse. anywhere: whether the name alone tells which horse it is."""
    if not {"horse_id", "horse_name"} <= set(horses.columns):
        return pl.DataFrame(schema={"name": pl.String, "yard": pl.String, "found": pl.String, "anywhere": pl.Boolean})
    named = pl.DataFrame(
        {"name": said(horses, "horse_name"), "yard": said(horses, "yard"), "found": horses["horse_id"]}
    )
    named = named.drop_nulls(["name", "found"]).unique(maintain_order=True)
    return named.with_columns((pl.col("found").n_unique().over("name") == 1).alias("anywhere"))


def _found(named: pl.DataFrame, horses: pl.DataFrame) -> pl.Series:
    """The horse_id of each name and yard: of that very place, else by name alone where that is one horse and one of
    the two says no yard.
    """
    if horses.is_empty():
        return nothing(named.height)
    placed = horses.drop_nulls("yard").unique(["name", "yard"], keep="first", maintain_order=True)
    exact = named.join(placed, on=["name", "yard"], how="left", maintain_order="left")["found"]
    alone = horses.filter(pl.col("anywhere")).sort("yard", nulls_last=False, maintain_order=True)
    alone = alone.unique("name", keep="first", maintain_order=True)
    by_name = named.join(alone, on="name", how="left", maintain_order="left", suffix="_there")
    either = by_name["yard"].is_null() | by_name["yard_there"].is_null()
    return exact.fill_null(by_name.select(pl.when(either).then("found")).to_series())


def _visits(part: pl.DataFrame, horses: Horses, habits: dict[str, Habits]) -> pl.DataFrame:
    part = _with_horse(part, "horse_id", horses)
    if _keyed(part, "visit_id") or "horse_id" not in part.columns:
        return part
    place = pl.DataFrame(
        {"horse": part["horse_id"], "day": days(part, "visit_date", habits), "by": said(part, "farrier")}
    )
    place = _with_the_one_farrier(place)
    keyed = _visit_places(part.filter(~part.select(_without_keys(part, "visit_id")).to_series()), habits)
    return _filled(part, "visit_id", or_key(_found_visit(place, keyed), place))


def _with_the_one_farrier(place: pl.DataFrame) -> pl.DataFrame:
    """Where a row does not say who shod and others of that horse and day name one farrier, it is that one's visit."""
    others = place.drop_nulls().unique().filter(pl.len().over("horse", "day") == 1)
    told = place.join(others, on=["horse", "day"], how="left", suffix="_told", maintain_order="left")
    return told.select("horse", "day", by=pl.coalesce("by", "by_told"))


def _found_visit(place: pl.DataFrame, there: pl.DataFrame) -> pl.Series:
    """The visit_id of each horse, day and farrier; of horse and day where no farrier is said and it was one visit."""
    if there.is_empty():
        return nothing(place.height)
    exact = place.join(there, on=["horse", "day", "by"], how="left", nulls_equal=True, maintain_order="left")["found"]
    alone = there.filter(pl.len().over("horse", "day") == 1).select("horse", "day", "found")
    by_day = place.join(alone, on=["horse", "day"], how="left", maintain_order="left")["found"]
    return exact.fill_null(by_day.zip_with(place["by"].is_null(), pl.Series([None], dtype=pl.String)))


def _feet(part: pl.DataFrame, visits: pl.DataFrame, horses: Horses, habits: dict[str, Habits]) -> pl.DataFrame:
    """A foot row without a visit_id belongs to the visit of its horse and day, and farrier where it names one.

    The feet of one visit mostly stand together: they are looked up once.
    """
    if _keyed(part, "visit_id") or DAY not in part.columns:
        return part
    telling = [HIDDEN + name for name in set(horses.apart.values())]
    told = [name for name in (SOURCE, HORSE, NAME, YARD, DAY, BY, *telling) if name in part.columns]
    new = part.select(pl.any_horizontal(pl.col(told).ne_missing(pl.col(told).shift(1)))).to_series()
    new[0] = True
    once = _with_horse(part.filter(new), HORSE, horses)
    place = pl.DataFrame({"horse": once[HORSE], "day": days(once, DAY, habits), "by": said(once, BY)})
    found = or_key(_found_visit(place, _visit_places(visits, habits)), place)
    at = new.cast(pl.UInt32).cum_sum() - 1
    return _filled(part.with_columns(once[HORSE].gather(at)), "visit_id", found.gather(at))


def _visit_places(visits: pl.DataFrame, habits: dict[str, Habits]) -> pl.DataFrame:
    """Horse, day, farrier and visit_id of each visit."""
    if not {"horse_id", "visit_id"} <= set(visits.columns):
        return pl.DataFrame(schema=dict.fromkeys(("horse", "day", "by", "found"), pl.String))
    places = pl.DataFrame(
        {
            "horse": visits["horse_id"],
            "day": days(visits, "visit_date", habits),
            "by": said(visits, "farrier"),
            "found": visits["visit_id"],
        }
    )
    return places.drop_nulls("found").unique(["horse", "day", "by"], keep="first", maintain_order=True)


def _losses(part: pl.DataFrame, horses: Horses, habits: dict[str, Habits]) -> pl.DataFrame:
    part = _with_horse(part, "horse_id", horses)
    if _keyed(part, "loss_id") or "horse_id" not in part.columns:
        return part
    foot = mapped(part["foot"], lambda text: read(text, "foot", MEANINGS["foot"], Habits()).value or text.strip())
    return _filled(part, "loss_id", made_key(part["horse_id"], foot, days(part, "found_off", habits)))


def _with_horse(part: pl.DataFrame, column: str, horses: Horses) -> pl.DataFrame:
    """The horse a row names, by name and yard, by name alone where that is one horse, else by a key made of both."""
    if _keyed(part, column) or NAME not in part.columns:
        return part
    named = pl.DataFrame({"name": said(part, NAME), "yard": said(part, YARD)})
    found = or_key(_found(named, horses.there), named, horses.same)
    return _filled(part, column, _told_apart(part, named, found, horses.apart))


def _told_apart(part: pl.DataFrame, named: pl.DataFrame, found: pl.Series, apart: dict[str, str]) -> pl.Series:
    """The keys, where the practice says that two horses share name and yard with what tells them apart added."""
    shared = made_key(*named) if apart else found
    for key, by in apart.items():
        says = said(part, by if by in part.columns else HIDDEN + by)
        own = pl.DataFrame({"key": shared, "says": says, "found": found})
        longer = pl.concat_str("key", "says", separator=", ", ignore_nulls=True)
        found = own.select(pl.when(pl.col("key") == key).then(longer).otherwise("found")).to_series()
    return found


def _keyed(part: pl.DataFrame, column: str) -> bool:
    """Whether every sheet keeps keys of its own."""
    return part.is_empty() or not part.select(_without_keys(part, column)).to_series().any()


def _without_keys(part: pl.DataFrame, column: str) -> pl.Expr:
    """Which rows come from a sheet that keeps no such key at all."""
    text = pl.col(column) if column in part.columns else pl.lit(None, pl.String)
    return (text.str.strip_chars().fill_null("") == "").all().over(SOURCE)


def _filled(part: pl.DataFrame, column: str, made: pl.Series) -> pl.DataFrame:
    own = pl.col(column) if column in part.columns else pl.lit(None, pl.String)
    return part.with_columns(pl.when(_without_keys(part, column)).then(made).otherwise(own).alias(column))
