"""The ledger: every row read is accounted for, and a load that does not add up is refused."""

from datetime import UTC, date, datetime

import duckdb
import polars as pl

from pipelines.store.layout import COUNTS
from pipelines.store.loading import Taken
from schemas.base import TableError
from schemas.exports import EXPORT_TABLES, SELDOM
from schemas.ledger import Findings, LoadFiles, LoadTables, SetAside, Warnings
from schemas.records import Records

FINDINGS = ", ".join(Findings.columns())


def next_load_id(con: duckdb.DuckDBPyConnection) -> int:
    """The number of the next load, from 1."""
    return con.execute("select coalesce(max(load_id), 0) + 1 from ledger.load_tables").fetchall()[0][0]


def account(records: Records, taken: dict[str, Taken], load_id: int) -> pl.DataFrame:
    """`ledger.LoadTables` of one load. Raises TableError where its counts do not add up."""
    rows = [
        _account_one(records, name, taken[name], load_id)
        for name in EXPORT_TABLES
        if records.rows_read.get(name) or name not in SELDOM
    ]
    return LoadTables.check(pl.DataFrame(rows, schema=list(LoadTables.columns()), orient="row"))


def _account_one(records: Records, name: str, taken: Taken, load_id: int) -> tuple[int | str, ...]:
    read = records.rows_read.get(name, 0)
    changed = taken.changed + taken.overtaken
    unchanged = taken.unchanged + records.collapsed.get(name, 0) - taken.overtaken
    set_aside = read - taken.new - changed - unchanged
    reasons = records.set_aside.filter(table_name=name)
    # A row set aside has a reason or more; one line of a file may hold several rows of a table (a group a foot).
    least = reasons.select("source_file", "source_row").n_unique() if reasons.height else 0
    if not least <= set_aside <= reasons.height:
        raise TableError(
            f"{name}: {read} rows read, {taken.new} new, {changed} changed, {unchanged} unchanged leave "
            f"{set_aside}, but {reasons.height} reasons on {least} lines tell of rows set aside"
        )
    return load_id, name, read, taken.new, changed, unchanged, set_aside


def write_tables_and_findings(
    con: duckdb.DuckDBPyConnection, records: Records, tables: pl.DataFrame, load_id: int
) -> None:
    """Write down what became of each table of the load, its files, and every row set aside or doubted."""
    insert(con, "ledger.load_tables", tables)
    for name, table, rows in (
        ("load_files", LoadFiles, records.files),
        ("set_aside", SetAside, records.set_aside),
        ("warnings", Warnings, records.warnings),
    ):
        if rows.height:
            insert(con, f"ledger.{name}", table.check(rows.with_columns(load_id=pl.lit(load_id, pl.Int64))))


def write_load(
    con: duckdb.DuckDBPyConnection, load_id: int, as_of: date, started_at: datetime, finished_at: datetime
) -> None:
    """Close the load: one row with its totals, its files and its tables."""
    totals = ", ".join(f"sum({count})::bigint as {count}" for count in COUNTS)
    packed = ", ".join(["table_name := table_name", *(f"{count} := {count}" for count in COUNTS)])
    con.execute(
        f"""
        insert into ledger.loads by name
        select $load_id as load_id, $started::timestamp as started_at, $finished::timestamp as finished_at,
               $as_of::date as as_of, {totals},
               (select coalesce(list(struct_pack(name := file_name, sha256 := sha256, "rows" := "rows")), [])
                from ledger.load_files where load_id = $load_id) as files,
               list(struct_pack({packed})) as tables
        from ledger.load_tables where load_id = $load_id
        """,
        {"load_id": load_id, "as_of": as_of, "started": _utc(started_at), "finished": _utc(finished_at)},
    )


def insert(con: duckdb.DuckDBPyConnection, table: str, frame: pl.DataFrame) -> None:
    """Append a frame to a table, columns by name."""
    if frame.is_empty():
        return
    con.register("appended", frame.to_arrow(compat_level=pl.CompatLevel.newest()))
    con.execute(f"insert into {table} by name select * from appended")
    con.unregister("appended")


def _utc(moment: datetime) -> datetime:
    return moment.astimezone(UTC).replace(tzinfo=None) if moment.tzinfo else moment
