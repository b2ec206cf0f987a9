"""A table of figures as HTML: plain Python, since a practice of thousands of horses has a million cells."""

import re
from itertools import repeat

from markupsafe import Markup, escape

from reports.page import Numbers

_SPECIAL = re.compile(r"[&<>\"']")


def numbers_html(numbers: Numbers) -> Markup:
    """The table with its caption, in a box that scrolls sideways; every text escaped."""
    caption = _escaped(numbers.caption)
    above = "" if numbers.folded else f'<p class="caption" aria-hidden="true">{caption}</p>\n'
    heads = "".join(
        [f'<th scope="col" class="{_escaped(column.holds)}">{_escaped(column.head)}</th>' for column in numbers.columns]
    )
    close = ' class="close"' if numbers.crowded else ""
    return Markup(
        f'{above}<div class="scroll" role="region" tabindex="0" aria-label="{caption}">\n<table{close}>\n'
        f"<caption>{caption}</caption>\n<thead>\n<tr>{heads}</tr>\n</thead>\n<tbody>\n{_rows(numbers)}</tbody>\n"
        "</table>\n</div>"
    )


def _rows(numbers: Numbers) -> str:
    if not numbers.rows:
        return f'<tr><td colspan="{len(numbers.columns)}">Nothing on record yet.</td></tr>\n'
    opened = [f'<td class="{_escaped(column.holds)}">' for column in numbers.columns]
    links = numbers.links or repeat("")
    written = []
    for place, (row, link) in enumerate(zip(numbers.rows, links, strict=False)):
        first = _escaped(row[0])
        head = f'<a href="{_escaped(link)}">{first}</a>' if link else first
        cells = "".join([f"{opened[at]}{_escaped(cell)}</td>" for at, cell in enumerate(row[1:], 1)])
        faint = ' class="faint"' if place in numbers.faint else ""
        written.append(f'<tr{faint}><th scope="row">{head}</th>{cells}</tr>\n')
    return "".join(written)


def _escaped(text: str) -> str:
    return str(escape(text)) if _SPECIAL.search(text) else text
