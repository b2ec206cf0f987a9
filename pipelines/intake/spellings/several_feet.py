"""A cell that names more feet than one where a row is one foot: both fronts, LF/RF, all round. Common practice, no
source.
"""

import re
from itertools import pairwise

from schemas.synonyms import SYNONYMS, plain
from schemas.words import FEET

SIDES = {"L": ("near", "nears", "nearside", "left", "lefts"), "R": ("off", "offs", "offside", "right", "rights")}
ENDS = {"F": ("fore", "fores", "front", "fronts"), "H": ("hind", "hinds", "back", "backs", "rear", "rears")}
PAIRS = frozenset({"fronts", "fores", "hinds", "backs", "rears", "nears", "lefts", "rights"})
OF_A_PAIR = frozenset({"both", "pair", "two", "2"})
ALL = frozenset({"all", "every", "each", "set", "feet"})
AND = re.compile(r"\band\b|[&+/]")
SIDE_OF = {name: side for side, names in SIDES.items() for name in names}
END_OF = {name: end for end, names in ENDS.items() for name in names}
CODES = {plain(foot): foot for foot in FEET} | {
    plain(name): foot for foot, names in SYNONYMS["foot"].items() for name in names if " " not in plain(name)
}
ROWS = {2: "two", 3: "three", 4: "four"}


def several_feet(text: str) -> str | None:
    """What to write instead of a text that names several feet; None where it names one, or none that is known."""
    said = plain(text).split()
    feet = _named_in_full(said)
    if len(feet) < 2 and (not feet or AND.search(text)):
        feet = _of_sides_and_ends(said, bool(AND.search(text)))
    if len(feet) < 2:
        return None
    return f"one row is one foot: write {ROWS[len(feet)]} rows, {', '.join(feet[:-1])} and {feet[-1]}"


def _named_in_full(said: list[str]) -> list[str]:
    """The feet named by a code, or by side and end together; each once."""
    pairs = pairwise(said)
    feet = {SIDE_OF[side] + END_OF[end] for side, end in pairs if side in SIDE_OF and end in END_OF.keys() - PAIRS}
    feet |= {CODES[word] for word in said if word in CODES}
    return [foot for foot in FEET if foot in feet]


def _of_sides_and_ends(said: list[str], joined: bool) -> list[str]:
    """The feet of one end, one side or all round, where a word says that more than one is meant."""
    sides = {SIDE_OF[word] for word in said if word in SIDE_OF}
    ends = {END_OF[word] for word in said if word in END_OF}
    several = (PAIRS | ALL) & set(said) or (OF_A_PAIR & set(said) and (sides or ends))
    if not several and not (joined and 2 in (len(sides), len(ends))):
        return []
    return [foot for foot in FEET if foot[0] in (sides or "LR") and foot[1] in (ends or "FH")]
