"""What of a change of one foot is left once growth is taken away, as pages tell it."""

from reports.picking import Row
from reports.wording import BLANK, figure

CALL_VET_DEG = 3.0


def remains(row: Row) -> float:
    """What is left of a change once growth is taken away."""
    return row["change_deg"] - row["growth_deg"]


def growth_part(row: Row) -> str:
    """What growth explains of a change between arrivals; of two leavings there is none."""
    return figure(row["growth_deg"]) if row["angle_at"] == "arrival" else BLANK
