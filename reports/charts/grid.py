"""A grid of figures, tinted by how many are lost: one row a level, one column a step."""

from dataclasses import dataclass

from reports import svg
from reports.charts.axes import LONGEST, NAMES, RIGHT, shortened
from reports.drawing import Drawn, drawable
from reports.theme import BLUE, CHART_WIDTH, INK, SOFT

ROW, TALL_ROW, TOP = 25, 36, 36
DARKEST = 0.55  # opacity of the darkest tint: text stays readable on it in both schemes


@dataclass(frozen=True)
class Cell:
    """One figure as written, how dark it is (0 to 1), and what it rests on, written small below it."""

    written: str
    share: float
    under: str = ""


def grid(across: str, columns: list[str], rows: list[tuple[str, list[Cell | None]]]) -> Drawn:
    """rows: name and a cell a column, None where there is nothing to say; across: what the columns are."""
    height = TALL_ROW if any(cell and cell.under for _, cells in rows for cell in cells) else ROW
    step = (CHART_WIDTH - NAMES - RIGHT) / len(columns)
    middle = NAMES + step * len(columns) / 2
    parts = [svg.label(across, middle, 11, SOFT, text_anchor="middle")]
    parts += [svg.label(name, NAMES + (at + 0.5) * step, 29, text_anchor="middle") for at, name in enumerate(columns)]
    for place, (name, cells) in enumerate(rows):
        top = TOP + place * height
        written = drawable(shortened(name, LONGEST))
        parts.append(svg.label(written, NAMES - 7, top + height / 2 + 4, text_anchor="end"))
        for at, cell in enumerate(cells):
            parts += _cell(cell, NAMES + at * step, top, step, height) if cell else []
    return Drawn(tuple(parts), CHART_WIDTH, TOP + len(rows) * height + 4)


def _cell(cell: Cell, left: float, top: float, width: float, height: float) -> list[str]:
    tint = round(0.04 + (DARKEST - 0.04) * min(1.0, max(0.0, cell.share)), 3)
    box = {"x": left + 1, "y": top + 1, "width": width - 2, "height": height - 2}
    middle, line = left + width / 2, top + height / 2 + (-2 if cell.under else 4)
    parts = [
        svg.element("rect", **box, fill=BLUE, fill_opacity=tint),
        svg.label(cell.written, middle, line, INK, text_anchor="middle"),
    ]
    return [*parts, svg.label(cell.under, middle, line + 13, INK, 10.5, text_anchor="middle")] if cell.under else parts
