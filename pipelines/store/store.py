"""The store: open it, take an export in, follow the shoes, keep the results; all of it or nothing."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime
from pathlib import Path

import duckdb
import polars as pl

from pipelines.store import accounts, deriving
from pipelines.store.layout import prepare
from pipelines.store.loading import Taken, note_overtaken, note_told_again, refuse_orphans, take_in_table
from pipelines.store.opening import connect
from pipelines.store.untold import telling_consent, with_what_stood
from schemas.base import Problem, Table, TableError
from schemas.exports import EXPORT_TABLES
from schemas.ledger import Findings
from schemas.records import Known, Records
from schemas.results import RESULT_TABLES


@contextmanager
def open_store(path: Path | None, *, read_only: bool = False) -> Iterator["Store"]:
    """The store in the file `path`, made where it is absent; None keeps it in memory.

    Nothing that is done to it stands before `commit()`: left without, the file is as it was before, or absent.
    Raises Problem with one clear line where the file is in use, no store of ours, or of a newer form.
    """
    path = None if path is None else Path(path)
    is_new = path is not None and not path.exists()
    con = connect(path, read_only=read_only)
    store = Store(con, str(path or "the store"))
    try:
        con.execute("begin")
        prepare(con, store.called, read_only=read_only)
        yield store
    finally:
        con.close()
        if is_new and not store.committed:
            _remove(path)


def _remove(path: Path) -> None:
    for part in (path, path.with_name(path.name + ".wal")):
        part.unlink(missing_ok=True)


class Store:
    """An open store. Everything happens in one transaction until `commit()`."""

    def __init__(self, con: duckdb.DuckDBPyConnection, called: str):
        self.called = called
        self.committed = False
        self._con = con
        self._load: tuple[int, date, datetime] | None = None

    def known(self) -> Known:
        """The horses and visits in force, and the last day on record, for checks across tables."""
        horses = self.sql("select horse_id, horse_name, yard from accepted.horses order by horse_id")
        visits = self.sql("select visit_id from accepted.visits order by visit_id")["visit_id"]
        last = self._one("""
            select greatest((select max(visit_date) from accepted.visits), (select max(found_off) from accepted.losses))
        """)
        return Known(horses["horse_id"], visits, last, horses)

    def take_in(self, records: Records, started_at: datetime) -> pl.DataFrame:
        """Bring an export into force and write down what became of every row. Returns `ledger.LoadTables` of this load.

        The load stands open until `finish_load`. Raises TableError where the counts do not add up, two rows share a
        key, or a row names a horse or visit that is not in force.
        """
        load_id = accounts.next_load_id(self._con)
        self._load = (load_id, records.as_of, started_at)
        taken = {name: self._take_table(name, table, records, load_id) for name, table in EXPORT_TABLES.items()}
        refuse_orphans(self._con)
        tables = accounts.account(records, taken, load_id)
        accounts.write_tables_and_findings(self._con, records, tables, load_id)
        if (horses := records.tables.get("horses")) is not None:
            note_told_again(self._con, telling_consent(horses, records), load_id)
        self._remember("losses", "loss_rows_read", "horse_id, foot, found_off, loss_id", records)
        self._remember("visits", "visit_rows_read", "visit_id", records)
        return tables

    def finish_load(self, finished_at: datetime) -> pl.DataFrame:
        """Close the load that was taken in last: its row in `ledger.loads`. Returns `ledger.LoadTables` of it."""
        if self._load is None:
            raise TableError("no load is open")
        load_id, as_of, started_at = self._load
        accounts.write_load(self._con, load_id, as_of, started_at, finished_at)
        self._load = None
        return self.sql(f"select * from ledger.load_tables where load_id = {load_id}")

    def derive(self, as_of: date, follow_up_days: int = 84, hemisphere: str = "north") -> None:
        """Rebuild the derived tables as of a day; losses and visits of an open load that do not fit it are doubted.

        follow_up_days: days a shoe is followed where nothing more is heard of it. hemisphere: north or south.
        """
        if hemisphere not in ("north", "south"):
            raise Problem(f"the hemisphere is north or south, not {hemisphere}")
        deriving.derive(self._con, as_of, follow_up_days, hemisphere, self._load and self._load[0])

    def set_season(self, start: date, stop: date) -> None:
        """Name the first and the last day of the season under review."""
        if start > stop:
            raise Problem(f"the season starts on {start} and stops before that, on {stop}")
        deriving.set_season(self._con, start, stop)

    def sql(self, query: str) -> pl.DataFrame:
        """What a query gives. Sums, which DuckDB gives as wide decimals, come back as Int64 or Float64."""
        frame = self._con.sql(query).pl()
        wide = {name: kind for name, kind in frame.schema.items() if kind == pl.Decimal}
        return frame.cast({name: pl.Float64 if kind.scale else pl.Int64 for name, kind in wide.items()})

    def write_results(self, results: dict[str, pl.DataFrame]) -> None:
        """Replace the named result tables, which the analyses have checked row by row.

        Only their form is looked at again: a frame that has not exactly the declared columns and types goes through
        the whole check once more. Raises TableError where a table is not declared or breaks its declaration.
        """
        for name, frame in results.items():
            if name not in RESULT_TABLES:
                raise TableError(f"results.{name} is not declared")
            self._con.execute(f"delete from results.{name}")
            accounts.insert(self._con, f"results.{name}", _in_form(RESULT_TABLES[name], frame))

    def results(self) -> dict[str, pl.DataFrame]:
        """Every result table, rows in the order in which they were written."""
        return {name: self._typed(f"results.{name}", table) for name, table in RESULT_TABLES.items()}

    def last_as_of(self) -> date | None:
        """The as-of date of the latest load; None where nothing was taken in yet."""
        return self._one("select arg_max(as_of, load_id) from ledger.loads")

    def latest_files(self) -> tuple[str, ...]:
        """Names of the files of the latest load."""
        return tuple(self.sql(f"select file_name from ledger.load_files {_LATEST}")["file_name"])

    def latest_warnings(self) -> pl.DataFrame:
        """`ledger.Findings`: the doubts of the latest load."""
        return self.sql(f"select {accounts.FINDINGS} from ledger.warnings {_LATEST}").cast(Findings.dtypes())

    def commit(self) -> None:
        """Make everything done so far stand. Raises Problem where the file cannot be written."""
        try:
            self._con.execute("commit")
            self.committed = True
            self._con.execute("begin")
        except (duckdb.IOException, duckdb.TransactionException) as error:
            raise Problem(f"{self.called} could not be written: {str(error).splitlines()[0]}") from error

    def rollback(self) -> None:
        """Undo everything since the store was opened or last committed."""
        self._con.execute("rollback")
        self._con.execute("begin")
        self._load = None

    def _take_table(self, name: str, table: type[Table], records: Records, load_id: int) -> Taken:
        rows = records.tables.get(name)
        if rows is None or rows.is_empty():
            return Taken()
        rows = with_what_stood(self._con, name, table, rows, records)
        taken = take_in_table(self._con, name, table, rows, load_id)
        overtaken = records.superseded.get(name)
        if overtaken is None or overtaken.is_empty():
            return taken
        noted = note_overtaken(self._con, name, table, overtaken, load_id)
        return Taken(taken.new, taken.changed, taken.unchanged, noted)

    def _remember(self, name: str, called: str, columns: str, records: Records) -> None:
        """Keep the rows of a table as this load read them, for the doubts that `derive` has about them."""
        table = EXPORT_TABLES[name]
        rows = records.tables.get(name, table.empty().with_columns(source_file=pl.lit(""), source_row=pl.lit(1)))
        row = ", ".join(f"{column} := {column}" for column in table.columns())
        self._con.register("read", rows)
        self._con.execute(
            f"create or replace temp table {called} as select {columns}, source_file, source_row, "
            f"to_json(struct_pack({row}))::varchar as row_json from read"
        )
        self._con.unregister("read")

    def _typed(self, table: str, declared: type[Table]) -> pl.DataFrame:
        return self.sql(f"select * from {table}").select(list(declared.columns())).cast(declared.dtypes())

    def _one(self, query: str):
        return self._con.execute(query).fetchall()[0][0]


_LATEST = "where load_id = (select max(load_id) from ledger.load_tables)"


def _in_form(table: type[Table], frame: pl.DataFrame) -> pl.DataFrame:
    return frame if frame.schema == table.dtypes() else table.check(frame)
