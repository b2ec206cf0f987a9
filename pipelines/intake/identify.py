"""Keys where a practice keeps none: a horse is its name and yard, a visit its horse, day and farrier, a loss its horse,
foot and day. Made the same way however they are written, so that the next export finds the same rows."""

import polars as pl

from pipelines.intake.made_keys import days, made_key, mapped, nothing, one_of, or_key, said
from pipelines.intake.sheet import FOLDED, GIVEN, HIDDEN, MADE, META, PLACED, SEVERAL, SOURCE, UNTOLD
from pipelines.intake.spellings import Habits, read
from pipelines.intake.whose import Horses, found_by, marked, of_places, tellers, whose
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


def identify(
    tables: dict[str, pl.DataFrame],
    habits: dict[str, Habits],
    same: dict[str, str],
    apart: dict[str, str],
    known: pl.DataFrame | None = None,
) -> dict[str, pl.DataFrame]:
    """The tables of text with every key that can be made from what identifies, and which were (MADE).

    habits: how each file writes its days. same: keys of horses the practice says are one and the same. apart: keys
    that two horses share, and the column that tells which is which. known: horse_id, horse_name and yard of the horses
    in the store. Keys are made for a sheet that has none at all;
    one cell left blank among others is a fault, not a habit.
    """
    found = dict(tables)
    stored = tellers(pl.DataFrame() if known is None else known)
    found["horses"] = _horses(tables["horses"], Horses(tellers(pl.DataFrame()), stored, same, apart))
    horses = Horses(tellers(found["horses"]), stored, same, apart)
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
    keyless = {key: _without_keys(before, key) for key in keys}
    made = [pl.when(rows).then(pl.lit(key)) for key, rows in keyless.items() if rows.any()]
    if not made:
        return after
    return after.with_columns(before.select(pl.concat_str(made, separator=" ", ignore_nulls=True).alias(MADE)))


def in_several_yards(before: pl.DataFrame, after: pl.DataFrame, apart: dict[str, str]) -> pl.Series:
    """Which horses got a key of name and yard although another of the same name stands in another yard.

    before, after: the horses of text without and with keys made. It may be one horse that moved, or two. Of those that
    the practice tells apart (apart) there is no doubt.
    """
    if after.is_empty() or "horse_name" not in after.columns or _keyed(before, "horse_id"):
        return pl.Series([False] * after.height, dtype=pl.Boolean)
    made = _without_keys(before, "horse_id")
    named = pl.DataFrame({"name": said(after, "horse_name"), "yard": said(after, "yard")})
    made &= ~made_key(*named).is_in(list(apart)).fill_null(False)
    ids = after["horse_id"]
    if SEVERAL in after.columns:
        made &= after[SEVERAL].is_null()
        ids = pl.select(pl.when(after[SEVERAL].is_null()).then(ids)).to_series()
    named = named.with_columns(ids.alias("id"), made.alias("made"))
    several = pl.all_horizontal(pl.col(each).n_unique().over("name") > 1 for each in ("id", "yard"))
    return named.select(pl.col("made") & pl.col("name").is_not_null() & several).to_series()


def _horses(part: pl.DataFrame, horses: Horses) -> pl.DataFrame:
    if _keyed(part, "horse_id") or "horse_name" not in part.columns:
        return part
    keyless = _without_keys(part, "horse_id")
    named = pl.DataFrame({"name": said(part, "horse_name"), "yard": said(part, "yard")})
    made = _told_apart(part, named, made_key(*named), horses.apart)
    found = found_by(named, tellers(part.filter(~keyless)))
    found = found.fill_null(one_of(of_places(named, horses.known), horses.same))
    found = found.fill_null(_kept_without_yard(part, named, horses))
    kept = _kept_with_yard(part, named, horses).with_columns(rows=keyless & found.is_null())
    found = found.fill_null(kept["found"])
    found = _told_apart(part, named, found.fill_null(one_of(made, horses.same)), horses.apart)
    open_yard = _named_on_visits_without_yard(part, named) & keyless
    if open_yard.any():
        there = tellers(_filled(part, "horse_id", found))
        which = whose(named, horses._replace(there=there))
        of_one = _told_apart(part, which.named, which.found, horses.apart)
        made = made_key(*which.named).zip_with(open_yard, made)
        found = of_one.zip_with(open_yard, found)
        taken = open_yard & which.place.is_not_null()
        part = marked(part, open_yard, "horse_name", which, "yard")
        blank = _text(part, "yard").str.strip_chars().fill_null("") == ""
        part = part.with_columns(
            pl.when(taken & blank).then(which.place).otherwise(_text(part, "yard")).alias("yard"),
            pl.when(taken).then(pl.lit("taken")).alias(PLACED),
        )
    part = _said_of_the_store(part, kept) if kept["found"].null_count() < kept.height else part
    filled = _filled(part, "horse_id", found)
    return _told_alike(filled, made) if horses.same else filled


def _kept_without_yard(part: pl.DataFrame, named: pl.DataFrame, horses: Horses) -> pl.Series:
    """The store's only horse of a name, kept there without a yard, for the one yard that these rows tell of it."""
    alone = pl.col("found").n_unique().over("name") == 1, pl.col("yard").is_null().all().over("name")
    kept = horses.known.filter(*alone).unique("name").select("name", "found")
    rows = named.with_columns(
        open=_named_on_visits_without_yard(part, named),
        own=made_key(*named).is_in([*horses.same, *horses.apart]).fill_null(False),
    )
    yards = pl.col("yard").fill_null("").filter(~pl.col("open")).n_unique().over("name")
    rows = rows.with_columns(one=pl.col("yard").is_not_null() & (yards == 1) & ~pl.col("own"))
    there = rows.join(kept, on="name", how="left", maintain_order="left")
    return there.select(pl.when("one").then("found")).to_series()


def _kept_with_yard(part: pl.DataFrame, named: pl.DataFrame, horses: Horses) -> pl.DataFrame:
    """For each row of a sheet of horses that says no yard, where no other row of its name does: the store's only horse
    of the name (found) and its yard (place).
    """
    known = horses.known.filter(pl.col("found").n_unique().over("name") == 1, pl.col("yard").is_not_null())
    rows = named.with_columns(
        open=_named_on_visits_without_yard(part, named),
        own=made_key(*named).is_in([*horses.same, *horses.apart]).fill_null(False),
        nowhere=pl.col("yard").is_null().all().over("name"),
    )
    rows = rows.with_columns(one=pl.col("nowhere") & ~pl.col("open") & ~pl.col("own"))
    there = rows.join(known.unique("name").drop("yard"), on="name", how="left", maintain_order="left")
    return there.select(pl.when("one").then(name).alias(name) for name in ("found", "called", "place"))


def _said_of_the_store(part: pl.DataFrame, kept: pl.DataFrame) -> pl.DataFrame:
    """The rows of such horses with the yard that the store has, and that it was taken."""
    says = pl.concat_str(
        "called", pl.lit(" stands here without a yard: taken as "), "called", pl.lit(" of "), "place",
        pl.lit(", the only one in the store"),
    )  # fmt: skip
    there = kept.select("place", pl.when("rows").then(says).alias("says"))
    taken = there["says"].is_not_null()
    return part.with_columns(
        pl.when(taken).then(there["place"]).otherwise(_text(part, "yard")).alias("yard"),
        pl.when(taken).then(there["says"]).otherwise(_text(part, PLACED)).alias(PLACED),
    )


def _named_on_visits_without_yard(part: pl.DataFrame, named: pl.DataFrame) -> pl.Series:
    """Rows of horses that were folded in from rows about something else and say no yard."""
    if FOLDED not in part.columns:
        return pl.repeat(False, part.height, eager=True)
    return part[FOLDED].is_not_null() & named["yard"].is_null() & named["name"].is_not_null()


def _told_alike(part: pl.DataFrame, made: pl.Series) -> pl.DataFrame:
    """Rows of a horse kept under two names, each with the cells of the name it is kept under, so that they are one."""
    own = part.filter(part["horse_id"] == made).unique("horse_id", keep="first", maintain_order=True)
    told = [name for name in part.columns if not name.startswith(HIDDEN) and name not in ("horse_id", *META)]
    told += [name for name in (UNTOLD, GIVEN) if name in part.columns]
    joined = part.join(own.select("horse_id", *told), on="horse_id", how="left", suffix="@own", maintain_order="left")
    other = (joined["horse_id"] != made) & joined["horse_id"].is_in(own["horse_id"].implode())
    alike = [pl.when(other).then(pl.col(f"{name}@own")).otherwise(pl.col(name)).alias(name) for name in told]
    return joined.with_columns(alike).select(part.columns)


def _visits(part: pl.DataFrame, horses: Horses, habits: dict[str, Habits]) -> pl.DataFrame:
    part = _with_horse(part, "horse_id", horses)
    if _keyed(part, "visit_id") or "horse_id" not in part.columns:
        return part
    place = pl.DataFrame(
        {"horse": part["horse_id"], "day": days(part, "visit_date", habits), "by": said(part, "farrier")}
    )
    place = _with_the_one_farrier(place)
    keyed = _visit_places(part.filter(~_without_keys(part, "visit_id")), habits)
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
    places = there.unique(["horse", "day", "by"], keep="first", maintain_order=True)
    exact = place.join(places, on=["horse", "day", "by"], how="left", nulls_equal=True, maintain_order="left")["found"]
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
    places = _visit_places(visits, habits)
    found = or_key(_found_visit(place, places), place)
    once = _with_visits_told_twice(once, place, places)
    at = new.cast(pl.UInt32).cum_sum() - 1
    keyless = _without_keys(part, "visit_id")
    if SEVERAL in once.columns:
        several = once[SEVERAL].gather(at)
        part = part.with_columns(pl.when(keyless).then(several).alias(SEVERAL))
    return _filled(part.with_columns(once[HORSE].gather(at)), "visit_id", found.gather(at))


def _with_visits_told_twice(once: pl.DataFrame, place: pl.DataFrame, visits: pl.DataFrame) -> pl.DataFrame:
    """Why it cannot be told which visit a foot was seen on: two have its horse, day and farrier."""
    on = ["horse", "day", "by"]
    twice = visits.filter(pl.col("found").n_unique().over(on) > 1).unique(on)
    if twice.is_empty():
        return once
    there = place.join(twice, on=on, how="left", nulls_equal=True, maintain_order="left")
    called = once[NAME].str.strip_chars() if NAME in once.columns else there["horse"]
    says = pl.concat_str(
        called, pl.lit(" was visited more than once on "), there["day"],
        pl.lit(": write the visit_id of the visit that is meant"),
    )  # fmt: skip
    several = pl.select(pl.when(there["found"].is_not_null()).then(says)).to_series()
    before = once[SEVERAL] if SEVERAL in once.columns else nothing(once.height)
    return once.with_columns(before.fill_null(several).alias(SEVERAL))


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
    return places.drop_nulls("found").unique(maintain_order=True)


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
    which = whose(pl.DataFrame({"name": said(part, NAME), "yard": said(part, YARD)}), horses)
    keyless = _without_keys(part, column)
    part = marked(part, keyless, NAME, which, YARD)
    return _filled(part, column, _told_apart(part, which.named, which.found, horses.apart))


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
    """Whether every row keeps a key of its own, or should."""
    return part.is_empty() or not _without_keys(part, column).any()


def _without_keys(part: pl.DataFrame, column: str) -> pl.Series:
    """Which rows keep no such key: blank ones of a sheet in which most rows are. Of a few blanks among many keys each
    is a fault, not a habit.
    """
    if column not in part.columns:
        return pl.repeat(True, part.height, eager=True)
    blank = part[column].str.strip_chars().fill_null("") == ""
    if not blank.any():
        return blank
    rows = pl.col(FOLDED).fill_null(1) if FOLDED in part.columns else pl.lit(1)
    told = part.select(SOURCE, blank.alias("blank"), rows.cast(pl.Int64).alias("rows"))
    mostly = 2 * pl.col("rows").filter("blank").sum() > pl.col("rows").sum()
    return told.select(pl.col("blank") & mostly.over(SOURCE)).to_series()


def _text(part: pl.DataFrame, column: str) -> pl.Expr:
    return pl.col(column) if column in part.columns else pl.lit(None, pl.String)


def _filled(part: pl.DataFrame, column: str, made: pl.Series) -> pl.DataFrame:
    keyless = _without_keys(part, column)
    return part.with_columns(pl.when(keyless).then(made).otherwise(_text(part, column)).alias(column))
