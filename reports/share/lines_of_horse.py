"""One horse's rows as short sentences for paper, newest first: each can be read alone, in whatever order text is taken
off the sheet.
"""

from itertools import groupby
from typing import Any

from reports.page import Numbers
from reports.share.shoe_changes import listed_changes
from reports.wording import BLANK, FOOT_NAMES, from_to, level_name, plain

Rows = list[dict[str, Any]]


def lines(rows: dict[str, Rows], now: Numbers) -> dict[str, list[str]]:
    """The lists of a horse's sheet by name. now: what is on the feet, as `tables_of_horse` has it."""
    return {
        "now": [_on_foot(*row) for row in now.rows],
        "losses": [_loss(row) for row in reversed(rows["losses"])],
        "changes": _changes(rows["changes"]),
        "visits": [_visit(row) for row in reversed(rows["visits"])],
        "bruises": [_bruise(row) for row in reversed(rows["bruise_looks"]) if (row["bruise_grade"] or 0) >= 1],
    }


def _on_foot(foot: str, state: str, nailed_on: str, style: str, material: str) -> str:
    since = "" if nailed_on == BLANK else f", nailed on {nailed_on}"
    kind = ", ".join(word.lower() for word in (style, material) if word != BLANK)
    return f"{foot}: {state}{since}{f', {kind}' if kind else ''}"


def _loss(row: dict[str, Any]) -> str:
    when = from_to(row["lost_after"], row["lost_by"])
    days = from_to(row["days_least"], row["days_most"])
    cause = plain(row["cause"]).lower() if row["cause"] else "cause not told"
    return f"{when}: {FOOT_NAMES[row['foot']].lower()}, on for {days} days, {cause}"


def _changes(changes: Rows) -> list[str]:
    """One sentence a day."""
    days = groupby(listed_changes(changes), key=lambda one: one.day)
    return [f"{day}: {'; '.join(one.said for one in found)}" for day, found in days]


def _visit(row: dict[str, Any]) -> str:
    """`45 of 42 days`: since the round before, of those that were planned."""
    told = f"{row['visit_date']}: {level_name('visit_kind', row['visit_kind']).lower()}"
    if row["days"] is None:
        return told
    planned = "" if row["planned_weeks"] is None else f" of {7 * row['planned_weeks']:.0f}"
    return f"{told}, {row['days']}{planned} days"


def _bruise(row: dict[str, Any]) -> str:
    site = level_name("site", row["bruise_site"]).lower() if row["bruise_site"] else "site not told"
    again = ", same site again" if row["same_site_again"] else ", again" if row["again"] else ""
    return f"{row['visit_date']}: {FOOT_NAMES[row['foot']].lower()}, {site}, grade {row['bruise_grade']}{again}"
