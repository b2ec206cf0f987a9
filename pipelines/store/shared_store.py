"""The second database: one file that holds the tables of one summary and nothing else."""

from pathlib import Path

import polars as pl

from pipelines.store import accounts
from pipelines.store.layout import Shape
from pipelines.store.opening import connect
from pipelines.store.store import Store
from schemas.ledger import LEDGER_TABLES
from schemas.shared import SHARED_TABLES

RECORDED = ("shares", "share_horses", "share_units")


def write_shared(path: Path, tables: dict[str, pl.DataFrame]) -> None:
    """Write one summary's tables into the new file `path`, every one of them checked against its declaration.

    Raises TableError where a table holds a column that is not declared, or breaks a rule.
    """
    with connect(path, read_only=False) as con:
        con.execute("create schema shared")
        for name, declared in SHARED_TABLES.items():
            con.execute(Shape("shared", name, declared).create())
            accounts.insert(con, f"shared.{name}", declared.check(tables[name]))


def read_shared(path: Path) -> dict[str, pl.DataFrame]:
    """Every table of the summary in the file `path`, as declared, rows in the order in which they were written."""
    with connect(path, read_only=True) as con:
        return {
            name: declared.check(con.sql(f"select * from shared.{name}").pl())
            for name, declared in SHARED_TABLES.items()
        }


def record_doubts(store: Store, rows: pl.DataFrame) -> None:
    """Add doubts about accepted rows to the ledger of an open store. rows: `ledger.warnings`."""
    accounts.insert(store._con, "ledger.warnings", LEDGER_TABLES["warnings"].check(rows))


def record_share(store: Store, rows: dict[str, pl.DataFrame]) -> None:
    """Add one summary to the ledger of an open store. rows: `ledger.shares`, `share_horses` and `share_units`."""
    for name in RECORDED:
        accounts.insert(store._con, f"ledger.{name}", LEDGER_TABLES[name].check(rows[name]))
