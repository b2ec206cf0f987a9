"""Open the one DuckDB file, or say in one line why that cannot be done."""

import re
import tempfile
from pathlib import Path

import duckdb

from schemas.base import Problem

# Two threads and 4 GB carry five million foot rows. Bulk rows stay in memory until the commit, since rows written
# ahead of it change the file even where they are rolled back. Nothing is ever fetched from the network.
SETTINGS = {
    "threads": 2,
    "memory_limit": "4GB",
    "enable_optimistic_write": False,
    "autoinstall_known_extensions": False,
    "autoload_known_extensions": False,
}


def connect(path: Path | None, *, read_only: bool) -> duckdb.DuckDBPyConnection:
    """A connection with our settings; path None keeps everything in memory. Raises Problem with one clear line."""
    if path is None:
        return _quiet(duckdb.connect(config={**SETTINGS, "temp_directory": tempfile.gettempdir()}))
    _refuse_path(path, read_only)
    try:
        settings = {**SETTINGS, "temp_directory": f"{path}.tmp"}
        return _quiet(duckdb.connect(path, read_only=read_only, config=settings))
    except duckdb.ConnectionException as error:
        raise Problem(f"{path} is open in this program already: close it there first") from error
    except duckdb.Error as error:
        raise Problem(_why(path, str(error))) from error


def _quiet(connection: duckdb.DuckDBPyConnection) -> duckdb.DuckDBPyConnection:
    """Without the bar that DuckDB draws over slow queries wherever it takes Python for a prompt."""
    return connection.execute("set enable_progress_bar = false")


def _refuse_path(path: Path, read_only: bool) -> None:
    if path.is_dir():
        raise Problem(f"{path} is a folder: name a file for the store")
    if read_only and not path.exists():
        raise Problem(f"there is no store {path}: publish some records into it first")
    if not path.absolute().parent.is_dir():
        raise Problem(f"there is no folder {path.parent} to keep the store in: make it, or name another file")


def _why(path: Path, message: str) -> str:
    if "Could not set lock" in message or "used by another process" in message:
        holder = re.search(r"PID (\d+)", message)
        who = f"process {holder[1]}" if holder else "another process"
        return f"{path} is in use by {who}: wait until it is done, then try again"
    if "not a valid DuckDB database file" in message:
        return f"{path} is not a store of visit records: name another file"
    return f"{path} cannot be opened: {message.splitlines()[0]}"
