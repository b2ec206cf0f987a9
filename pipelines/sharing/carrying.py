"""Summaries made from another store, known to this one too: what was told stays told, and can be called back."""

import json
from dataclasses import dataclass
from pathlib import Path

import polars as pl

from pipelines.sharing.consent import ELSEWHERE, Consents, consents
from pipelines.sharing.matching import Horses, no_code
from pipelines.store import Store, open_store
from pipelines.store.shared_store import RECORDED, record_doubts, record_share
from schemas.ledger import Warnings
from schemas.problem import Problem

NAMES = "select horse_id, horse_name, yard from accepted.horses"
ROWS = "select horse_id, load_id, source_file, source_row from accepted.horses"
LOADED = "select h.horse_id, l.started_at::date as on_day from accepted.horses h join ledger.loads l using (load_id)"


@dataclass(frozen=True)
class Earlier:
    """What another store knows. tables: of its ledger; horses: `NAMES` there; refused: `_refused`; called: its name."""

    tables: dict[str, pl.DataFrame]
    horses: pl.DataFrame
    refused: dict[str, dict[str, str]]
    called: str


def read_earlier(path: Path, store_path: Path) -> Earlier:
    """The summaries that another store knows, and whose owner does not agree there."""
    if path.resolve() == store_path.resolve():
        raise Problem(f"--earlier {path} is the store itself: name the one that earlier summaries were made from")
    if not path.exists():
        raise Problem(f"there is no store {path}: name with --earlier the one that earlier summaries were made from")
    with open_store(path, read_only=True) as store:
        tables = {name: store.sql(f"select * from ledger.{name} order by all") for name in RECORDED}
        days = {code: day.isoformat() for code, day in store.sql(LOADED).rows()}
        return Earlier(tables, store.sql(NAMES), _refused(consents(store), days), path.name)


def _refused(known: Consents, days: dict[str, str]) -> dict[str, dict[str, str]]:
    """What was said last of each horse that may not be shared there: said, and the day when it was read."""
    found = {}
    for code, horse in known.by_id.items():
        if held := known.held.get(code):
            found[code] = {"said": held.said, "on": held.read_on.isoformat()}
        elif not horse["agrees"]:
            found[code] = {"said": "no" if horse["answered"] else "", "on": days.get(code, "")}
    return found


def carry_over(store: Store, earlier: Earlier) -> tuple[str, ...]:
    """Write what another store knows into the ledger of an open one; what that has already, only once.

    Summaries are numbered after its own. A horse whose owner does not agree there is in doubt here, and so held, until
    its row is told again. Returns lines for the farrier: horses of those summaries that can't be told here.
    """
    horses = Horses(store.sql(NAMES))
    _hold(store, earlier, horses)
    known = store.sql("select sha256 from ledger.shares")["sha256"].to_list()
    last = store.sql("select coalesce(max(share_id), 0) as last from ledger.shares")["last"][0]
    new = earlier.tables["shares"].filter(~pl.col("sha256").is_in(known)).sort("share_id")["share_id"].to_list()
    if not new:
        return ()
    numbers = {before: last + place for place, before in enumerate(new, start=1)}
    rows = {name: _numbered(earlier.tables[name], numbers) for name in RECORDED}
    codes = {code: horses.code_of(code, name, yard) for code, name, yard in earlier.horses.rows()}
    in_them = set(rows["share_horses"]["horse_id"])
    untold = [one for one in earlier.horses.rows() if codes[one[0]] is None and one[0] in in_them]
    codes = {
        code: here or no_code(code, name)
        for (code, name, _), here in zip(earlier.horses.rows(), codes.values(), strict=True)
    }
    rows |= {
        name: rows[name].with_columns(pl.col("horse_id").replace(codes)) for name in ("share_horses", "share_units")
    }
    rows["shares"] = rows["shares"].with_columns(pl.lit(value=True).alias("carried_over"))
    record_share(store, rows | {"share_horses": rows["share_horses"].unique(maintain_order=True)})
    return tuple(_line(one, horses, earlier.called) for one in untold)


def _line(there: tuple[str, str, str | None], horses: Horses, store: str) -> str:
    code, name, _ = there
    return (
        f"{name} ({code} in {store}) cannot be told among the horses here: {horses.why_not(*there)}. Summaries that it "
        f"was in are called back as those of {no_code(code, name)}; where you know its owner still agrees, let them be"
    )


def _hold(store: Store, earlier: Earlier, horses: Horses) -> None:
    """Doubt the consent of every horse that one without consent there could be; the same word of there only once."""
    at = {row["horse_id"]: row for row in store.sql(ROWS).to_dicts()}
    told = store.sql(f"select row_json from ledger.warnings where rule = '{ELSEWHERE}'")["row_json"].to_list()
    doubts: dict[str, dict] = {}
    for code, name, yard in earlier.horses.rows():
        for one in horses.could_be(code, name, yard) if code in earlier.refused else ():
            word = earlier.refused[code]
            cells = {"horse_id": one, "share_with_vet": word["said"], "store": earlier.called, "on": word["on"]}
            text = json.dumps(cells, ensure_ascii=False)
            doubts |= {} if text in told else {text: at[one]}
    rows = [
        {
            **{name: row[name] for name in ("load_id", "source_file", "source_row")},
            "table_name": "horses",
            "rule": ELSEWHERE,
            "column_name": "share_with_vet",
            "value": json.loads(text)["share_with_vet"],
            "reason": f"the owner did not agree in {earlier.called}: publish the row again if the owner agrees now",
            "row_json": text,
        }
        for text, row in doubts.items()
    ]
    record_doubts(store, pl.DataFrame(rows, schema=Warnings.dtypes()))


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
