"""One point or comma with three digits behind it: a decimal mark, or a mark of thousands?"""

import re
from typing import NamedTuple

from pipelines.intake.spellings.said import within
from schemas.fields import Meaning

EITHER = re.compile(r"(?P<whole>[+\-−]?[1-9]\d{0,2})(?P<mark>[.,])(?P<rest>\d{3})")


class Settled(NamedTuple):
    """number: None where it may be either. form: how it was written. why: what to write instead. lone: whether only
    the column's limits tell which of the two it is.
    """

    number: float | None
    form: str | None = None
    why: str | None = None
    lone: bool = False


def settled(found: re.Match, factor: float, meaning: Meaning, comma: bool | None) -> Settled:
    """What the cell says. comma: whether the file's decimal mark is a comma, None where it does not tell.

    Where the file does not tell, the column's limits may; where both are possible it is not read.
    """
    sign, mark = found["whole"].replace("−", "-"), found["mark"]
    decimal, thousand = float(f"{sign}.{found['rest']}"), float(f"{sign}{found['rest']}")
    as_decimal = Settled(decimal, "decimal comma" if mark == "," else None)
    fits, fits_thousand = (within(number * factor, meaning) for number in (decimal, thousand))
    is_decimal = None if comma is None else (mark == ",") == comma
    if is_decimal or (mark == "." and not fits_thousand):
        return as_decimal
    if fits_thousand and (is_decimal is False or not fits):
        return Settled(thousand, "thousands mark", lone=is_decimal is None)
    return Settled(None, why=f"a thousand, or parts of one? write {thousand:.0f} or {_parts(decimal)}")


def _parts(number: float) -> str:
    """The number so that it can be read in one way only."""
    text = f"{number:g}"
    return f"{text}0" if EITHER.fullmatch(text) else text
