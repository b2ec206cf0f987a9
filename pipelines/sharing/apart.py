"""Write a summary in a process of its own: it opens the second database, and no other row is in its memory."""

import os
import subprocess
import sys
import tempfile
from pathlib import Path

import polars as pl

from pipelines.sharing.sealing import VARIABLE
from pipelines.sharing.writing import NOT_DONE
from pipelines.store.shared_store import write_shared
from schemas.problem import Problem


def write_apart(tables: dict[str, pl.DataFrame], folder: Path, *, pdf: bool, fhir: bool) -> str:
    """Write every file of a summary into `folder`; returns the SHA-256 of its manifest.

    tables: `schemas.shared`. They go into a database that holds nothing else, and that is all the other process gets.
    """
    with tempfile.TemporaryDirectory() as private:
        database = Path(private) / "summary.duckdb"
        write_shared(database, tables)
        options = [*([] if pdf else ["--no-pdf"]), *(["--fhir"] if fhir else [])]
        command = [sys.executable, "-P", "-m", "pipelines.sharing.writing", str(database), str(folder), *options]
        done = subprocess.run(command, env=_environment(), capture_output=True, text=True, check=False)
    if done.returncode == NOT_DONE:
        raise Problem(done.stderr.strip().splitlines()[-1])
    if done.returncode:
        raise RuntimeError(f"the files of a summary were not written:\n{done.stderr}")
    return done.stdout.strip().splitlines()[-1]


def _environment() -> dict[str, str]:
    """Ours, with the same modules to import, and without the passphrase."""
    kept = {name: value for name, value in os.environ.items() if name != VARIABLE}
    return kept | {"PYTHONPATH": os.pathsep.join(path for path in sys.path if path)}
