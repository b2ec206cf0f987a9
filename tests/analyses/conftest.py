from datetime import date

import polars as pl
import pytest

from pipelines.store import open_store
from tests.analyses.recorded import Record


@pytest.fixture
def record():
    """record(shoe_spells=…, season=…) → Record. Tables are frames of `drawing.draw`."""
    kept = []

    def make(as_of: date = date(2026, 1, 1), season: tuple[date, date] | None = None, **tables: pl.DataFrame) -> Record:
        kept.append(Record(tables, as_of, season))
        return kept[-1]

    yield make
    for each in kept:
        each.connection.close()


@pytest.fixture(scope="session")
def _one_store():
    with open_store(None) as store:
        store.commit()
        yield store


@pytest.fixture
def store(_one_store):
    """An empty store in memory; what a test does to it is undone."""
    yield _one_store
    _one_store.rollback()
