"""The sections that compare loss rates: one a dimension, with its question, its order and its own care."""

from collections.abc import Callable
from dataclasses import dataclass

from reports.charts.dots import MOST_ROWS
from reports.charts.loss_rates import loss_rates
from reports.page import Numbers, Section, table
from reports.pages.retention import chance_alone
from reports.picking import (
    FEWEST_HORSES,
    NOT_RECORDED,
    Results,
    Row,
    apart,
    by_name,
    everything,
    highest_first,
    in_order,
    known,
    rate_limits,
    rows,
)
from reports.wording import FOOT_NAMES, PACE_NAMES, figure, level_name, many, sentence, span, whole
from schemas.words import SEASONS

ENOUGH_SHOES = 100  # with fewer, one loss moves a rate by more than levels differ
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
        _answer(comparison, found, overall, chance_alone(results, dimension)),
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


def _answer(comparison: Comparison, found: list[Row], overall: float | None, tested: str) -> str:
    dimension = comparison.dimension
    told = _tellable(known(found, "per_1000_days"))
    if not told:
        return "Too little is on record to say." + "".join(
            {f" {sentence(row['note'])}" for row in found if row["note"]}
        )
    if not comparison.ranked:
        return _together(found)
    if not any(row["losses"] for row in found):
        return f"Of {many(sum(row['shoes'] for row in found), 'shoe')} none was lost."
    if len(told) == 1:
        return f"Lost for every 1,000 shoe-days {_said(dimension, told[0])}; there is nothing yet to compare it with."
    known_well = [row for row in told if row["horses"] >= FEWEST_HORSES and None not in rate_limits(row)]
    every = "" if overall is None else f" All shoes: {figure(overall)}."
    if len(known_well) < 2:
        return f"Too few horses stand behind them to set one beside another; the table has what was counted.{every}"
    if not any(row["losses"] for row in known_well):
        return f"Among those that can be compared no shoe was lost; the table has the others.{every}"
    text = _highest_and_lowest(dimension, known_well, _among(found, known_well))
    return text + _verdict(known_well, tested) + every


def _together(found: list[Row]) -> str:
    """Farriers counted together: no one is compared with another."""
    named = [row for row in found if row["level"] != NOT_RECORDED]
    shoes, lost = (sum(row[column] for row in found) for column in ("shoes", "losses"))
    unnamed = sum(row["shoes"] for row in found if row["level"] == NOT_RECORDED)
    rest = f" {many(unnamed, 'shoe has', 'shoes have')} no farrier on record." if unnamed else ""
    return f"{many(shoes, 'shoe')} nailed on by {many(len(named), 'farrier')}; {whole(lost)} lost.{rest}"


def _tellable(told: list[Row]) -> list[Row]:
    """The levels a sentence may name: with enough shoes, where two have; else all but shoes of no known level."""
    named = [row for row in told if row["level"] != NOT_RECORDED]
    enough = [row for row in named if row["shoes"] >= ENOUGH_SHOES]
    return enough if len(enough) > 1 else named


def _among(found: list[Row], told: list[Row]) -> str:
    """Says so where levels with fewer shoes, or fewer horses, were passed over."""
    left = [row for row in known(found, "per_1000_days") if row["level"] != NOT_RECORDED and row not in told]
    floors = []
    if all(row["shoes"] >= ENOUGH_SHOES for row in told) and any(row["shoes"] < ENOUGH_SHOES for row in left):
        floors.append(f"{ENOUGH_SHOES} shoes")
    if any(row["shoes"] >= ENOUGH_SHOES or not floors for row in left):
        floors.append(f"{FEWEST_HORSES} horses")
    return f" (of those with {' and '.join(floors)} or more)" if floors else ""


def _ends(told: list[Row]) -> tuple[Row, Row]:
    """The levels with the highest and the lowest rate."""
    by_rate = [(row["per_1000_days"], row["level"]) for row in told]
    return told[by_rate.index(max(by_rate))], told[by_rate.index(min(by_rate))]


def _highest_and_lowest(dimension: str, told: list[Row], among: str) -> str:
    upper, lower = _ends(told)
    return f"Lost for every 1,000 shoe-days{among}: most {_said(dimension, upper)}, fewest {_said(dimension, lower)}."


def _verdict(told: list[Row], tested: str) -> str:
    """What the test of the whole lives of shoes found, which decides; without one, whether the two ranges overlap."""
    if tested:
        return f" By whole lives of shoes:{tested[:2].lower()}{tested[2:]}"
    upper, lower = _ends(told)
    sure = apart(rate_limits(upper), rate_limits(lower))
    return " The two ranges do not overlap." if sure else " The two ranges overlap, so this may be chance."


def _said(dimension: str, row: Row) -> str:
    low, high = rate_limits(row)
    likely = "" if low is None else f" (likely {span(low, high)})"
    name = level_name(dimension, row["level"])
    where = f"at {name}" if dimension == "yard" else f"on “{name.lower()}”"
    return f"{where}, {figure(row['per_1000_days'])}{likely}"


def _numbers(dimension: str, head: str, found: list[Row]) -> Numbers:
    heads = (head, "Rate", "Likely", "Lost", "Shoes", "Per 100 shoes", "Horses", "Note *")
    faint = (place for place, row in enumerate(found) if row["note"])
    caption = f"Lost shoes by {head.lower()}; the rate is losses per 1,000 shoe-days"
    return table(caption, heads, [_line(dimension, row) for row in found], faint)


def _line(dimension: str, row: Row) -> tuple[str, ...]:
    return (
        level_name(dimension, row["level"]),
        figure(row["per_1000_days"]),
        span(*rate_limits(row)),
        whole(row["losses"]),
        whole(row["shoes"]),
        figure(row["per_100_shoes"]),
        whole(row["horses"]),
        sentence(row["note"]),
    )
