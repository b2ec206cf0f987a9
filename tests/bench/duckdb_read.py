"""DuckDB merely reading the four CSV files into tables of a new file, types found by itself. Prints seconds."""

import sys
import tempfile
import time
from pathlib import Path

import duckdb

TABLES = ("horses", "visits", "feet", "losses")


def main():
    folder = Path(sys.argv[1])
    with tempfile.TemporaryDirectory() as place:
        began = time.perf_counter()
        with duckdb.connect(str(Path(place) / "read.duckdb")) as con:
            for table in TABLES:
                con.execute(f"create table {table} as from read_csv('{folder / table}.csv')")
        sys.stdout.write(f"{time.perf_counter() - began:.3f}\n")


if __name__ == "__main__":
    main()
