"""A bare number in a column whose other cells carry another unit than the declared one: read where one reading alone
is possible, never guessed. A sum in another money than the others of its column is never added to them.
"""

import re
from collections.abc import Callable, Iterable

from pipelines.intake.spellings.said import Habits, Reading, within
from schemas.fields import Meaning

MARK = re.compile(r"(?P<bare>.+) \(no unit, others in (?P<units>[a-z ]+)\)")
OF_A_LAYOUT_FILE = ("mm", "km", "kg", "weeks")
"""Declared units of the columns whose bare numbers a layout file may give another unit."""

OTHER_MONEY = re.compile(r".+ \(others in (?P<money>\S+)\)")
IN_OTHER_MONEY = " (others in {})"

Reader = Callable[[str, str, Meaning, Habits], Reading]


def marked(units: Iterable[str]) -> str:
    """What is put behind such a number, so that the ledger and a report show why it was not read."""
    return f" (no unit, others in {' and '.join(units)})"


def read_without_unit(found: re.Match, column: str, meaning: Meaning, habits: Habits, reader: Reader) -> Reading:
    """The number in the declared unit or in that of the others, whichever the column's limits allow.

    Where both are possible, 500 among pounds, it is not read. Where only the other is, 8.4 among cm of a toe, it is
    taken with a warning. Where only the declared one is, 84 among cm, it is the declared one.
    """
    bare, units = found["bare"], found["units"].split(" and ")
    own, *others = (reader(text, column, meaning, habits) for text in (bare, *(f"{bare} {unit}" for unit in units)))
    possible = [one for one in (own, *others) if one.value is not None and within(one.value, meaning)]
    if len({one.value for one in possible}) > 1:
        ways = " or ".join(f"{bare} {unit}" for unit in (*units, meaning.unit))
        also = ", or say the unit in a layout file" if meaning.unit in OF_A_LAYOUT_FILE else ""
        return Reading(None, why=f"write {ways}{also}")
    if not possible or own in possible:
        return own
    value = possible[0].value
    among = f'{column} says "{bare}" without a unit among cells in {" and ".join(units)}'
    doubt = f"{among}: taken as {value:g} {meaning.unit}, the row is kept, look again"
    return Reading(value, "unit of the column's other cells", doubt)
