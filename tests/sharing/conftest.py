import shutil
from datetime import datetime
from pathlib import Path

import pytest

from pipelines.sharing.share import How
from tests.sharing import practice

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
