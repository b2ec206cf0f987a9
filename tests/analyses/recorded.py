"""A small record in memory: drawn tables in, one analysis's results out."""

from datetime import date
from functools import cache

import duckdb
import polars as pl

from schemas.derived import DERIVED_TABLES
from schemas.exports import EXPORT_TABLES
from schemas.ledger import LEDGER_TABLES

LOADED = {"load_id": pl.Int64, "source_file": pl.String, "source_row": pl.Int64}


class Record:
    """derived.*, accepted.* and ledger.* with every declared column; a table that is not given is empty."""

    def __init__(self, tables: dict[str, pl.DataFrame], as_of: date, season: tuple[date, date] | None):
        self.connection = duckdb.connect()
        self.connection.execute("create schema derived; create schema accepted; create schema ledger")
        for name, table in LEDGER_TABLES.items():
            self._write(f"ledger.{name}", table.empty())
        for name, table in {**DERIVED_TABLES, **EXPORT_TABLES}.items():
            self.replace(name, tables.get(name, table.empty()))
        self._set("as_of", as_of)
        if season:
            self._set("season_start", season[0])
            self._set("season_stop", season[1])

    def counts(self, module) -> dict[str, pl.DataFrame]:
        return {name: self.connection.sql(query).pl() for name, query in module.COUNTS.items()}

    def results(self, module) -> dict[str, pl.DataFrame]:
        return getattr(module, module.__name__.rpartition(".")[2])(self.counts(module))

    def replace(self, name: str, frame: pl.DataFrame) -> None:
        schema = "derived" if name in DERIVED_TABLES else "accepted"
        if schema == "accepted":
            frame = frame.with_columns(pl.lit(None, kind).alias(column) for column, kind in LOADED.items())
        self._write(f"{schema}.{name}", frame)

    def _write(self, name: str, frame: pl.DataFrame) -> None:
        self.connection.register("drawn", frame)
        self.connection.execute(f"create or replace table {name} as from drawn")
        self.connection.unregister("drawn")

    def _set(self, name: str, day: date) -> None:
        self.connection.execute(f"set variable {name} = date '{day}'")


@cache
def _standing() -> Record:
    return Record({}, date(2026, 1, 1), (date(2025, 1, 1), date(2025, 12, 31)))


def counts_of(module, **tables) -> dict[str, pl.DataFrame]:
    """The counts of one analysis on these tables, the season being 2025. One record serves examples by the hundred."""
    standing = _standing()
    for name, frame in tables.items():
        standing.replace(name, frame)
    return standing.counts(module)


def results_of(module, **tables) -> dict[str, pl.DataFrame]:
    """The results of one analysis on these tables; see `counts_of`."""
    return getattr(module, module.__name__.rpartition(".")[2])(counts_of(module, **tables))
