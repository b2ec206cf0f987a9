"""Plain bars with their figure written at the end, one a row, from top to bottom as given."""

import altair as alt

from reports.charts.axes import NAMES, rows_down, sized
from reports.drawing import inline_data
from reports.theme import BLUE, INK

ROW = 24


def bars(rows: list[tuple[str, float, str]], most: float | None = None, colour: str = BLUE):
    """rows: label, length of the bar, the figure as written. most: the length of a full row, else the longest bar."""
    longest = most or max((length for _, length, _ in rows), default=0) or 1
    labels = [label for label, _, _ in rows]
    data = alt.Chart(
        inline_data([{"label": label, "length": length, "written": written} for label, length, written in rows])
    )
    # a fifth of the width is left free for the figures at the ends of the bars
    scale = alt.Scale(domain=[0, longest * 1.25], nice=False)
    across = alt.X(field="length", type="quantitative", axis=None, scale=scale)
    down = rows_down(labels, 0.3)
    strips = data.mark_bar(color=colour).encode(x=across, y=down)
    figures = data.mark_text(align="left", dx=5, color=INK, fontSize=11)
    written = figures.encode(x=across, y=down, text=alt.Text(field="written"))
    return sized([strips, written], len(rows) * ROW, NAMES)
