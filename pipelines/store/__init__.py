"""The only place that opens DuckDB: one file with the rows in force, their history, and what follows from them."""

from pipelines.store.store import Store, open_store

__all__ = ["Store", "open_store"]
