"""The summary as pages that open from disk: one for the cover, one a horse. Nothing is loaded and nothing runs."""

from base64 import b64encode
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Any

import polars as pl
from jinja2 import Environment, FileSystemLoader, StrictUndefined

from reports import page
from reports.numbers_html import numbers_html
from reports.share.views import summary_of
from reports.wording import day, whole

TEMPLATES = Path(__file__).parent / "templates"


def write_pages(tables: dict[str, pl.DataFrame], folder: Path) -> list[Path]:
    """Write index.html and horse-N.html into `folder`. tables: every table of `schemas.shared`, by name."""
    summary = summary_of(tables)
    whole_style = page.style() + read("share.css")
    told: dict[str, Any] = {"summary": summary, "style": whole_style, "policy": policy(whole_style)}
    written = {"index.html": templates().get_template("index.html").render(**told)}
    for horse in summary.horses:
        written[horse.file] = templates().get_template("horse.html").render(horse=horse, **told)
    for name, html in written.items():
        (folder / name).write_text(html, encoding="utf-8")
    return [folder / name for name in written]


def policy(style: str) -> str:
    """The Content-Security-Policy of a page with this one style sheet, known by its hash."""
    digest = b64encode(sha256(style.encode()).digest()).decode()
    return f"default-src 'none'; style-src 'sha256-{digest}'; img-src data:; base-uri 'none'; form-action 'none'"


def read(name: str) -> str:
    """The text of a file beside the templates."""
    return (TEMPLATES / name).read_text(encoding="utf-8")


@cache
def templates() -> Environment:
    """The templates of a summary, and those of the site that it shares."""
    environment = Environment(
        loader=FileSystemLoader([TEMPLATES, page.TEMPLATES], encoding="utf-8"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters |= {"day": day, "whole": whole, "as_table": numbers_html}
    return environment
