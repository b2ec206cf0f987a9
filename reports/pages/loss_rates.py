"""The sections that compare loss rates: one a dimension, with its question, its order and its own care."""

from collections.abc import Callable
from dataclasses import dataclass

from reports.charts.dots import MOST_ROWS
from reports.charts.loss_rates import loss_rates
from reports.page import Numbers, Section, columns
from reports.picking import Results, Row, apart, by_name, everything, highest_first, in_order, known, rate_limits, rows
from reports.wording import FOOT_NAMES, PACE_NAMES, figure, level_name, many, sentence, span, whole
from schemas.words import SEASONS

SHOE_DAYS = "1,000 shoe-days are 1,000 days with a shoe on: about 24 shoes for six weeks."
UNRANKED = (
    "Farriers stand in alphabetical order and are never ranked: each shoes other horses in other work, so a rate says "
    "nothing by itself about anyone’s work."
)


@dataclass(frozen=True)
class Comparison:
    """One dimension: the question asked of it, the head of its table, and the order its levels stand in."""

    dimension: str
    question: str
    head: str
    order: Callable[[list[Row]], list[Row]]
    notes: tuple[str, ...] = ()
    ranked: bool = True


def _by_rate(found: list[Row]) -> list[Row]:
    return highest_first(found, "per_1000_days")


FIRST = (Comparison("discipline", "Which kinds of work lose the most shoes?", "Work", _by_rate, (SHOE_DAYS,)),
         Comparison("foot", "Which foot loses the most shoes?", "Foot", lambda found: in_order(found, FOOT_NAMES)),
         )  # fmt: skip
LATER = (
    Comparison("pace", "Does fast work cost more shoes?", "Pace", lambda found: in_order(found, PACE_NAMES)),
    Comparison(
        "season",
        "In which season are shoes lost?",
        "Season",
        lambda found: in_order(found, SEASONS),
        ("A shoe belongs to the season in which it was nailed on.",),
    ),
    Comparison("shoe_style", "Does the style of shoe matter?", "Style", _by_rate),
    Comparison("yard", "Do yards differ?", "Yard", _by_rate),
    Comparison("farrier", "And by farrier?", "Farrier", by_name, (UNRANKED,), ranked=False),
)


def rate_sections(results: Results, first: bool) -> list[Section]:
    """The sections on discipline and foot (first), or those on pace, season, style, yard and farrier."""
    overall = everything(results, "loss_rates")
    rate = overall["per_1000_days"] if overall else None
    made = [_section(results, comparison, rate) for comparison in (FIRST if first else LATER)]
    return [section for section in made if section]


def _section(results: Results, comparison: Comparison, overall: float | None) -> Section | None:
    dimension = comparison.dimension
    found = comparison.order(rows(results, "loss_rates", dimension))
    if not found:
        return None
    drawn = _drawn(found)
    notes = [*comparison.notes, *_left_out(len(known(found, "per_1000_days")) - len(drawn))]
    return Section(
        comparison.question,
        _answer(dimension, found, overall, comparison.ranked),
        (loss_rates(dimension, drawn, overall),) if drawn else (),
        (_numbers(dimension, comparison.head, found),),
        tuple(notes),
    )


def _drawn(found: list[Row]) -> list[Row]:
    """At most so many levels as a picture can hold, those with the most shoe-days, in the order they stand in."""
    told = known(found, "per_1000_days")
    most = sorted(told, key=lambda row: (-row["shoe_days"], row["level"]))[:MOST_ROWS]
    return [row for row in told if row in most]


def _left_out(count: int) -> tuple[str, ...]:
    return (f"{many(count, 'more', 'more')} with fewer shoe-days are in the table only.",) if count else ()


def _answer(dimension: str, found: list[Row], overall: float | None, ranked: bool) -> str:
    told = known(found, "per_1000_days")
    if not told:
        return "Too little is on record to say." + "".join(
            {f" {sentence(row['note'])}" for row in found if row["note"]}
        )
    if not ranked:
        return (
            f"{many(len(found), 'farrier')} nailed on {many(sum(row['shoes'] for row in found), 'shoe')} between them; "
            f"{many(sum(row['losses'] for row in found), 'was', 'were')} lost."
        )
    if len(told) == 1:
        return f"Only {_said(dimension, told[0])} can be told: there is nothing to compare it with yet."
    return _highest_and_lowest(dimension, told, overall)


def _highest_and_lowest(dimension: str, told: list[Row], overall: float | None) -> str:
    upper = max(told, key=lambda row: (row["per_1000_days"], row["level"]))
    lower = min(told, key=lambda row: (row["per_1000_days"], row["level"]))
    sure = apart(rate_limits(upper), rate_limits(lower))
    verdict = "Their ranges do not overlap." if sure else "Their ranges overlap, so this may be chance."
    every = "" if overall is None else f" All shoes: {figure(overall)}."
    return f"Highest is {_said(dimension, upper)}, lowest {_said(dimension, lower)}. {verdict}{every}"


def _said(dimension: str, row: Row) -> str:
    low, high = rate_limits(row)
    likely = "" if low is None else f" (likely {span(low, high)})"
    name = level_name(dimension, row["level"])
    name = name if dimension in ("farrier", "yard") else name.lower()
    return f"{name} with {figure(row['per_1000_days'])}{likely} for every 1,000 shoe-days"


def _numbers(dimension: str, head: str, found: list[Row]) -> Numbers:
    lines = [
        (
            level_name(dimension, row["level"]),
            whole(row["horses"]),
            whole(row["shoes"]),
            whole(row["losses"]),
            figure(row["per_100_shoes"]),
            figure(row["per_1000_days"]),
            span(*rate_limits(row)),
            sentence(row["note"]),
        )
        for row in found
    ]
    heads = (head, "Horses", "Shoes", "Lost", "Lost per 100 shoes", "Lost per 1,000 shoe-days", "Likely", "Note *")
    faint = frozenset(place for place, row in enumerate(found) if row["note"])
    return Numbers(f"Lost shoes by {head.lower()}", *_without_empty_last(columns(*heads), lines), faint)


def _without_empty_last(heads: tuple, lines: list[tuple[str, ...]]) -> tuple[tuple, list[tuple[str, ...]]]:
    """The table without its column of notes where there are none."""
    if any(line[-1] for line in lines):
        return heads, lines
    return heads[:-1], [line[:-1] for line in lines]
