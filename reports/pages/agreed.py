"""The section on what was agreed: by kind of work, season and yard, beside what was done."""

from reports.charts.lateness import agreed_and_actual
from reports.page import Numbers, Section, table
from reports.picking import NOT_RECORDED, Results, Row, everything, in_order, known, rows
from reports.wording import days, figure, level_name, many, percent, whole
from schemas.words import SEASONS

HEADS = {"discipline": "Work", "season": "Season", "yard": "Yard"}
MOST_ROWS = 14
LATE = "Late: more than 7 days past the day agreed. Early and late are counted on intervals with a plan only."


def agreed(results: Results) -> Section | None:
    """What was agreed and what was done, on average; None where nothing was agreed."""
    every = everything(results, "interval_lengths")
    if every is None or every["planned_days"] is None:
        return None
    found = {dimension: _in_order(results, dimension) for dimension in HEADS}
    most = sorted(found["discipline"], key=lambda row: (-row["intervals_planned"], row["level"]))[:MOST_ROWS]
    drawn = [every, *[row for row in found["discipline"] if row in most]]
    return Section(
        "Is what was agreed kept?",
        _answer(every),
        (agreed_and_actual("discipline", drawn),),
        tuple(_numbers(dimension, levels) for dimension, levels in found.items() if levels),
        (LATE,),
    )


def _in_order(results: Results, dimension: str) -> list[Row]:
    """Levels with a plan: seasons in their order, others by how late they run, the latest first."""
    found = known(rows(results, "interval_lengths", dimension), "planned_days")
    if dimension == "season":
        return in_order(found, SEASONS)
    return sorted(found, key=lambda row: (row["level"] == NOT_RECORDED, -row["median_days_late"], row["level"]))


def _answer(every: Row) -> str:
    late = every["median_days_late"]
    middle = "on the day" if not late else f"{days(abs(late))} {'late' if late > 0 else 'early'}"
    return (
        f"{many(every['intervals_planned'], 'interval')} had a plan. Agreed were {figure(every['planned_days'])} days "
        f"on average, and they took {figure(every['done_days'])}. The middle visit came {middle}; "
        f"{percent(every['late_share'])} came more than a week late."
    )


def _numbers(dimension: str, found: list[Row]) -> Numbers:
    head = HEADS[dimension]
    heads = (head, "Agreed, days", "Done, days", "Days late, middle", "Late", "Intervals with a plan", "Horses")
    lines = [
        (
            level_name(dimension, row["level"]),
            figure(row["planned_days"]),
            figure(row["done_days"]),
            figure(row["median_days_late"]),
            percent(row["late_share"]),
            whole(row["intervals_planned"]),
            whole(row["horses"]),
        )
        for row in found
    ]
    return table(f"Agreed and done by {head.lower()}", heads, lines)
