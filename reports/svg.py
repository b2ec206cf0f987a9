"""A picture put together from SVG elements: no script, no style attribute, no id, text escaped."""

from collections.abc import Iterable
from functools import cache, lru_cache
from html import escape
from typing import Any

FONT = "DejaVu Sans, Verdana, sans-serif"


def element(name: str, content: str = "", **attributes: Any) -> str:
    """One element. A trailing underscore and underscores in between are read as hyphens: stroke_width, class_.

    An attribute that is None is left out.
    """
    written = "".join(
        [f' {_hyphened(key)}="{_short(value)}"' for key, value in attributes.items() if value is not None]
    )
    return f"<{name}{written}>{content}</{name}>"


def text(words: str, x: float, y: float, size: float = 9, fill: str = "#1b252c", **attributes: Any) -> str:
    """Words at a point, in a font that is named because paper has no style sheet for pictures."""
    written = {"font_family": FONT} | attributes
    return element("text", escape(words), x=x, y=y, font_size=size, fill=fill, **written)


def label(words: str, x: float, y: float, fill: str = "#1b252c", size: float = 11, **attributes: Any) -> str:
    """Words at a point of a picture in a page, in the font and by the size of its charts."""
    return text(words, x, y, size, fill, font_family=None, **attributes)


def line(x1: float, y1: float, x2: float, y2: float, stroke: str, **attributes: Any) -> str:
    """A straight line."""
    return element("line", x1=x1, y1=y1, x2=x2, y2=y2, stroke=stroke, **attributes)


def picture(parts: Iterable[str], width: float, height: float, alt: str) -> str:
    """The whole picture. alt: what it shows, with figures, for who can't see it."""
    return element(
        "svg",
        f"<title>{escape(alt)}</title>" + "".join(parts),
        xmlns="http://www.w3.org/2000/svg",
        class_="chart",
        role="img",
        viewBox=f"0 0 {_short(width)} {_short(height)}",
        width=width,
        height=height,
    )


@cache
def _hyphened(key: str) -> str:
    return key.rstrip("_").replace("_", "-")


def _short(value: Any) -> str:
    kind = type(value)
    if kind is str:
        return _escaped(value)
    if kind is int:
        return str(value)
    return f"{value:.2f}".rstrip("0").rstrip(".") if isinstance(value, float) else str(value)


@lru_cache(maxsize=4096)
def _escaped(words: str) -> str:
    """Colours, classes and anchors are few and come again and again."""
    return escape(words)
