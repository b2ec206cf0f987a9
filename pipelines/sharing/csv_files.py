"""Shared tables as CSV files with a Data Package beside them; no cell is read as a formula by a spreadsheet.

`schemas.cells` says by which rule.
"""

import json
from pathlib import Path

import polars as pl

from schemas.base import Table
from schemas.cells import RULE, as_cells, as_it_was
from schemas.dictionary import table_schema
from schemas.shared import SHARED_TABLES


def write_csv_files(tables: dict[str, pl.DataFrame], folder: Path) -> list[Path]:
    """Write each shared table as `folder`/NAME.csv, and datapackage.json (datapackage.org) that describes them."""
    written = []
    for name in SHARED_TABLES:
        path = folder / f"{name}.csv"
        as_cells(tables[name]).write_csv(path)
        written.append(path)
    package = folder / "datapackage.json"
    package.write_text(json.dumps(_package(tables), indent=2, ensure_ascii=False) + "\n", encoding="utf-8")
    return [*written, package]


def read_csv_file(path: Path, declared: type[Table]) -> pl.DataFrame:
    """A shared table read back from its CSV file, text as it was, typed as declared."""
    raw = pl.read_csv(path, infer_schema=False)
    typed = [_typed(name, kind) for name, kind in declared.dtypes().items()]
    return declared.check(raw.select(typed))


def _typed(name: str, kind: pl.DataType) -> pl.Expr:
    if kind == pl.String:
        return as_it_was(pl.col(name)).alias(name)
    if kind == pl.Date:
        return pl.col(name).str.to_date()
    return pl.col(name) == "yes" if kind == pl.Boolean else pl.col(name).cast(kind)


def _package(tables: dict[str, pl.DataFrame]) -> dict:
    return {
        "name": tables["cover"]["summary"][0],
        "title": "Shoeing summary",
        "description": f"What a farrier recorded of the horses of one vet practice. {RULE}",
        "profile": "tabular-data-package",
        "resources": [_resource(name, declared) for name, declared in SHARED_TABLES.items()],
    }


def _resource(name: str, declared: type[Table]) -> dict:
    return {
        "name": name,
        "path": f"{name}.csv",
        "profile": "tabular-data-resource",
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "schema": table_schema(declared),
    }
