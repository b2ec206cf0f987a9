"""However a practice is told, its results are the same to the last digit, with nothing but the file's name."""

import importlib.util
from pathlib import Path

import duckdb
import pytest

from pipelines.cli import run
from schemas.exports import EXPORT_TABLES

TELLING_FILE = Path(__file__).parents[1] / "intake" / "telling.py"
AS_OF = "2026-11-01"
ABOUT_THE_FILES = ("rows_taken", "files_taken", "rows_set_aside")
"""Results that say which files were read and how many rows: these must differ."""


def load():
    spec = importlib.util.spec_from_file_location("telling", TELLING_FILE)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


TELLING = load()


def published(folder: Path) -> dict[str, list[tuple]]:
    """Accepted facts and results of an export, by table, once published."""
    store = folder / "practice.duckdb"
    places = ["--store", str(store), "--site", str(folder / "site"), "--as-of", AS_OF]
    assert run(["publish", str(folder / "export"), *places]) == 0
    with duckdb.connect(str(store), read_only=True) as con:
        names = con.sql("select table_name from information_schema.tables where table_schema = 'results'").fetchall()
        wanted = {f"results.{name}": "*" for (name,) in names if name not in ABOUT_THE_FILES}
        wanted |= {f"accepted.{name}": "* exclude (load_id, source_file, source_row)" for name in EXPORT_TABLES}
        return {name: con.sql(f"select {what} from {name} order by all").fetchall() for name, what in wanted.items()}


@pytest.fixture(scope="module")
def canonical(tmp_path_factory):
    folder = tmp_path_factory.mktemp("canonical")
    tables = TELLING.practice(11, horses=6)
    (folder / "export").mkdir()
    for name, table in tables.items():
        table.write_csv(folder / "export" / f"{name}.csv")
    return tables, published(folder)


@pytest.mark.parametrize("layout", TELLING.LAYOUTS, ids=lambda layout: layout.__name__)
def test_results_are_those_of_the_canonical_tables(canonical, tmp_path, layout):
    tables, expected = canonical
    teller = TELLING.Teller(5)
    TELLING.write(layout(teller, tables), tmp_path / "export", "cp1252", ";", title=True)
    found = published(tmp_path)
    assert found.keys() == expected.keys()
    assert [name for name in expected if found[name] != expected[name]] == []
    assert found["results.loss_rates"]
    assert found["results.retention"]
