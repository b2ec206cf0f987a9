"""Summaries made from another store, known to this one too: what was told stays told, and can be called back."""

from pathlib import Path

import polars as pl

from pipelines.sharing.naming import same
from pipelines.store import Store, open_store
from pipelines.store.shared_store import RECORDED, record_share
from schemas.problem import Problem
from schemas.synonyms import plain

NAMES = "select horse_id, horse_name, yard from accepted.horses"


def read_earlier(path: Path, store_path: Path) -> dict[str, pl.DataFrame]:
    """The summaries that another store knows: its tables of the ledger by name, and its `horses`."""
    if path.resolve() == store_path.resolve():
        raise Problem(f"--earlier {path} is the store itself: name the one that earlier summaries were made from")
    if not path.exists():
        raise Problem(f"there is no store {path}: name with --earlier the one that earlier summaries were made from")
    with open_store(path, read_only=True) as store:
        return {name: store.sql(f"select * from ledger.{name} order by all") for name in RECORDED} | {
            "horses": store.sql(NAMES)
        }


def carry_over(store: Store, earlier: dict[str, pl.DataFrame]) -> None:
    """Write them into the ledger of an open store, numbered after its own; one that it knows already only once."""
    known = store.sql("select sha256 from ledger.shares")["sha256"].to_list()
    last = store.sql("select coalesce(max(share_id), 0) as last from ledger.shares")["last"][0]
    new = earlier["shares"].filter(~pl.col("sha256").is_in(known)).sort("share_id")["share_id"].to_list()
    if not new:
        return
    numbers = {before: last + place for place, before in enumerate(new, start=1)}
    codes = _codes(earlier["horses"], store.sql(NAMES))
    rows = {name: _numbered(earlier[name], numbers) for name in RECORDED}
    horses = rows["share_horses"].with_columns(pl.col("horse_id").replace(codes)).unique(maintain_order=True)
    record_share(store, rows | {"share_horses": horses})


def _numbered(table: pl.DataFrame, numbers: dict[int, int]) -> pl.DataFrame:
    kept = table.filter(pl.col("share_id").is_in(list(numbers)))
    number = pl.col("share_id").replace_strict(numbers, return_dtype=pl.Int64)
    cells = [
        pl.col("cells").str.split(" ").list.eval(pl.element().str.replace(r"^\d+/", "/")).alias("cells")
        for name in table.columns
        if name == "cells"
    ]
    renamed = kept.with_columns(number.alias("share_id"), *cells)
    if not cells:
        return renamed
    told = pl.col("share_id").cast(pl.String) + pl.col("cells")
    return renamed.explode("cells").with_columns(told.alias("cells")).group_by(
        [name for name in renamed.columns if name != "cells"], maintain_order=True
    ).agg(pl.col("cells").str.join(" "))  # fmt: skip


def _codes(before: pl.DataFrame, now: pl.DataFrame) -> dict[str, str]:
    """The code that a horse has now, where it had another: of its name, and its yard where both tell one, alone."""
    there = set(now["horse_id"])
    found = {}
    for code, name, yard in before.rows():
        if code in there:
            continue
        alike = [
            one
            for one, called, at in now.rows()
            if plain(same(called)) == plain(same(name)) and (not at or not yard or plain(at) == plain(yard))
        ]
        found |= {code: alike[0]} if len(alike) == 1 else {}
    return found
