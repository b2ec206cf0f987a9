"""What call-outs for lost shoes took, as far as somebody wrote it down, and whether they are on record at all."""

from reports.picking import Results, Row, everything, rows
from reports.wording import hours, many, whole

RESTS = "A sum with two numbers behind it rests on that many of the visits: the others have no figure on record."


def took(row: Row) -> list[str]:
    """Hours and kilometres of the call-outs of a season, each with how many of them it rests on where not on all."""
    found = []
    if row["lost_shoe_minutes"]:
        found.append(f"{hours(row['lost_shoe_minutes'])}{_of(row['lost_shoe_timed'], row)}")
    if row["lost_shoe_km"]:
        found.append(f"{whole(row['lost_shoe_km'])} km of driving{_of(row['lost_shoe_driven'], row)}")
    return found


def _of(known: int, row: Row) -> str:
    called = row["lost_shoe_visits"]
    return "" if known >= called else f" (on record for {whole(known)} of {whole(called)})"


def on_record(results: Results) -> bool:
    """Whether call-outs are written down: not where shoes were lost and no visit of the whole record was for one."""
    return not _lost(results) or any(row["lost_shoe_visits"] for row in rows(results, "workload"))


def none_made(results: Results, otherwise: str) -> str:
    """The sentence where no visit of the season was for a lost shoe; otherwise: where that is what the record says."""
    if on_record(results):
        return otherwise
    return (
        f"Call-outs are not on record, though {many(_lost(results), 'shoe was', 'shoes were')} lost: a call-out "
        "belongs among the visits, with the kind lost_shoe."
    )


def _lost(results: Results) -> int:
    every = everything(results, "loss_rates")
    season = rows(results, "season_review")
    return max(every["losses"] if every else 0, *(row["losses"] for row in season), 0)
