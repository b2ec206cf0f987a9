import shutil
from datetime import datetime, timedelta
from pathlib import Path

import polars as pl
import pytest

from pipelines.sharing.gather import Wanted, gather
from pipelines.sharing.share import How
from pipelines.store import open_store
from schemas.shared import Asks
from tests.sharing import practice

NAUGHTY = '<script>alert(1)</script>"&'
NOW = datetime(2026, 11, 1, 12, 0)  # noqa: DTZ001 - UTC, as the ledger keeps it


@pytest.fixture(scope="session")
def made():
    return practice.tables()


@pytest.fixture(scope="session")
def kept_store(made, tmp_path_factory) -> Path:
    path = tmp_path_factory.mktemp("store") / "store.duckdb"
    practice.store_of(path, made)
    return path


@pytest.fixture
def store(kept_store, tmp_path) -> Path:
    """A store of the marked practice that a test may write into."""
    return Path(shutil.copy(kept_store, tmp_path / "store.duckdb"))


@pytest.fixture
def plainly() -> How:
    """Pages and files, without the PDF, which takes longest."""
    return How(NOW, pdf=False)


@pytest.fixture(scope="session")
def tables(kept_store):
    """The tables of one summary, with a naughty question, an error of readings and a summary to recall."""
    asks = Asks.check(
        pl.DataFrame(
            [("MARKhorse_idH0001", None, "LF", f"Is the bruise worth a look? {NAUGHTY}")],
            schema=Asks.dtypes(),
            orient="row",
        )
    )
    with open_store(kept_store) as store:
        day = store.last_as_of()
        made = gather(store, Wanted(practice.VET, day, contact="The forge"), asks).tables
    known = {"angle_sd_deg": 0.8, "least_change_deg": 1.96 * 2**0.5 * 0.8}
    recall = {"summary": ["shoeing-summary-2025-01-01-no1"], "shared_on": [day - timedelta(100)], "sha256": ["ab" * 32]}
    return made | {
        "cover": made["cover"].with_columns(**{name: pl.lit(value) for name, value in known.items()}),
        "recalls": pl.DataFrame(recall),
    }
