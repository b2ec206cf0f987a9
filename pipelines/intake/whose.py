"""Which horse a name and a yard mean. A blank yard is that of the one horse of the name; where two stand, none is
guessed."""

from typing import NamedTuple

import polars as pl

from pipelines.intake.made_keys import made_key, one_of, or_key, said
from pipelines.intake.sheet import FOLDED, PLACED, SEVERAL, SOURCE

SCHEMA = dict.fromkeys(("name", "yard", "found", "called", "place"), pl.String)
MOST_YARDS = 4


class Horses(NamedTuple):
    """How a row finds its horse. there: horses that the export tells, known: those of the store, both as `tellers`
    gives them; same, apart: what the practice says.
    """

    there: pl.DataFrame
    known: pl.DataFrame
    same: dict[str, str]
    apart: dict[str, str]


def tellers(horses: pl.DataFrame) -> pl.DataFrame:
    """Plain name, plain yard and horse_id (`found`) of each horse, its name and yard as written (`called`, `place`).

    A horse that stands on a visit's row alone, without a yard of its own, is told by no row: it may be any of its name.
    """
    if not {"horse_id", "horse_name"} <= set(horses.columns):
        return pl.DataFrame(schema=SCHEMA)
    yard = horses["yard"] if "yard" in horses.columns else pl.repeat(None, horses.height, dtype=pl.String, eager=True)
    named = pl.DataFrame(
        {
            "name": said(horses, "horse_name"),
            "yard": said(horses, "yard"),
            "found": horses["horse_id"],
            "called": horses["horse_name"].str.strip_chars(),
            "place": yard.str.strip_chars(),
        },
        schema=SCHEMA,
    )
    if FOLDED in horses.columns:
        own = named["yard"].is_not_null() if PLACED not in horses.columns else horses[PLACED].is_null()
        named = named.filter(horses[FOLDED].is_null() | (own & named["yard"].is_not_null()))
    return named.drop_nulls(["name", "found"]).unique(["name", "yard", "found"], keep="first", maintain_order=True)


def of_places(named: pl.DataFrame, horses: pl.DataFrame) -> pl.Series:
    """The horse_id of the one horse of each very name and yard."""
    places = horses.filter(pl.col("found").n_unique().over("name", "yard") == 1)
    places = places.unique(["name", "yard"], keep="first", maintain_order=True).select("name", "yard", "found")
    return named.join(places, on=["name", "yard"], how="left", nulls_equal=True, maintain_order="left")["found"]


def found_by(named: pl.DataFrame, horses: pl.DataFrame) -> pl.Series:
    """The horse_id of each name and yard: of that very place, else by name alone where that is one horse and one of
    the two says no yard.
    """
    exact = of_places(named, horses)
    alone = horses.filter(pl.col("found").n_unique().over("name") == 1)
    alone = alone.sort("yard", nulls_last=False, maintain_order=True).unique("name", keep="first", maintain_order=True)
    by_name = named.join(alone, on="name", how="left", maintain_order="left", suffix="_there")
    either = by_name["yard"].is_null() | by_name["yard_there"].is_null()
    return exact.fill_null(by_name.select(pl.when(either).then("found")).to_series())


class Whose(NamedTuple):
    """named: plain name and yard of each row, blank yards filled where that can be. found: its horse_id. place: the
    yard that was filled in, as written. several: why it cannot be told which horse is meant. by_store: whether only
    the store tells it.
    """

    named: pl.DataFrame
    found: pl.Series
    place: pl.Series
    several: pl.Series
    by_store: pl.Series


def whose(named: pl.DataFrame, horses: Horses) -> Whose:
    """The horse of each plain name and yard. The store is asked for very places, and for names of which the export
    tells no horse.
    """
    elsewhere = horses.known.join(horses.there, on="name", how="anti")
    told = [horses.there.with_columns(by_store=pl.lit(False)), elsewhere.with_columns(by_store=pl.lit(True))]
    row = named.join(_kinds(pl.concat(told), horses.same), on="name", how="left", maintain_order="left")
    blank = pl.col("yard").is_null() & ~pl.col("name").is_in(list(horses.same))
    one = (pl.col("ids") == 1) | (pl.col("yards") == 1)
    row = row.with_columns(
        fill=(blank & one & pl.col("first_yard").is_not_null()).fill_null(False),
        open=(blank & ~one & ~pl.col("nowhere")).fill_null(False),
    )
    filled = row.select("name", pl.when("fill").then("first_yard").otherwise("yard").alias("yard"))
    in_store = of_places(filled, horses.known).fill_null(found_by(filled, elsewhere))
    found = found_by(filled, horses.there).fill_null(one_of(in_store, horses.same))
    beside = horses.known.join(horses.there, on=["name", "yard"], how="anti", nulls_equal=True)
    twins = _twins(filled, pl.concat([horses.there, beside]), horses.apart)
    return Whose(
        filled,
        or_key(found, filled, horses.same),
        row.select(pl.when("fill").then("first_place")).to_series(),
        row.select(pl.when("open").then("which")).to_series().fill_null(twins),
        row["by_store"].fill_null(False),
    )


def _kinds(known: pl.DataFrame, same: dict[str, str]) -> pl.DataFrame:
    """For each name: how many horses and yards there are, the first yard, and how to say that there are several."""
    told = known.with_columns(one=one_of(known["found"], same))
    by_name = told.group_by("name", maintain_order=True).agg(
        ids=pl.col("one").n_unique(),
        yards=pl.col("yard").n_unique(),
        nowhere=pl.col("yard").is_null().any(),
        first_yard=pl.col("yard").drop_nulls().first(),
        first_place=pl.col("place").filter(pl.col("yard").is_not_null()).first(),
        called=pl.col("called").first(),
        all_places=pl.col("place").filter(pl.col("yard").is_first_distinct()).drop_nulls(),
        by_store=pl.col("by_store").all(),
    )
    listed = pl.col("all_places").list.head(MOST_YARDS).list.join(" and in ")
    which = pl.concat_str("called", pl.lit(" stands in "), listed, pl.lit(": write which yard"))
    return by_name.with_columns(which=which).drop("called", "all_places")


def _twins(named: pl.DataFrame, known: pl.DataFrame, apart: dict[str, str]) -> pl.Series:
    """What to say where two horses of one name stand in one yard, and nothing tells which is meant."""
    twice = known.filter(pl.col("found").n_unique().over("name", "yard") > 1)
    if twice.is_empty():
        return pl.repeat(None, named.height, dtype=pl.String, eager=True)
    twice = twice.unique(["name", "yard"], keep="first", maintain_order=True)
    there = named.join(twice, on=["name", "yard"], how="left", nulls_equal=True, maintain_order="left")
    where = pl.when(pl.col("place").is_not_null()).then(pl.concat_str(pl.lit(" in "), "place")).otherwise(pl.lit(""))
    says = pl.concat_str(
        pl.lit("two horses are called "), "called", where,
        pl.lit(": write the horse_id of the one that is meant, or say in a layout file what tells them apart"),
    )  # fmt: skip
    told_apart = made_key(*named).is_in(list(apart))
    return there.select(pl.when(pl.col("found").is_not_null() & ~told_apart.fill_null(False)).then(says)).to_series()


def marked(part: pl.DataFrame, rows: pl.Series, name: str, which: Whose, yard: str) -> pl.DataFrame:
    """The rows with why it cannot be told which horse is meant (SEVERAL) and what was taken for a blank yard (PLACED).

    rows: those that keep no key. name, yard: the columns of the two. A sheet that names no yard at all has that habit:
    there it is said once a horse, and only where the store alone tells the yard.
    """
    there = part.select(pl.col(name).str.strip_chars().alias("called"), SOURCE).with_columns(
        which.place.alias("place"), which.by_store.alias("by_store"), which.named["name"], rows.alias("rows"),
        which.several.alias(SEVERAL),
    )  # fmt: skip
    there = there.with_columns(pl.when("rows").then(SEVERAL).alias(SEVERAL))
    if there[SEVERAL].null_count() < part.height:
        part = part.with_columns(there[SEVERAL])
    if which.place.null_count() == part.height:
        return part
    written = part.select(_written(part, yard).any().over(SOURCE).alias("yards")).to_series()
    once = pl.col("by_store") & pl.struct(SOURCE, "name").is_first_distinct()
    told = pl.col("rows") & pl.col("place").is_not_null() & (pl.lit(written) | once)
    whence = pl.when("by_store").then(pl.lit("the store")).otherwise(pl.lit("these records"))
    says = pl.concat_str(
        "called", pl.lit(" stands here without a yard: taken as "), "called", pl.lit(" of "), "place",
        pl.lit(", the only one in "), whence,
    )  # fmt: skip
    return part.with_columns(there.select(pl.when(told).then(says).alias(PLACED)).to_series())


def _written(part: pl.DataFrame, column: str) -> pl.Expr:
    if column not in part.columns:
        return pl.col(SOURCE).is_null()
    return pl.col(column).str.strip_chars().fill_null("") != ""
