"""Keys where a practice keeps none: a horse is its name and yard, a visit its horse, day and farrier, a loss its horse,
foot and day. Made the same way however they are written, so that the next export finds the same rows."""

import hashlib
from collections.abc import Callable
from typing import NamedTuple

import polars as pl

from pipelines.intake.layout import HIDDEN
from pipelines.intake.sheet import FILE, MADE, SOURCE
from pipelines.intake.spellings import Habits, read
from schemas.fields import MEANINGS
from schemas.synonyms import plain

LONGEST = 64
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
    named = pl.DataFrame({"name": _said(after, "horse_name"), "id": after["horse_id"], "made": made})
    several = pl.col("id").n_unique().over("name") > 1
    return named.select(pl.col("made") & pl.col("name").is_not_null() & several).to_series()


def _horses(part: pl.DataFrame, same: dict[str, str], apart: dict[str, str]) -> pl.DataFrame:
    if _keyed(part, "horse_id") or "horse_name" not in part.columns:
        return part
    named = pl.DataFrame({"name": _said(part, "horse_name"), "yard": _said(part, "yard")})
    made = _told_apart(part, named, _key(*named), apart)
    there = _by_name(part.filter(~part.select(_without_keys(part, "horse_id")).to_series()))
    found = _told_apart(part, named, _found(named, there).fill_null(_one_of(made, same)), apart)
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
        {"name": _said(horses, "horse_name"), "yard": _said(horses, "yard"), "found": horses["horse_id"]}
    )
    named = named.drop_nulls(["name", "found"]).unique(maintain_order=True)
    return named.with_columns((pl.col("found").n_unique().over("name") == 1).alias("anywhere"))


def _found(named: pl.DataFrame, horses: pl.DataFrame) -> pl.Series:
    """The horse_id of each name and yard: of that very place, else by name alone where that is one horse and one of
    the two says no yard.
    """
    if horses.is_empty():
        return _nothing(named.height)
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
        {"horse": part["horse_id"], "day": _days(part, "visit_date", habits), "by": _said(part, "farrier")}
    )
    place = _with_the_one_farrier(place)
    keyed = _visit_places(part.filter(~part.select(_without_keys(part, "visit_id")).to_series()), habits)
    return _filled(part, "visit_id", _or_key(_found_visit(place, keyed), place))


def _with_the_one_farrier(place: pl.DataFrame) -> pl.DataFrame:
    """Where a row does not say who shod and others of that horse and day name one farrier, it is that one's visit."""
    others = place.drop_nulls().unique().filter(pl.len().over("horse", "day") == 1)
    told = place.join(others, on=["horse", "day"], how="left", suffix="_told", maintain_order="left")
    return told.select("horse", "day", by=pl.coalesce("by", "by_told"))


def _found_visit(place: pl.DataFrame, there: pl.DataFrame) -> pl.Series:
    """The visit_id of each horse, day and farrier; of horse and day where no farrier is said and it was one visit."""
    if there.is_empty():
        return _nothing(place.height)
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
    place = pl.DataFrame({"horse": once[HORSE], "day": _days(once, DAY, habits), "by": _said(once, BY)})
    found = _or_key(_found_visit(place, _visit_places(visits, habits)), place)
    at = new.cast(pl.UInt32).cum_sum() - 1
    return _filled(part.with_columns(once[HORSE].gather(at)), "visit_id", found.gather(at))


def _visit_places(visits: pl.DataFrame, habits: dict[str, Habits]) -> pl.DataFrame:
    """Horse, day, farrier and visit_id of each visit."""
    if not {"horse_id", "visit_id"} <= set(visits.columns):
        return pl.DataFrame(schema=dict.fromkeys(("horse", "day", "by", "found"), pl.String))
    places = pl.DataFrame(
        {
            "horse": visits["horse_id"],
            "day": _days(visits, "visit_date", habits),
            "by": _said(visits, "farrier"),
            "found": visits["visit_id"],
        }
    )
    return places.drop_nulls("found").unique(["horse", "day", "by"], keep="first", maintain_order=True)


def _losses(part: pl.DataFrame, horses: Horses, habits: dict[str, Habits]) -> pl.DataFrame:
    part = _with_horse(part, "horse_id", horses)
    if _keyed(part, "loss_id") or "horse_id" not in part.columns:
        return part
    foot = _mapped(part["foot"], lambda text: read(text, "foot", MEANINGS["foot"], Habits()).value or text.strip())
    return _filled(part, "loss_id", _key(part["horse_id"], foot, _days(part, "found_off", habits)))


def _with_horse(part: pl.DataFrame, column: str, horses: Horses) -> pl.DataFrame:
    """The horse a row names, by name and yard, by name alone where that is one horse, else by a key made of both."""
    if _keyed(part, column) or NAME not in part.columns:
        return part
    named = pl.DataFrame({"name": _said(part, NAME), "yard": _said(part, YARD)})
    found = _or_key(_found(named, horses.there), named, horses.same)
    return _filled(part, column, _told_apart(part, named, found, horses.apart))


def _told_apart(part: pl.DataFrame, named: pl.DataFrame, found: pl.Series, apart: dict[str, str]) -> pl.Series:
    """The keys, where the practice says that two horses share name and yard with what tells them apart added."""
    shared = _key(*named) if apart else found
    for key, by in apart.items():
        says = _said(part, by if by in part.columns else HIDDEN + by)
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


def _said(part: pl.DataFrame, column: str) -> pl.Series:
    """The cells in plain form, blank ones null; read once a spelling."""
    if column not in part.columns:
        return _nothing(part.height)
    return _mapped(part[column], lambda text: plain(text) or None)


def _nothing(height: int) -> pl.Series:
    return pl.repeat(None, height, dtype=pl.String, eager=True)


def _mapped(column: pl.Series, says: Callable[[str], str | None]) -> pl.Series:
    spellings = column.drop_nulls().unique()
    said = pl.Series([says(text) for text in spellings], dtype=pl.String)
    return column.replace_strict(spellings, said, default=None, return_dtype=pl.String)


def _days(part: pl.DataFrame, column: str, habits: dict[str, Habits]) -> pl.Series:
    """Each day in the declared form; what cannot be read stays as it was found."""
    if column not in part.columns:
        return _nothing(part.height)
    spellings = part.select(FILE, pl.col(column).alias("text")).drop_nulls().unique()
    said = spellings.with_columns(pl.Series("day", [_day(*place, habits) for place in spellings.rows()], pl.String))
    left = part.select(FILE, pl.col(column).alias("text"))
    return left.join(said, on=[FILE, "text"], how="left", maintain_order="left")["day"]


def _day(file: str, text: str, habits: dict[str, Habits]) -> str | None:
    if not text.strip():
        return None
    value = read(text, "visit_date", MEANINGS["visit_date"], habits.get(file, Habits())).value
    return value.isoformat() if value else text.strip()


def _key(*parts: pl.Series) -> pl.Series:
    """A key of several parts, blank ones passed over; none where the first, the horse, is not known."""
    named = pl.DataFrame({str(at): part for at, part in enumerate(parts)})
    joined = pl.concat_str(pl.all(), separator=", ", ignore_nulls=True)
    key = named.select(pl.when(pl.col("0").is_not_null()).then(joined).alias("key")).to_series()
    long = (key.str.len_chars() > LONGEST).fill_null(False)
    return key.scatter(long.arg_true(), _mapped(key.filter(long), _short)) if long.any() else key


def _or_key(found: pl.Series, named: pl.DataFrame, same: dict[str, str] | None = None) -> pl.Series:
    """What was found, and a key of the named parts where nothing was."""
    missing = found.is_null()
    if not missing.any():
        return found
    return found.scatter(missing.arg_true(), _one_of(_key(*named.filter(missing)), same or {}))


def _short(key: str) -> str:
    if len(key) <= LONGEST:
        return key
    return f"{key[: LONGEST - 9]}~{hashlib.sha256(key.encode()).hexdigest()[:8]}"


def _one_of(made: pl.Series, same: dict[str, str]) -> pl.Series:
    return made.replace(same) if same else made
