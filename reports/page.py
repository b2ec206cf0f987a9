"""A page: questions, each with a sentence that answers it, a picture and the numbers behind it."""

import re
from base64 import b64encode
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cache
from hashlib import sha256
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from reports.drawing import Chart, to_svg
from reports.theme import colour_rules
from reports.wording import BLANK, day, whole
from schemas.records import About

TEMPLATES = Path(__file__).parent / "templates"
OPEN_ROWS = 8  # longer tables stay folded until asked for
NARROW = 5  # columns that fit beside a picture
CROWDED = 10  # columns from which a table is set closer, so that its last one is not cut off
FOOT_FILES = 6  # files named in the foot of a page; the Data page has them all


@dataclass(frozen=True)
class Column:
    """One column of a table: its head, and what it holds: `figure` set to the right, `words`, or a `code` to break."""

    head: str
    holds: str = "figure"


@dataclass(frozen=True)
class Numbers:
    """A table: its caption, its columns and its rows as text.

    faint: numbers of rows that rest on too little. open: never folded, however long. links: where each row leads,
    blank for nowhere.
    """

    caption: str
    columns: tuple[Column, ...]
    rows: list[tuple[str, ...]]
    faint: frozenset[int] = frozenset()
    open: bool = False
    links: tuple[str, ...] = ()

    @property
    def folded(self) -> bool:
        """Whether the table is long enough to stay folded."""
        return len(self.rows) > OPEN_ROWS and not self.open

    @property
    def narrow(self) -> bool:
        """Whether the table is small enough to stand beside a picture."""
        return not self.folded and len(self.columns) <= NARROW

    @property
    def crowded(self) -> bool:
        """Whether the table has so many columns that they must stand closer."""
        return len(self.columns) >= CROWDED


@dataclass(frozen=True)
class Section:
    """One question. answer: one or more sentences; chart: pictures side by side, none where there is too little.

    links: files or pages it leads to, each with the words to press.
    """

    question: str
    answer: str
    chart: tuple[Chart, ...] = ()
    numbers: tuple[Numbers, ...] = ()
    notes: tuple[str, ...] = ()
    links: tuple[tuple[str, str], ...] = ()

    @property
    def anchor(self) -> str:
        """The section's id in its page."""
        return re.sub(r"[^a-z0-9]+", "-", self.question.lower()).strip("-")


@dataclass(frozen=True)
class Sentence:
    """One sentence of the season at a glance: its figure, what that counts, the rest, and the pages it leads to."""

    figure: str
    counts: str
    text: str
    links: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Page:
    """One file of the site. names_horses: the cautions go on it. ranges: how to read a range goes on it.

    under: the page of the navigation that it belongs to, where it has no place there itself.
    """

    file: str
    title: str
    lead: str
    sections: tuple[Section, ...] = ()
    sentences: tuple[Sentence, ...] = ()
    names_horses: bool = False
    ranges: bool = True
    remarks: tuple[str, ...] = field(default=())
    under: str = ""


def columns(*heads: str) -> tuple[Column, ...]:
    """Columns of a table whose first holds words and the others figures; a head ending ` *` words, ` **` a code."""
    first, *others = heads
    return (Column(first, "words"), *[_column(head) for head in others])


def _column(head: str) -> Column:
    if head.endswith(" **"):
        return Column(head.removesuffix(" **"), "code")
    return Column(head.removesuffix(" *"), "words" if head.endswith(" *") else "figure")


def table(caption: str, heads: tuple[str, ...], rows: list[tuple[str, ...]], faint: Iterable[int] = ()) -> Numbers:
    """A table of `columns(*heads)`. A last column that is blank in every row, as notes often are, is left out."""
    if not any(row[-1] for row in rows):
        heads, rows = heads[:-1], [row[:-1] for row in rows]
    return Numbers(caption, columns(*heads), rows, frozenset(faint))


def to_html(page: Page, pages: tuple[Page, ...], about: About) -> str:
    """The page as one HTML file that loads nothing."""
    return (
        _templates()
        .get_template("page.html")
        .render(
            page=page,
            pages=pages,
            about=about,
            files=about.files[:FOOT_FILES],
            more_files=max(0, len(about.files) - FOOT_FILES),
            style=style(),
            policy=policy(),
        )
    )


@cache
def style() -> str:
    """The one style sheet, as it stands in every page."""
    return colour_rules() + (TEMPLATES / "style.css").read_text(encoding="utf-8")


@cache
def policy() -> str:
    """The Content-Security-Policy: nothing is loaded and nothing runs; the one style sheet is known by its hash."""
    digest = b64encode(sha256(style().encode()).digest()).decode()
    return f"default-src 'none'; style-src 'sha256-{digest}'; img-src data:; base-uri 'none'; form-action 'none'"


@cache
def _templates() -> Environment:
    from reports.numbers_html import numbers_html  # which knows the table it writes

    environment = Environment(
        loader=FileSystemLoader(TEMPLATES, encoding="utf-8"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters |= {"day": day, "svg": to_svg, "whole": whole, "as_table": numbers_html}
    environment.globals["BLANK"] = BLANK
    return environment
