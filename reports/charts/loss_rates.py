"""How often shoes come off, by level: dots with ranges."""

from reports.charts.dots import Dot, dots, runs_off
from reports.drawing import Chart
from reports.picking import Row, rate_limits
from reports.wording import figure, level_name, span

EDGE = " A line that ends at the right edge goes on beyond it."


def loss_rates(dimension: str, drawn: list[Row], overall: float | None) -> Chart:
    """Losses per 1,000 shoe-days of the levels given, in their order; overall: the rate of all shoes, dashed."""
    rows = [Dot(level_name(dimension, row["level"]), row["per_1000_days"], *rate_limits(row)) for row in drawn]
    caption = "Dot: losses per 1,000 shoe-days. Line: where the true figure likely lies."
    caption += "" if overall is None else f" Dashed: all shoes, {figure(overall)}."
    return Chart(
        f"rate-{dimension.replace('_', '-')}",
        dots(rows, "losses per 1,000 shoe-days", overall),
        "Losses per 1,000 shoe-days: " + "; ".join(_said(row) for row in rows) + ".",
        caption + (EDGE if runs_off(rows, overall) else ""),
    )


def _said(row: Dot) -> str:
    likely = "" if row.low is None else f" (likely {span(row.low, row.high)})"
    return f"{row.label} {figure(row.value)}{likely}"
