"""One cell → its value, and how it was understood."""

from collections.abc import Callable
from functools import cache

from pipelines.intake.spellings.days import read_day
from pipelines.intake.spellings.no_unit import MARK, OTHER_MONEY, read_without_unit
from pipelines.intake.spellings.numbers import read_number, read_whole
from pipelines.intake.spellings.said import Habits, Reading
from pipelines.intake.spellings.several_feet import several_feet
from pipelines.intake.spellings.special import SPECIAL
from pipelines.intake.spellings.stand_ins import may_be_its_name, stands_in
from schemas import words
from schemas.fields import Meaning
from schemas.synonyms import HAS_NONE, NOT_FILLED_IN, TOO_LITTLE_SAID, lookup, plain

__all__ = ["Habits", "Reading", "read"]

DASHES = frozenset("-–—.")
LONGEST_CELL = 100
"""No day, number or word is written longer: what is, is no such thing and need not be looked into."""


def read(text: str, column: str, meaning: Meaning, habits: Habits) -> Reading:
    """What a written cell of `column` says, in the declared form.

    Words and their synonyms, numbers with a unit or in another, days in the order the file is settled on, yes and no
    in any form. What could mean two things comes back unread with what to write instead.
    """
    cell = " ".join(text.split())
    if len(cell) > LONGEST_CELL:
        return Reading(cell if meaning.kind == "text" else None)
    if _says_nothing(cell, column, meaning):
        return Reading(None, "left blank", blank=True)
    own = habits.words.get(column, {}).get(plain(cell))
    if own is not None:
        cell = own
    too_little = too_little_said(cell, column, meaning.words)
    if too_little:
        return Reading(None, why=too_little)
    if meaning.kind == "text" and column not in SPECIAL:
        doubt = f'{column} says "{cell}": if that stands for the row above, write its name; else the row is kept'
        return Reading(cell, doubt=doubt if may_be_its_name(cell, column) else None)
    without_unit = MARK.fullmatch(cell) if meaning.kind == "number" else None
    if without_unit:
        return read_without_unit(without_unit, column, meaning, habits, _in_its_way)
    other_money = OTHER_MONEY.fullmatch(cell) if meaning.unit == "currency" else None
    if other_money:
        return Reading(None, why=f"two kinds of money in one column: write it in {other_money['money']}")
    return _in_its_way(cell, column, meaning, habits)


def too_little_said(cell: str, column: str, vocabulary: tuple[str, ...]) -> str | None:
    """What to write instead of a cell that could mean two things, several feet, or nothing of its own; else None."""
    if plain(cell) in _words_of(column, vocabulary):
        return None
    known = TOO_LITTLE_SAID.get(column, {}).get(plain(cell)) or stands_in(cell, column)
    return known or (several_feet(cell) if column == "foot" else None)


def _in_its_way(cell: str, column: str, meaning: Meaning, habits: Habits) -> Reading:
    if column in SPECIAL:
        return SPECIAL[column](cell, meaning, habits)
    return READERS[meaning.kind](cell, column, meaning, habits)


def _says_nothing(cell: str, column: str, meaning: Meaning) -> bool:
    if meaning.kind == "text" and column not in SPECIAL:
        return False
    if cell in DASHES:
        return meaning.kind != "yes_no" and "none" not in meaning.words
    said = plain(cell)
    if said in HAS_NONE.get(column, ()):
        return True
    return said in NOT_FILLED_IN and said not in _words_of(column, meaning.words)


@cache
def _words_of(column: str, vocabulary: tuple[str, ...]) -> dict[str, str]:
    return lookup(column, vocabulary)


def _word(cell: str, column: str, meaning: Meaning, _habits: Habits) -> Reading:
    said = plain(cell)
    table = _words_of(column, meaning.words)
    if cell in DASHES and "none" in meaning.words:
        return Reading("none", "word for it")
    if said not in table:
        return Reading(None)
    word = table[said]
    if cell == word:
        return Reading(word)
    return Reading(word, "capitals and spaces" if plain(word) == said else "word for it")


def _yes_no(cell: str, _column: str, _meaning: Meaning, _habits: Habits) -> Reading:
    said = cell.casefold().rstrip(".!")
    if said in words.YES:
        return Reading(True, "yes or no")
    if said in words.NO:
        return Reading(False, "yes or no")
    return Reading(None)


def _number(cell: str, column: str, meaning: Meaning, habits: Habits) -> Reading:
    return read_number(cell, column, meaning, habits)


def _whole(cell: str, column: str, meaning: Meaning, habits: Habits) -> Reading:
    return read_whole(cell, column, meaning, habits)


def _day(cell: str, column: str, _meaning: Meaning, habits: Habits) -> Reading:
    found = read_day(cell, habits)
    return found._replace(doubt=f"{column} {found.doubt}") if found.doubt else found


READERS: dict[str, Callable[[str, str, Meaning, Habits], Reading]] = {
    "word": _word,
    "number": _number,
    "integer": _whole,
    "date": _day,
    "yes_no": _yes_no,
}
