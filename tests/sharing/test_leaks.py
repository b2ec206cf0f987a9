"""Nothing private, no other vet's horse and no horse without consent is in any byte that is handed over."""

import shutil

import polars as pl
import pytest

from pipelines.sharing.sealing import VARIABLE, unseal
from pipelines.sharing.share import How, share
from pipelines.store.shared_store import write_shared
from schemas.base import TableError
from schemas.shared import SHARED_TABLES
from tests.sharing import practice
from tests.sharing.conftest import NOW
from tests.sharing.searching import found

WORDS = "four made up words"


@pytest.fixture(scope="module")
def handed_over(kept_store, tmp_path_factory):
    """One whole summary: pages, both PDFs, data and FHIR."""
    to = tmp_path_factory.mktemp("handed") / "over"
    share(shutil.copy(kept_store, to.parent / "store.duckdb"), practice.VET, to, How(NOW, fhir=True))
    return to


def test_no_marker_is_in_any_file_of_a_summary(handed_over, made):
    assert {path.suffix for path in handed_over.rglob("*.*")} == {".html", ".pdf", ".csv", ".json"}
    assert found(handed_over, practice.markers(made)) == set()


@pytest.mark.parametrize("suffix", [".html", ".csv", "fhir.json", "A4.pdf", "Letter.pdf"])
def test_the_search_finds_a_name_that_may_be_there_in_every_kind_of_file(handed_over, suffix):
    assert any(name.endswith(suffix) for name, _ in found(handed_over, {"Plain Horse 1"}))


def test_no_marker_is_in_the_zip_nor_in_what_it_unpacks_to(store, made, tmp_path, monkeypatch):
    monkeypatch.setenv(VARIABLE, WORDS)
    share(store, practice.VET, tmp_path / "to", How(NOW, fhir=True, pdf=False, encrypt=True))
    (closed,) = (tmp_path / "to").iterdir()
    unseal(closed, tmp_path / "opened", WORDS)
    marks = practice.markers(made)
    assert found(tmp_path / "to", marks | {"Plain Horse 1", WORDS}) == set(), "the zip is closed, and has no comment"
    assert found(tmp_path / "opened", marks) == set()
    assert any(name.endswith("index.html") for name, _ in found(tmp_path / "opened", {"Plain Horse 1"}))


def test_every_summary_of_all_vets_holds_its_own_horses_alone(store, made, tmp_path, plainly):
    outcomes = share(store, None, tmp_path / "to", plainly, all_vets=True)
    ours = next(one.folder for one in outcomes if one.vet == practice.VET)
    theirs = next(one.folder for one in outcomes if one.vet == practice.OTHER)
    assert found(ours, practice.markers(made)) == set()
    assert found(theirs, {"Plain Horse", "MARKowner", "MARKyard", "MARKfarrier", "MARKnotes", "MARKhorse_id"}) == set()
    assert found(theirs, {"MARKhorse3", "MARKhorse4"}) == set(), "no consent"
    assert found(theirs, {"MARKhorse5"}) != set()


@pytest.mark.parametrize("column", ["owner_name", "fee", "notes", "yard", "farrier"])
def test_a_column_that_is_not_declared_cannot_enter_the_second_database(column, tmp_path):
    tables = {name: table.empty() for name, table in SHARED_TABLES.items()}
    tables["horses"] = tables["horses"].with_columns(pl.lit("MARK").alias(column))
    with pytest.raises(TableError, match=column):
        write_shared(tmp_path / "summary.duckdb", tables)


def test_the_second_database_holds_the_shared_tables_and_nothing_else(tmp_path):
    import duckdb

    tables = {name: table.empty() for name, table in SHARED_TABLES.items()}
    write_shared(tmp_path / "summary.duckdb", tables)
    with duckdb.connect(tmp_path / "summary.duckdb", read_only=True) as con:
        there = con.execute("select schema_name || '.' || table_name from duckdb_tables() order by all").fetchall()
    assert [name for (name,) in there] == sorted(f"shared.{name}" for name in SHARED_TABLES)
