"""The section on booking: the share of shoes lost by each possible interval."""

from reports.charts.share_lost_by_weeks import share_lost_by_weeks
from reports.page import Numbers, Section, columns
from reports.pages.retention import note_of
from reports.picking import Results, Row, known, rows
from reports.wording import level_name, many, percent, percent_span

WEEKS = tuple(range(4, 11))


def booking(results: Results) -> Section:
    """The share of shoes lost by a booking at 4 to 10 weeks, by kind of work."""
    found = rows(results, "share_lost_by_weeks", "discipline")
    levels = sorted({row["level"] for row in found}, key=lambda level: (-_eight(found, level), level))
    drawn = [(level, known([row for row in found if row["level"] == level], "share_lost")) for level in levels]
    drawn = [(level, cells) for level, cells in drawn if cells]
    everyone = known(rows(results, "share_lost_by_weeks", "all"), "share_lost")
    grid = ([("all", everyone)] if everyone else []) + drawn
    return Section(
        "What share of shoes is lost by 4 to 10 weeks?",
        _booking_answer(found),
        (share_lost_by_weeks(grid),) if grid else (),
        (_booking_numbers(found, levels),) if levels else (),
    )


def _eight(found: list[Row], level: str) -> float:
    return next((row["share_lost"] or 0 for row in found if row["level"] == level and row["weeks"] == 8), 0)


def _booking_answer(found: list[Row]) -> str:
    at_eight = [row for row in found if row["weeks"] == 8]
    eight = known(at_eight, "share_lost")
    eight = known(eight, "low_left_out") or eight
    if len(eight) < 2:
        return "Too few shoes have been followed for 8 weeks to compare kinds of work." + note_of(
            [row for row in at_eight if row["share_lost"] is None]
        )
    most = max(eight, key=lambda row: (row["share_lost"], row["level"]))
    least = min(eight, key=lambda row: (row["share_lost"], row["level"]))
    return (
        f"By 8 weeks the share lost runs from {_with_range(least)} in {_work(least)} to {_with_range(most)} in "
        f"{_work(most)}: the two ends of {many(len(eight), 'kind', 'kinds')} of work."
    )


def _work(row: Row) -> str:
    return level_name("discipline", row["level"]).lower()


def _booking_numbers(found: list[Row], levels: list[str]) -> Numbers:
    cell = {(row["level"], row["weeks"]): row for row in found}
    lines = []
    for level in levels:
        told = [cell.get((level, week)) for week in WEEKS]
        lines.append((level_name("discipline", level), *[_with_range(row) for row in told]))
    heads = columns("Work", *[f"{week} weeks" for week in WEEKS])
    return Numbers("Share of shoes lost by booking interval, with the likely range", heads, lines)


def _with_range(row: Row | None) -> str:
    """A share and its range in brackets; a dash where the share is not known."""
    if row is None or row["share_lost"] is None:
        return "–"
    span = percent_span(row["low_left_out"], row["high_left_out"])
    return percent(row["share_lost"]) + ("" if row["low_left_out"] is None else f" ({span})")
