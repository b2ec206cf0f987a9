"""Plain bars with their figure written at the end, one a row, from top to bottom as given."""

from reports import svg
from reports.charts.axes import LONGEST, NAMES, RIGHT, shortened
from reports.drawing import Drawn, drawable
from reports.theme import BLUE, CHART_WIDTH, INK

ROW, THICK, TOP = 24.0, 17.0, 4.0
WRITTEN = 0.2  # of the width is left free for the figures at the ends of the bars


def bars(rows: list[tuple[str, float, str]], most: float | None = None, colour: str = BLUE) -> Drawn:
    """rows: label, length of the bar, the figure as written. most: the length of a full row, else the longest bar."""
    longest = most or max((length for _, length, _ in rows), default=0) or 1
    full = (CHART_WIDTH - RIGHT - NAMES) * (1 - WRITTEN)
    parts = []
    for place, (label, length, written) in enumerate(rows):
        middle = TOP + (place + 0.5) * ROW
        long = full * length / longest
        parts += [
            svg.label(drawable(shortened(label, LONGEST)), NAMES - 7, middle + 4, text_anchor="end"),
            svg.element("rect", x=NAMES, y=middle - THICK / 2, width=round(long, 2), height=THICK, fill=colour),
            svg.label(drawable(written), NAMES + long + 5, middle + 4, INK),
        ]
    return Drawn(tuple(parts), CHART_WIDTH, TOP + len(rows) * ROW + 4)
