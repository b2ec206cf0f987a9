"""Groups to compare with: what may be told of them, and in one sentence what may not."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from reports.page import Numbers, table
from reports.wording import day, figure, level_name, listed, percent, percent_span, span, whole

Rows = list[dict[str, Any]]
MEASURES = {
    "lost_shoes": ("Shoes lost, by group", ("Group", "Shoes", "Lost", "Per 1,000 days", "Range", "Remark *")),
    "bruised_looks": ("Bruised looks, by group", ("Group", "Looks", "Bruised", "Share", "Range", "Remark *")),
}

ALONE = {"lost_shoes": "Shoes lost are", "bruised_looks": "Bruised looks are"}
BOTH = "Shoes lost and bruised looks are"


@dataclass(frozen=True)
class Group:
    """One measure. numbers: what is told, lines: the same in sentences for paper; hidden: what is not, blank if all is.

    What is hidden is named by the reader's own horses alone, so it tells nothing that the reader doesn't have.
    """

    numbers: Numbers
    lines: tuple[str, ...]
    hidden: str


def groups(peers: Rows, disciplines: Iterable[str]) -> tuple[Group, ...]:
    """peers: `schemas.shared` rows. disciplines: of the horses in the summary."""
    levels = ["all", *sorted(set(disciplines))]
    rows = {measure: [row for row in peers if row["measure"] == measure] for measure in MEASURES}
    untold = {measure: [level for level in levels if not _told(found, level)] for measure, found in rows.items()}
    alike = len(set(map(tuple, untold.values()))) == 1
    made = []
    for number, measure in enumerate(MEASURES, start=1):
        told = [row for level in levels for row in _told(rows[measure], level)]
        last = number == len(MEASURES)
        hidden = _hidden(untold[measure], BOTH if alike else ALONE[measure]) if last or not alike else ""
        made.append(_group(measure, rows[measure], told, hidden))
    return tuple(made)


def _told(rows: Rows, level: str) -> Rows:
    return [row for row in rows if row["level"] == level and (row["base"], row["events"]) != (None, None)]


def _hidden(untold: list[str], what: str) -> str:
    if not untold:
        return ""
    names = listed([_name(level).lower() for level in untold])
    return f"{what} not shown for {names}: that would rest on too few, or give away a count of too few."


def _group(measure: str, rows: Rows, told: Rows, hidden: str) -> Group:
    caption, heads = MEASURES[measure]
    until = f", to {day(rows[0]['counted_to'])}" if rows else ""
    numbers = table(caption + until, heads, [_cells(measure, row) for row in told])
    return Group(numbers, tuple(_line(measure, row) for row in told), hidden)


def _name(level: str) -> str:
    return "All horses" if level == "all" else level_name("discipline", level)


def _cells(measure: str, row: dict[str, Any]) -> tuple[str, ...]:
    value, limits = _parts(measure, row)
    counts = whole(row["base"]), whole(row["events"])
    return _name(row["level"]), *counts, value, limits, "" if row["note"] is None else "a part is hidden"


def _parts(measure: str, row: dict[str, Any]) -> tuple[str, str]:
    if measure == "lost_shoes":
        return figure(row["figure"], 2), span(row["low"], row["high"], 2)
    return percent(row["figure"]), percent_span(row["low"], row["high"])


def _line(measure: str, row: dict[str, Any]) -> str:
    value, limits = _parts(measure, row)
    name, base, events = _name(row["level"]), whole(row["base"]), whole(row["events"])
    lost = measure == "lost_shoes"
    if row["figure"] is None:
        return f"{name}: {base} {'shoes' if lost else 'looks'}, {events} {'lost' if lost else 'bruised'}; – is hidden"
    if lost:
        return f"{name}: {events} of {base} shoes lost, {value} per 1,000 shoe-days ({limits})"
    return f"{name}: {events} of {base} looks found a bruise, {value} ({limits})"


def beside(peers: Rows, measure: str, discipline: str) -> str:
    """The groups that may be set beside one horse's figure, in a sentence."""
    levels = {row["level"]: row for row in peers if row["measure"] == measure and row["figure"] is not None}
    told = [
        f"{_name(level).lower()} {value} ({limits})"
        for level in (discipline, "all")
        if level in levels
        for value, limits in [_parts(measure, levels[level])]
    ]
    if not told:
        return "No group may be shown beside it."
    return f"Beside it, to {day(next(iter(levels.values()))['counted_to'])}: {'; '.join(told)}."
