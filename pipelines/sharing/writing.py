"""From the second database to the files of a summary. Run as a process of its own, which sees nothing else.

`python -m pipelines.sharing.writing DATABASE FOLDER [--no-pdf] [--fhir]`
"""

import sys
from pathlib import Path

from pipelines.sharing.csv_files import write_csv_files
from pipelines.sharing.fhir import write_fhir
from pipelines.sharing.manifest import write_manifest
from pipelines.store.shared_store import read_shared
from reports.share import write_pages, write_pdf
from reports.share.pdf import SIZES
from schemas.problem import Problem

NOT_DONE = 2


def write_files(database: Path, folder: Path, *, pdf: bool, fhir: bool) -> str:
    """Write every file of a summary into `folder` from its own database; returns the SHA-256 of the manifest."""
    tables = read_shared(database)
    summary = tables["cover"]["summary"][0]
    write_pages(tables, folder)
    data = folder / "data"
    data.mkdir()
    write_csv_files(tables, data)
    if fhir:
        write_fhir(tables, data / "fhir.json")
    for size in SIZES if pdf else ():
        write_pdf(tables, folder / f"{summary}-{size}.pdf", size)
    return write_manifest(folder, summary)


def main(arguments: list[str]) -> None:
    """Print the SHA-256 of the manifest. What can't be done is one line on standard error, and exit code 2."""
    database, folder, *options = arguments
    try:
        digest = write_files(Path(database), Path(folder), pdf="--no-pdf" not in options, fhir="--fhir" in options)
    except Problem as problem:
        sys.stderr.write(f"{problem}\n")
        sys.exit(NOT_DONE)
    sys.stdout.write(digest + "\n")


if __name__ == "__main__":
    main(sys.argv[1:])
