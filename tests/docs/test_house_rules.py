"""Lint and the import contracts are part of the tests, so that one command shows all."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
BIN = Path(sys.executable).parent
COMMANDS = {
    "ruff finds nothing": ["ruff", "check", "."],
    "the code is formatted": ["ruff", "format", "--check", "."],
    "every import keeps its contract": ["lint-imports"],
}


@pytest.mark.parametrize("command", COMMANDS.values(), ids=COMMANDS)
def test_house_rule(command):
    done = subprocess.run([BIN / command[0], *command[1:]], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
