"""Colours for light and dark paper, fonts, and how a chart looks.

A chart is drawn once, in the colours of light paper. The style sheet finds each of those colours in the SVG and gives
it the page's own variable, so that one picture follows the reader's scheme without a script.
"""

from dataclasses import dataclass
from typing import Any

# One family with the widths of Arial: what the labels were measured in is what every system can draw them in.
CHART_FONT = "Liberation Sans, Arial, Helvetica, sans-serif"
CHART_WIDTH = 360
SMALL_WIDTH = 172


@dataclass(frozen=True)
class Colour:
    """One role in both schemes, as #rrggbb. No two roles may share their light colour."""

    light: str
    dark: str


# The series are from Okabe & Ito's palette for all kinds of colour sight (jfly.uni-koeln.de/color, 2008), lightened for
# dark paper; every series also has its own dash or shape.
COLOURS = {
    "paper": Colour("#fbfaf6", "#13181c"),
    "card": Colour("#fffefc", "#1a2126"),
    "ink": Colour("#1b252c", "#e7ebed"),
    "soft": Colour("#4d5960", "#aab5bc"),
    "rule": Colour("#d8d4ca", "#38434b"),
    "grid": Colour("#e7e4dc", "#2a343b"),
    "accent": Colour("#8a3a1c", "#f0a27e"),
    "blue": Colour("#0072b2", "#5fb6e8"),
    "vermillion": Colour("#d55e00", "#ff9348"),
    "green": Colour("#008563", "#35c79d"),
    "amber": Colour("#b87800", "#f0b83a"),
    "grey": Colour("#737f86", "#8f9ba2"),
}

INK = COLOURS["ink"].light
SOFT = COLOURS["soft"].light
RULE = COLOURS["rule"].light
GRID = COLOURS["grid"].light
BLUE = COLOURS["blue"].light
VERMILLION = COLOURS["vermillion"].light
GREEN = COLOURS["green"].light
AMBER = COLOURS["amber"].light
GREY = COLOURS["grey"].light
CARD = COLOURS["card"].light


def chart_config() -> dict[str, Any]:
    """The Vega-Lite config of every chart. The page says what a chart shows, so the SVG carries no roles of its own."""
    return {
        "aria": False,
        "background": None,
        "font": CHART_FONT,
        "padding": 4,
        "view": {"stroke": None},
        "axis": {
            "labelFontSize": 11,
            "labelColor": INK,
            "labelLimit": 0,
            "titleFontSize": 11,
            "titleFontWeight": "normal",
            "titleColor": SOFT,
            "titlePadding": 6,
            "domainColor": RULE,
            "gridColor": GRID,
            "tickColor": RULE,
            "ticks": False,
            "labelPadding": 5,
        },
        "axisX": {"labelFlush": False},
        "axisY": {"domain": False},
        "legend": {
            "orient": "top",
            "direction": "horizontal",
            "title": None,
            "labelFontSize": 11,
            "labelColor": INK,
            "labelLimit": 0,
            "symbolSize": 90,
            "offset": 4,
        },
    }


def colour_rules() -> str:
    """CSS: the variables of both schemes, and one rule a colour that ties a chart's colours to them."""
    ties = "".join(
        f'.chart [{paint}="{colour.light}"]{{{paint}:var(--{name})}}\n'
        for name, colour in COLOURS.items()
        for paint in ("fill", "stroke")
    )
    return (
        f":root{{color-scheme:light dark;{_variables('light')}}}\n"
        f"@media screen and (prefers-color-scheme:dark){{:root{{{_variables('dark')}}}}}\n{ties}"
    )


def _variables(scheme: str) -> str:
    return "".join(f"--{name}:{getattr(colour, scheme)};" for name, colour in COLOURS.items())
