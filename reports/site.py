"""The set of pages: result tables in, one HTML file a page out."""

from pathlib import Path

import polars as pl

from reports.drawing import quickly_built
from reports.due_files import write_due_files
from reports.horse_files import write_horses, write_page
from reports.pages.angles import angles
from reports.pages.bruising import bruising
from reports.pages.data import data
from reports.pages.due import due
from reports.pages.glance import glance
from reports.pages.handedness import handedness
from reports.pages.horses import horses
from reports.pages.intervals import intervals
from reports.pages.lost_shoes import lost_shoes
from reports.pages.season import season
from reports.pages.workload import workload
from schemas.records import About

PAGES = (glance, due, lost_shoes, horses, intervals, bruising, angles, handedness, season, workload, data)


def write_site(results: dict[str, pl.DataFrame], about: About, folder: Path) -> list[Path]:
    """Write the site into `folder`, made where it is absent, and return its files: the front page first, horses last,
    then the due list for calendars and spreadsheets.

    results: tables of `schemas.results.RESULT_TABLES` by name; one that is missing reads as empty. The same results
    give the same bytes. Pages load nothing: no script, no font, no picture from outside.
    """
    with quickly_built():
        made = [make(results, about) for make in PAGES]
    pages = tuple(page for page in made if page)
    folder.mkdir(parents=True, exist_ok=True)
    written = [write_page(page, pages, about, folder) for page in pages]
    return [*written, *write_horses(results, about, pages, folder), *write_due_files(results, folder)]
