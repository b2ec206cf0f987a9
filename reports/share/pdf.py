"""The summary on paper: a cover, then one page a horse; tagged for readers of the screen, A4 or Letter."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from itertools import pairwise
from pathlib import Path
from typing import Any

import polars as pl

from reports.share.fitting import rows_that_fit, taken
from reports.share.pages import read, templates
from reports.share.views import Horse, Summary, summary_of
from schemas.problem import Problem

SIZES = {"A4": "A4", "Letter": "letter"}
# Lines that the lists of a horse may take beside its pictures and sentences, by size of paper; found by trying, and
# less where it turns out that they do not fit.
ROOM = {"A4": 20, "Letter": 15}
LINE = 120  # characters of a question on one line
LESS = 2  # lines taken from the lists of a horse that does not fit its sheet, as often as need be

TAGGED = {"pdf_variant": "pdf/ua-1", "pdf_tags": True}

Rows = dict[int, dict[str, int]]


def write_pdf(tables: dict[str, pl.DataFrame], path: Path, size: str) -> Path:
    """Write the summary as one PDF (PDF/UA-1, ISO 14289-1). size: A4 or Letter; tables: all of `schemas.shared`.

    A horse's lists hold as many rows as fit one sheet, the newest; the heading of a list says how many there are.
    Raises Problem where the system's text library that the layout needs is not installed.
    """
    try:
        from weasyprint import HTML
    except OSError as error:
        raise Problem("the PDF needs the Pango library of your system: install it, or leave the PDF out") from error
    style = read("paper.css").replace("PAPER", SIZES[size])
    lay_out = partial(_laid_out, HTML, style)
    _fitted(summary_of(tables), ROOM[size], lay_out).write_pdf(path, **TAGGED)
    return path


def _laid_out(html: Any, style: str, summary: Summary, rows: Rows) -> Any:
    text = templates().get_template("paper.html").render(summary=summary, style=style, rows_of=rows)
    return html(string=text, url_fetcher=refusing()).render(**TAGGED)


def _fitted(summary: Summary, room: int, lay_out: Callable[[Summary, Rows], Any]) -> Any:
    """The whole laid out with each horse on one sheet. Those that take more are tried again by themselves."""
    rows = {horse.number: rows_that_fit(horse.lists, room - _asked(horse)) for horse in summary.horses}
    document = lay_out(summary, rows)
    tried = again = _too_long(document, summary.horses)
    while again:
        fewer = {horse.number: _fewer(horse, rows[horse.number]) for horse in again}
        again = [horse for horse in again if fewer[horse.number] != rows[horse.number]]
        rows |= fewer
        if again:
            again = _too_long(lay_out(replace(summary, horses=tuple(again)), rows), again)
    return lay_out(summary, rows) if tried else document


def _fewer(horse: Horse, rows: dict[str, int]) -> dict[str, int]:
    return rows_that_fit(horse.lists, taken(horse.lists, rows) - LESS)


def _asked(horse: Horse) -> int:
    """Lines that the questions take, with their heading."""
    return sum(-(-len(ask) // LINE) for ask in horse.asks) + 2 * bool(horse.asks)


def _too_long(document: Any, horses: Sequence[Horse]) -> list[Horse]:
    """The horses that take more than one page."""
    pages = list(enumerate(document.pages))
    first = {name: number for number, page in reversed(pages) for name in page.anchors}
    starts = [first[horse.anchor] for horse in horses]
    taken_up = (after - page for page, after in pairwise([*starts, len(pages)]))
    return [horse for horse, pages in zip(horses, taken_up, strict=True) if pages > 1]


def refusing() -> Any:
    """A fetcher that fetches nothing: the page holds all it needs, and any other address is a mistake."""
    from weasyprint.urls import FatalURLFetchingError, URLFetcher

    class Refusing(URLFetcher):
        def fetch(self, url, headers=None):
            raise FatalURLFetchingError(f"a summary loads nothing, and this was asked for: {url[:80]}")

    return Refusing()
