from datetime import date

import polars as pl
import pytest

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
