"""How fast shoes come off within each stretch of their life: dots with ranges."""

from reports.charts.dots import Dot, dots, runs_off
from reports.charts.loss_rates import EDGE
from reports.drawing import Chart
from reports.picking import Row
from reports.wording import figure, span

PHASES = {
    "early": "First 14 days",
    "middle": "In between",
    "late": "Last 14 planned",
    "after_planned": "Past the plan",
}


def stretch(row: Row) -> str:
    """A stretch of a shoe's life in words: `Days 15 to 28`."""
    if row["phase"] != "age":
        return PHASES[row["phase"]]
    return f"Past day {row['day_from']}" if row["day_to"] is None else f"Days {row['day_from'] + 1} to {row['day_to']}"


def loss_hazard(name: str, drawn: list[Row], overall: float | None, said: str) -> Chart:
    """Losses per 1,000 shoe-days of the stretches given, in their order; overall: the rate of all shoes, dashed."""
    rows = [Dot(stretch(row), row["per_1000_days"], row["low"], row["high"]) for row in drawn]
    told = "; ".join(f"{row.label} {figure(row.value)} (likely {span(row.low, row.high)})" for row in rows)
    return Chart(
        f"hazard-{name}",
        dots(rows, "losses per 1,000 shoe-days", overall),
        f"Losses per 1,000 shoe-days {said}: {told}.",
        f"Losses for every 1,000 shoe-days {said}." + (EDGE if runs_off(rows, overall) else ""),
    )
