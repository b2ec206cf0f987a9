"""The summary on paper: a cover, then one page a horse; tagged for readers of the screen, A4 or Letter."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import polars as pl

from reports.share.pages import read, templates
from reports.share.views import summary_of
from schemas.problem import Problem

SIZES = {"A4": "A4", "Letter": "letter"}
# Rows of each table on a horse's page: what fits beside the pictures on one page of Letter. The caption says how many
# there are, and horse-N.html has them all. Questions to the vet take the place of rows, down to the least.
ROWS = {"visits": (10, 4), "losses": (3, 1), "changes": (3, 1), "bruises": (5, 2)}
LINE = 120  # characters of a question on one line


def rows_of(asks: Sequence[str]) -> dict[str, int]:
    """How many rows of each table there is room for on a page with these questions."""
    lines = sum(-(-len(ask) // LINE) for ask in asks)
    taken = {"visits": lines + 2, "losses": (lines + 1) // 2, "changes": (lines + 2) // 2, "bruises": lines + 1}
    return {name: max(least, most - taken[name] * bool(lines)) for name, (most, least) in ROWS.items()}


def write_pdf(tables: dict[str, pl.DataFrame], path: Path, size: str) -> Path:
    """Write the summary as one PDF (PDF/UA-1, ISO 14289-1). size: A4 or Letter; tables: all of `schemas.shared`.

    Raises Problem where the system's text library that the layout needs is not installed.
    """
    try:
        from weasyprint import HTML
    except OSError as error:
        raise Problem("the PDF needs the Pango library of your system: install it, or leave the PDF out") from error
    style = read("paper.css").replace("PAPER", SIZES[size])
    html = templates().get_template("paper.html").render(summary=summary_of(tables), style=style, rows_of=rows_of)
    HTML(string=html, url_fetcher=refusing()).write_pdf(path, pdf_variant="pdf/ua-1", pdf_tags=True)
    return path


def refusing() -> Any:
    """A fetcher that fetches nothing: the page holds all it needs, and any other address is a mistake."""
    from weasyprint.urls import FatalURLFetchingError, URLFetcher

    class Refusing(URLFetcher):
        def fetch(self, url, headers=None):
            raise FatalURLFetchingError(f"a summary loads nothing, and this was asked for: {url[:80]}")

    return Refusing()
