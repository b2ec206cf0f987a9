import pytest

from pipelines.store import open_store


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
