"""Keys: one row a key, and every row with the row it belongs to."""

from dataclasses import dataclass
from difflib import get_close_matches

import numpy as np
import polars as pl

from pipelines.intake.practice import key_of
from pipelines.intake.rows import AT, Rows, found, mask_of
from pipelines.intake.sheet import EXPORT, HIDDEN
from pipelines.intake.untold import untold

MOST_PLACES = 5
NEAR = 0.8


@dataclass(frozen=True)
class Link:
    """Rows of `table` carry the key of a row of `parent` in the column `key`."""

    table: str
    parent: str
    key: str


LINKS = (
    Link("visits", "horses", "horse_id"),
    Link("feet", "visits", "visit_id"),
    Link("losses", "horses", "horse_id"),
    Link("changes", "horses", "horse_id"),
)
NAMED_BY = {"horses": "a name or yard", "visits": "a name, yard, day or farrier"}
HERE_TOO = "to be mended here too"
"""Of a row that finds the row it belongs to by what both say, not by a code."""
ONE_OF = {"horses": "horse", "visits": "visit"}


def same_key_twice(rows: Rows, own: list[pl.DataFrame]) -> list[pl.DataFrame]:
    """Rows of one export that share a key and differ: each of them. own: lines of what each row breaks by itself.

    Rows that differ only where each of them is faulty are left out: that is said already.
    """
    if rows.one_row_a_key:
        return []
    shared = _not_said_yet(_shared(rows, mask_of(rows, own)), own)
    if shared.is_empty():
        return []
    bad = np.zeros(rows.height, dtype=bool)
    bad[shared[AT].to_numpy()] = True
    shared = shared.sort(AT)
    columns = rows.table.key()
    value = pl.concat_str([pl.col(name).str.strip_chars() for name in columns], separator=", ")
    line = found(rows, pl.Series(bad), "same_key_twice", ", ".join(columns), value, pl.lit(""))
    named = " and ".join(columns)
    reason = pl.concat_str(
        pl.lit(f"{named} "), "value", pl.lit(" is not the only one and the rows differ"), shared["differing"],
        pl.lit(" ("), shared["places"], pl.lit("): keep the right row"), _if_two(rows, bad),
    )  # fmt: skip
    return [line.with_columns(reason.alias("reason"))]


def _not_said_yet(shared: pl.DataFrame, own: list[pl.DataFrame]) -> pl.DataFrame:
    """The rows of groups in which any row differs in a column that is not faulty there."""
    lines = [line.select(AT, "column_name") for line in own if line.height]
    if shared.is_empty() or not lines:
        return shared
    faulty = pl.concat(lines).drop_nulls().group_by(AT).agg(pl.col("column_name").alias("faulty"))
    known = shared.join(faulty, on=AT, how="left", maintain_order="left")
    new = pl.col("differs").list.set_difference(pl.col("faulty").fill_null([])).list.len() > 0
    nameless = pl.col("differs").list.len() == 0
    return known.filter((new | nameless).any().over("group"))


TWO_HORSES = "; if they are two horses, give each a horse_id or say in a layout file what tells them apart"
IF_TWO = {
    "horses": ("horse_id", TWO_HORSES),
    "visits": (
        "visit_id",
        "; if they are two visits on one day, give each a visit_id, the same on the rows of its feet",
    ),
    "feet": (
        "visit_id",
        "; if the horse was shod twice that day, give each visit a visit_id, the same on all its rows" + TWO_HORSES,
    ),
}
"""The way out where a key was made of what identifies: they may be two."""


def _if_two(rows: Rows, bad: np.ndarray) -> pl.Expr:
    key, way_out = IF_TWO.get(rows.name, ("", ""))
    made = rows.made(key) if key else None
    if made is None:
        return pl.lit("")
    return pl.when(made.filter(pl.Series(bad))).then(pl.lit(way_out)).otherwise(pl.lit(""))


def _shared(rows: Rows, faulty: np.ndarray) -> pl.DataFrame:
    """AT, the places and the differing columns of its group for each row whose group of one key is not all the same."""
    key = [EXPORT, *rows.table.key()]
    content = [name for name in rows.table.columns() if name not in key]
    ragged = rows.ragged()
    marked = rows.typed.with_columns(
        rows.texts[EXPORT],
        pl.int_range(pl.len(), dtype=pl.Int64).alias(AT),
        pl.Series("@faulty", faulty),
        rows.texts.select(rows.places().alias("places")).to_series(),
    )
    several = rows.several()
    for passed_over in (mask for mask in (ragged, several) if mask is not None):
        marked = marked.filter(~passed_over.gather(marked[AT]))
    marked = marked.drop_nulls(rows.table.key()).filter(pl.len().over(key) > 1)
    groups = marked.group_by(key, maintain_order=True).agg(
        AT, pl.struct(*content, "@faulty").n_unique().alias("kinds"), pl.col("places"), *_differing(content)
    )
    listed = pl.col("places").list.head(MOST_PLACES).list.join(", ")
    more = pl.when(pl.col("places").list.len() > MOST_PLACES).then(pl.lit(" …")).otherwise(pl.lit(""))
    differing = groups.filter(pl.col("kinds") > 1).with_columns(listed + more)
    return differing.with_row_index("group").explode(AT).select(AT, "group", "places", "differs", "differing")


def _differing(content: list[str]) -> tuple[pl.Expr, pl.Expr]:
    """The columns in which the rows of a group differ, and so said: " in mass_kg, yard", or nothing where they differ
    in cells that could not be read alone.
    """
    named = [pl.when(pl.col(name).n_unique() > 1).then(pl.lit(name)) for name in content]
    columns = pl.concat_list(named).list.drop_nulls()
    said = pl.concat_str(named, separator=", ", ignore_nulls=True)
    text = pl.when(said != "").then(pl.concat_str(pl.lit(" in "), said)).otherwise(pl.lit(""))
    return columns.alias("differs"), text.alias("differing")


def orphans(
    link: Link, rows: Rows, parent: Rows, parent_aside: np.ndarray, known: pl.Series, at_fault: np.ndarray
) -> list[pl.DataFrame]:
    """Rows whose parent is nowhere, or is set aside itself. The store's own parents count as there.

    at_fault: of the parents set aside, those with a fault of their own: they are named before the others of their key.
    """
    parents = parent.typed[link.key]
    there = parents.filter(pl.Series(~parent_aside))
    own = rows.typed[link.key]
    lost = ~own.is_in(there.implode()) & own.is_not_null()
    if not lost.any():
        return []
    lost &= ~own.is_in(known.implode())
    several = rows.several()
    if several is not None:
        lost &= ~several
    if not lost.any():
        return []
    rejected = _first_places(parent, parent_aside, at_fault, link.key)
    return [*_follow(link, rows, lost, rejected), *_unknown(link, rows, parent, lost, rejected)]


def _first_places(parent: Rows, aside: np.ndarray, at_fault: np.ndarray, key: str) -> pl.DataFrame:
    """The key and the place of the first row with it that is set aside, for a fault of its own where there is one."""
    placed = parent.texts.select(parent.places().alias("place")).with_columns(parent.typed[key])
    first = pl.concat([placed.filter(pl.Series(aside & at_fault)), placed.filter(pl.Series(aside & ~at_fault))])
    return first.drop_nulls(key).unique(key, keep="first", maintain_order=True)


def _follow(link: Link, rows: Rows, lost: pl.Series, rejected: pl.DataFrame) -> list[pl.DataFrame]:
    bad = lost & rows.typed[link.key].is_in(rejected[link.key].implode())
    if not bad.any():
        return []
    one = ONE_OF[link.parent]
    keys = rows.typed.select(link.key).filter(bad)
    places = keys.join(rejected, on=link.key, how="left", maintain_order="left")["place"]
    line = found(rows, bad, f"{one}_set_aside", link.key, pl.col(link.key), pl.lit(""))
    reason = pl.concat_str(
        pl.lit(f"{link.key} "), pl.col("value").str.strip_chars(), pl.lit(f" is a {one} that is set aside itself ("),
        places, pl.lit("): mend that row first"),
    )  # fmt: skip
    made = rows.made(link.key)
    if made is not None:
        here_too = pl.lit(f"; {NAMED_BY[link.parent]} mended there is {HERE_TOO}")
        reason = pl.when(made.filter(bad)).then(pl.concat_str(reason, here_too)).otherwise(reason)
    return [line.with_columns(reason.alias("reason"))]


def _unknown(link: Link, rows: Rows, parent: Rows, lost: pl.Series, rejected: pl.DataFrame) -> list[pl.DataFrame]:
    bad = lost & ~rows.typed[link.key].is_in(rejected[link.key].implode())
    if not bad.any():
        return []
    one = ONE_OF[link.parent]
    said = pl.col(link.key).str.strip_chars()
    reason = pl.concat_str(
        pl.lit(f"{link.key} "), said, pl.lit(f" stands nowhere in {link.parent}: add that {one} or correct the code")
    )
    made = rows.made(link.key)
    if made is not None and (bad & made).any():
        reason = pl.when(made.filter(bad)).then(_not_named(link, rows, parent, bad & made)).otherwise(reason)
    return [found(rows, bad, f"unknown_{one}", link.key, pl.col(link.key), reason)]


def _not_named(link: Link, rows: Rows, parent: Rows, bad: pl.Series) -> pl.Expr:
    """The same where the practice keeps no codes: what the row names, and the horse whose name is nearest."""
    there = rows.texts.columns
    name, yard, day = (HIDDEN + column for column in ("horse_name", "yard", "visit_date"))
    named = [pl.col(column).str.strip_chars() for column in (name, yard) if column in there]
    who = pl.concat_str(*named, separator=", ", ignore_nulls=True) if named else pl.col(link.key)
    if link.parent == "visits":
        on = pl.concat_str(pl.lit(" on "), pl.col(day).str.strip_chars()) if day in there else pl.lit("")
        mend = pl.lit(" stands in visits: add it, or correct the name, yard, day or farrier")
        return pl.concat_str(pl.lit("no visit of "), who, on, mend)
    near = {key: _nearest(key, parent) for key in rows.typed[link.key].filter(bad).unique()}
    hint = pl.col(link.key).replace_strict(near, default="", return_dtype=pl.String)
    mend = pl.lit(" stands nowhere in horses: correct the name or yard, or add that horse")
    return pl.concat_str(who, mend, hint)


def _nearest(key: str, horses: Rows) -> str:
    texts = horses.texts.select(pl.col(name) for name in ("horse_name", "yard") if name in horses.texts.columns)
    called = [", ".join(" ".join(text.split()) for text in row if text and text.strip()) for row in texts.rows()]
    there = {key_of(name): name for name in called}
    near = get_close_matches(key, there, 1, NEAR)
    return f"; the nearest is {there[near[0]]}" if near else ""


@dataclass(frozen=True)
class Kept:
    """keep: the rows in force, one a key; overtaken: rows of earlier exports that a later one says otherwise."""

    keep: pl.Series
    overtaken: pl.Series


def in_force(rows: Rows, aside: np.ndarray, merged: pl.DataFrame) -> Kept:
    """Of the rows not set aside, the first of the last export that has the key.

    merged: the typed rows with what earlier exports tell where they tell nothing themselves. An earlier row that
    agrees in all it tells is a copy.
    """
    fine = pl.Series(~aside)
    if rows.one_row_a_key:
        return Kept(fine, pl.Series(np.zeros(rows.height, dtype=bool)))
    ours = rows.typed.with_columns(rows.texts[EXPORT]).with_row_index(AT).filter(fine)
    key = rows.table.key()
    last = ours.sort(EXPORT, descending=True, maintain_order=True).unique(key, keep="first", maintain_order=True)
    keep = np.zeros(rows.height, dtype=bool)
    keep[last[AT].to_numpy()] = True
    content = [name for name in rows.table.columns() if name not in key]
    held = merged.select(*key, *content).filter(pl.Series(keep))
    beside = ours.select(AT, *key, *content).join(held, on=key, suffix="@held", maintain_order="left")
    said = beside.with_columns(untold(rows.texts, name).gather(beside[AT]).alias(f"{name}@untold") for name in content)
    agrees = [pl.col(name).eq_missing(pl.col(f"{name}@held")) | pl.col(f"{name}@untold") for name in content]
    overtaken = ~aside & ~keep
    overtaken[said.filter(pl.all_horizontal(agrees))[AT].to_numpy()] = False
    return Kept(pl.Series(keep), pl.Series(overtaken))
