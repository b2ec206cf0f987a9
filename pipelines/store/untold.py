"""What an export does not tell of a row stays as it stands in the store."""

import duckdb
import polars as pl

from schemas.base import Table
from schemas.records import Records
from schemas.words import YES

CONSENT = "share_with_vet"

# Rows read since the one in force, about the same horse, that were not taken in as they stand and say no yes.
SAID_OTHERWISE = """
select distinct h.horse_id from accepted.horses h join (
    select load_id, row_json from ledger.set_aside where table_name = 'horses'
    union all
    select load_id, row_json from ledger.warnings where table_name = 'horses' and column_name = 'share_with_vet'
    union all
    select null, row_json from odd_now
) r on (r.load_id is null or r.load_id >= h.load_id) and (
    lower(trim(r.row_json ->> 'horse_id')) = lower(h.horse_id)
    or lower(trim(r.row_json ->> 'horse_name')) = lower(h.horse_name)
)
where json_exists(r.row_json, '$.share_with_vet')
    and rtrim(lower(trim(coalesce(r.row_json ->> 'share_with_vet', ''))), '.!') not in ({yes})
"""


def with_what_stood(
    con: duckdb.DuckDBPyConnection, name: str, table: type[Table], rows: pl.DataFrame, records: Records
) -> pl.DataFrame:
    """The rows with what the store holds in the columns that nobody told (`Records.untold`).

    Consent goes with them only where no row read since says otherwise: a changed row would stand as its last word.
    """
    marks = records.untold.get(name)
    columns = sorted({column for said in marks.unique() for column in said.split()}) if marks is not None else []
    if not columns or rows.is_empty():
        return rows
    key, content = table.key(), [column for column in table.columns() if column not in table.key()]
    con.register("told_keys", rows.select(key).to_arrow())
    stood = con.sql(f"from accepted.{name} semi join told_keys using ({', '.join(key)})").pl()
    stood = stood.select(list(table.columns())).cast(table.dtypes())
    joined = rows.join(stood, on=key, how="left", suffix="@stood", maintain_order="left")
    con.unregister("told_keys")
    masks = {column: marks.is_in([said for said in marks.unique() if column in said.split()]) for column in columns}
    merged = joined.with_columns(
        pl.when(pl.lit(mask)).then(pl.coalesce(f"{column}@stood", column)).otherwise(column).alias(column)
        for column, mask in masks.items()
    )
    if name == "horses" and CONSENT in masks and merged.select((masks[CONSENT] & pl.col(CONSENT)).any()).item():
        differs = pl.any_horizontal(pl.col(column).ne_missing(pl.col(f"{column}@stood")) for column in content)
        otherwise = pl.col("horse_id").is_in(_said_otherwise(con, records).implode())
        halted = merged.select(differs & otherwise).to_series() & masks[CONSENT]
        merged = merged.with_columns(pl.when(~halted).then(CONSENT).alias(CONSENT))
    return merged.select(rows.columns)


def telling_consent(horses: pl.DataFrame, records: Records) -> pl.DataFrame:
    """The horses of which this export tells the consent, be it blank."""
    marks = records.untold.get("horses")
    return horses if marks is None else horses.filter(~marks.str.split(" ").list.contains(CONSENT))


def _said_otherwise(con: duckdb.DuckDBPyConnection, records: Records) -> pl.Series:
    odd = records.set_aside.filter(table_name="horses").select("row_json")
    doubted = records.warnings.filter(table_name="horses", column_name=CONSENT).select("row_json")
    con.register("odd_now", pl.concat([odd, doubted]).to_arrow())
    found = con.sql(SAID_OTHERWISE.format(yes=", ".join(f"'{word}'" for word in YES))).pl()["horse_id"]
    con.unregister("odd_now")
    return found
