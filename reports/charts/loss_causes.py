"""What pulled the shoes, as reported."""

from reports.charts.bars import bars
from reports.drawing import Chart
from reports.picking import Row
from reports.wording import percent, plain, whole


def loss_causes(causes: list[Row]) -> Chart:
    """Reported causes, in the order given."""
    drawn = [
        (plain(row["cause"]), row["losses"], f"{whole(row['losses'])}  {percent(row['cause_share'])}") for row in causes
    ]
    said = "; ".join(f"{plain(row['cause'])} {whole(row['losses'])}" for row in causes)
    return Chart(
        "causes", bars(drawn), f"Bars of lost shoes by reported cause: {said}.", "Lost shoes by reported cause."
    )
