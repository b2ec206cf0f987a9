"""What a reading says: the value, what was changed on the way, what is in doubt, why it could not be read."""

from dataclasses import dataclass, field
from typing import Any, NamedTuple

from schemas.fields import Meaning


class Reading(NamedTuple):
    """value: in the declared type, None where it could not be read or is blank.

    changed: short name of what was changed on the way in; None where it stood as declared. doubt: why the value was
    taken with a warning. why: what to write instead, where it could not be read. blank: the cell says that nothing
    is known. unit: the unit written with a measure, "" where there is none.
    """

    value: Any
    changed: str | None = None
    doubt: str | None = None
    why: str | None = None
    blank: bool = False
    unit: str = ""


@dataclass(frozen=True)
class Habits:
    """How a file is written. day_first: the order of numeric days, None where nothing settles it.

    latest_year: two digits of a year mean no later one. words: a practice's own words by column, plain → declared.
    comma: whether its decimal mark is a comma, None where nothing settles it.
    """

    day_first: bool | None = None
    latest_year: int = 2099
    words: dict[str, dict[str, str]] = field(default_factory=dict)
    comma: bool | None = None


def within(value: float, meaning: Meaning) -> bool:
    """Whether a number lies within the hard limits of its column."""
    return (meaning.low is None or value >= meaning.low) and (meaning.high is None or value <= meaning.high)
