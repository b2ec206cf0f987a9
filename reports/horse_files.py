"""The files of the horses' pages; where horses are many, every second one is written by a process on another core."""

import os
import pickle
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import polars as pl

from reports.page import Page, to_html
from reports.pages.horse import OF_A_HORSE, horse_file, horse_pages
from schemas.records import About
from schemas.results import HorseList

MANY_HORSES = 500


def write_page(page: Page, pages: tuple[Page, ...], about: About, folder: Path) -> Path:
    """Write one page into the folder; returns its path. pages: those of the navigation."""
    path = folder / page.file
    path.write_text(to_html(page, pages, about), encoding="utf-8", newline="\n")
    return path


def write_horses(results: dict[str, pl.DataFrame], about: About, pages: tuple[Page, ...], folder: Path) -> list[Path]:
    """One file a horse, in the order of their numbers; the same bytes whoever writes them."""
    listed = results.get("horse_list", HorseList.empty()).sort("page_no")["page_no"]
    named = tuple(Page(page.file, page.title, "") for page in pages)
    own = {name: results[name] for name in OF_A_HORSE if name in results}
    if len(listed) < MANY_HORSES or (os.cpu_count() or 1) < 2:
        _write_some(own, about, named, folder, 0, 1)
    else:
        with _another(own, about, named, folder, 1, 2):
            _write_some(own, about, named, folder, 0, 2)
    return [folder / horse_file(number) for number in listed]


def _write_some(
    results: dict[str, pl.DataFrame], about: About, pages: tuple[Page, ...], folder: Path, first: int, step: int
) -> None:
    """Every `step`th horse from the place `first`."""
    for page in horse_pages(results, about, first, step):
        write_page(page, pages, about, folder)


@contextmanager
def _another(*asked: object) -> Iterator[None]:
    """Another process does `_write_some` with these arguments meanwhile; raises RuntimeError where it fails."""
    with tempfile.TemporaryDirectory() as private:
        told = Path(private) / "asked"
        told.write_bytes(pickle.dumps(asked))
        command = [sys.executable, "-P", "-m", "reports.horse_files", str(told)]
        modules = os.environ | {"PYTHONPATH": os.pathsep.join(path for path in sys.path if path)}
        with subprocess.Popen(command, env=modules, stderr=subprocess.PIPE, text=True) as other:
            yield
            said = other.communicate()[1]
        if other.returncode:
            raise RuntimeError(f"the pages of every second horse were not written:\n{said}")


if __name__ == "__main__":
    _write_some(*pickle.loads(Path(sys.argv[1]).read_bytes()))
