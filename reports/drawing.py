"""A chart as inline SVG: no script, no network, no style attribute, the same bytes on every run."""

import re
from contextlib import AbstractContextManager
from dataclasses import dataclass
from typing import Any
from xml.etree import ElementTree

import altair as alt
import vl_convert
from altair.utils import schemapi

from reports import svg
from reports.theme import chart_config

SVG = "http://www.w3.org/2000/svg"
_NOT_XML = re.compile("[\x00-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")
_NOISE = ("class", "role", "aria-roledescription", "aria-hidden", "pointer-events", "font-family")


@dataclass(frozen=True)
class Chart:
    """One picture. alt: what it shows, with figures, for who can't see it. caption: how to read it.

    name is unique within its page. picture: a Vega-Lite chart, or `Drawn`. small: one of several that stand side by
    side, `title` over it. tall: many rows, kept narrow.
    """

    name: str
    picture: Any
    alt: str
    caption: str = ""
    title: str = ""
    small: bool = False
    tall: bool = False


@dataclass(frozen=True)
class Drawn:
    """A picture put together by hand from elements of `reports.svg`: quick enough to make one for every horse."""

    parts: tuple[str, ...]
    width: float
    height: float


class Rows(alt.InlineData):
    """Values of a chart. Altair copies a chart at each step of building it; its rows never change."""

    def __deepcopy__(self, _memo: Any) -> "Rows":
        return self


def warm_up() -> None:
    """Start the converter, which takes a third of a second, so that the first chart need not wait for it."""
    vl_convert.vegalite_to_svg({"data": {"values": [{"a": 1}]}, "mark": "point", "encoding": {}})


def inline_data(rows: list[dict[str, Any]]) -> Rows:
    """Rows as the values of a chart. Dates must be ISO text and missing figures None."""
    return Rows(values=[{key: drawable(value) for key, value in row.items()} for row in rows])


def drawable(value: Any) -> Any:
    """Text without the characters an SVG may not hold (XML 1.0, section 2.2); anything else as it is."""
    return _NOT_XML.sub(" ", value) if isinstance(value, str) else value


def quickly_built() -> AbstractContextManager:
    """While it lasts, charts are built without holding each part against Vega-Lite's schema, as tests do."""
    return schemapi.debug_mode(False)


def to_svg(chart: Chart) -> str:
    """The chart as an SVG element for an HTML page. Its text is escaped, its ids start with the chart's name."""
    if isinstance(chart.picture, Drawn):
        return _framed(chart.picture, chart.alt)
    spec = chart.picture.to_dict(validate=False)
    root = ElementTree.fromstring(vl_convert.vegalite_to_svg(spec, config=chart_config()))
    _drop_noise(root)
    _name_ids(root, chart.name)
    root.attrib = {
        "class": "chart",
        "role": "img",
        "aria-label": drawable(chart.alt),
        "viewBox": root.attrib["viewBox"],
        "width": root.attrib["width"],
        "height": root.attrib["height"],
    }
    ElementTree.register_namespace("", SVG)
    return ElementTree.tostring(root, encoding="unicode")


def _framed(drawn: Drawn, alt_text: str) -> str:
    frame = {"class_": "chart", "role": "img", "aria_label": drawable(alt_text)}
    box = f"0 0 {drawn.width:g} {drawn.height:g}"
    return svg.element(
        "svg", "".join(drawn.parts), xmlns=SVG, **frame, viewBox=box, width=drawn.width, height=drawn.height
    )


def _drop_noise(root: ElementTree.Element) -> None:
    """Leave out what draws nothing: hidden paths, empty groups, and attributes the page answers for itself."""
    for parent in root.iter():
        for child in list(parent):
            if child.get("display") == "none" or child.get("d") == "M0,0h0v0h0Z":
                parent.remove(child)
        for attribute in _NOISE:
            parent.attrib.pop(attribute, None)


def _name_ids(root: ElementTree.Element, name: str) -> None:
    """Number ids in order of appearance: the converter counts on from chart to chart, pages must not depend on that."""
    ids = [element.attrib["id"] for element in root.iter() if "id" in element.attrib]
    named = {old: f"{name}-{number}" for number, old in enumerate(ids, start=1)}
    for element in root.iter():
        for attribute, value in element.attrib.items():
            if attribute == "id":
                element.attrib["id"] = named[value]
            elif "url(#" in value:
                element.attrib[attribute] = re.sub(r"url\(#([^)]*)\)", lambda match: f"url(#{named[match[1]]})", value)
