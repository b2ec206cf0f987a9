"""How far the columns of the record are filled."""

from reports.charts.bars import bars
from reports.drawing import Chart
from reports.picking import Row
from reports.wording import percent, plain


def completeness(columns: list[Row]) -> Chart:
    """Columns in the order given, with the share of their rows that are filled."""
    rows = [(f"{plain(row['column_name'])}", row["share"], percent(row["share"])) for row in columns]
    said = "; ".join(f"{label} {written}" for label, _, written in rows)
    return Chart(
        "completeness",
        bars(rows, most=1),
        f"Bars of the share of rows in which a column is filled: {said}.",
        "Share of rows in which the column is filled, emptiest first.",
    )
