"""Axes of a known width: charts line up under one another, and the converter need not measure every label.

Measuring labels, for their limit and for fitting a chart into its width, took two fifths of the time of drawing.
"""

from collections.abc import Sequence
from typing import Any

import altair as alt

from reports.theme import CHART_WIDTH

NAMES = 116  # px kept for names at the left of rows
FIGURES = 36  # px kept for the figures of an upright axis
RIGHT = 10  # px kept for half a label at the right end
LONGEST = NAMES - 8  # px of a name that are drawn; the whole name stands in the table
SIZE = 11  # px of the letters of a label


def rows_down(names: list[str], gap: float = 0, field: str = "label") -> alt.Y:
    """One row a name, top to bottom as given; gap: the share of a row left free."""
    axis = alt.Axis(
        title=None,
        domain=False,
        minExtent=NAMES,
        maxExtent=NAMES,
        labelLimit=LONGEST if any(widest(name) > LONGEST for name in names) else 0,
    )
    return alt.Y(field=field, type="nominal", sort=names, axis=axis, scale=alt.Scale(paddingInner=gap))


def widest(name: str) -> float:
    """At most so many px wide is a name. A letter counts as wide as the widest of its kind in Liberation Sans."""
    return SIZE * sum(_em(letter) for letter in name)


def shortened(name: str, room: float) -> str:
    """The name, cut with … where it is wider than so many px."""
    if widest(name) <= room:
        return name
    end = len(name)
    while end and widest(name[:end].rstrip() + "…") > room:
        end -= 1
    return name[:end].rstrip() + "…"


def _em(letter: str) -> float:
    if letter in "iljtfI.,:;'’|!()[] ":
        return 0.35
    if letter in "mwMWOQGCD@%&—":
        return 1.02
    return 0.56 if letter.isascii() and not letter.isupper() else 0.73 if letter.isascii() else 1.02


def figures_up(field: str, **axis: Any) -> alt.Y:
    """An upright axis of figures; set its scale with `.scale()`."""
    return alt.Y(field=field, type="quantitative", axis=alt.Axis(minExtent=FIGURES, maxExtent=FIGURES, **axis))


def sized(layers: Sequence[alt.Chart], height: float, left: float, width: float = CHART_WIDTH) -> alt.LayerChart:
    """The layers, lowest first, on a field of this height, this wide in all; left: px kept for the axis at the left."""
    return alt.layer(*layers, width=width - left - RIGHT, height=height)
