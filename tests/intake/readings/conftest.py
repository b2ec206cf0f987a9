import importlib.util
from pathlib import Path

import pytest


@pytest.fixture(scope="session")
def cells():
    """The tables of cells beside the tests."""
    spec = importlib.util.spec_from_file_location("cells", Path(__file__).with_name("cells.py"))
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module
