"""Where intervals run past eight weeks, and past what was agreed."""

from reports.charts.bars import bars
from reports.drawing import Chart
from reports.picking import Row
from reports.wording import level_name, percent


def share_over_eight_weeks(dimension: str, drawn: list[Row]) -> Chart:
    """Share of intervals of more than 56 days, levels in the order given."""
    rows = [(level_name(dimension, row["level"]), row["share_over_56"], percent(row["share_over_56"])) for row in drawn]
    said = "; ".join(f"{label} {written}" for label, _, written in rows)
    return Chart(
        "over-eight-weeks",
        bars(rows),
        f"Bars of the share of intervals longer than 8 weeks: {said}.",
        "Share of intervals longer than 8 weeks (56 days).",
    )
