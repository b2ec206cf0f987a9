"""Headers as people write them → the declared columns they may mean, and the row that holds them."""

import re
from functools import cache
from itertools import zip_longest
from typing import NamedTuple

from schemas.exports import EXPORT_TABLES
from schemas.synonyms import SYNONYMS, plain

DECLARED, WITHOUT_UNIT, ALSO = range(3)
UNIT_WORDS = re.compile(
    r" (mm|cm|in|ins|inches|deg|degrees|kg|lbs?|pounds|stone|km|miles|weeks|wks|days|mins|minutes|hours|hrs|hh|years?)$"
)
BRACKETS = re.compile(r"[(\[{]([^)\]}]*)[)\]}]")
TABLE_HEADER = "table"
"""Header of the first column of such a report: the table a row belongs to."""
REASONS_HEADER = "set aside because"
"""Header of the last column of a report of rows set aside; left out on the way in."""
ORIGIN_HEADER = "row of your records"
"""Header of the column before it: the file and row that each row of a report stood in; left out on the way in too."""
DOUBTS_HEADER = "accepted but look at"
"""Header of a report's sheet of doubts about rows that were accepted: nothing in it is a record."""


ON_A_FOOT = {"job": ("work",), "jobs": ("work",)}
"""Headers that mean this behind a foot alone: the job of a horse is its discipline. Common practice, no source."""


class Meant(NamedTuple):
    """A column a header may mean. rank: how close the header is to its declared name; foot: its group."""

    table: str
    column: str
    rank: int
    foot: str | None = None


def normal(header: str) -> str:
    """A header without what people vary: case, marks, a unit or remark in brackets. A foot in brackets stays."""
    kept = BRACKETS.sub(lambda found: f" {found[1]} " if foot_of(plain(found[1])) else " ", header)
    return plain(re.sub(r"[^\w\s./&'’\-]", " ", kept))


@cache
def foot_of(said: str) -> str | None:
    """The foot a plain text names; None where it names none."""
    return _feet().get(said)


@cache
def _feet() -> dict[str, str]:
    names = {plain(foot): foot for foot in SYNONYMS["foot"]}
    return names | {plain(name): foot for foot, others in SYNONYMS["foot"].items() for name in others}


@cache
def _names() -> dict[str, tuple[Meant, ...]]:
    found: dict[str, dict[tuple[str, str], int]] = {}
    for table, model in EXPORT_TABLES.items():
        for column, meaning in model.columns().items():
            said = plain(column)
            spellings = [(said, DECLARED), (UNIT_WORDS.sub("", said), WITHOUT_UNIT)]
            spellings += [(plain(other), ALSO) for other in meaning.also]
            for text, rank in spellings:
                ranks = found.setdefault(text, {})
                ranks[table, column] = min(rank, ranks.get((table, column), rank))
    return {text: tuple(Meant(*place, rank) for place, rank in ranks.items()) for text, ranks in found.items()}


@cache
def meanings_of(header: str) -> tuple[Meant, ...]:
    """Every column a header may mean, closest first."""
    said = normal(header)
    if not said or said in (REASONS_HEADER, ORIGIN_HEADER):
        return ()
    alone = _names().get(said) or _names().get(UNIT_WORDS.sub("", said)) or ()
    return tuple(sorted(alone or _of_a_group(said), key=lambda meant: meant.rank))


def may_mean(header: str) -> Meant | None:
    """What a header may mean to one who can look at it: the closest column, or for a foot alone what was done to it.

    A foot alone is never read so unasked: it may as well head sizes of shoes, or ticks.
    """
    foot = foot_of(normal(header))
    return next(iter(meanings_of(header)), None) or (Meant("feet", "work", ALSO, foot) if foot else None)


def _of_a_group(said: str) -> tuple[Meant, ...]:
    """A column of one foot's group: "lf angle in", "angle in near fore"."""
    for foot, text in foot_and_rest(said):
        named = _names().get(text) or _names().get(UNIT_WORDS.sub("", text)) or ()
        of_feet = [meant for meant in named if meant.table == "feet" and meant.column not in ("visit_id", "foot")]
        of_feet = of_feet or [Meant("feet", column, ALSO) for column in ON_A_FOOT.get(text, ())]
        if of_feet:
            return tuple(meant._replace(foot=foot) for meant in of_feet)
    return ()


def foot_and_rest(said: str) -> list[tuple[str, str]]:
    """Every way to cut a plain header into a foot, before or behind, and what is left of it."""
    parts, ways = said.split(" "), []
    for cut in range(min(3, len(parts) - 1), 0, -1):
        for words, rest in ((parts[:cut], parts[cut:]), (parts[-cut:], parts[:-cut])):
            foot = foot_of(" ".join(words))
            if foot:
                ways.append((foot, " ".join(rest)))
    return ways


def header_of(rows: list[list[str]]) -> tuple[list[str], int] | None:
    """The header among the first rows of a sheet, and its position: the row with most different headers known here.

    A row of feet above a row of headers (cells merged over each foot's columns) is drawn into it, and so is what else
    stands above blank cells of that row. Where no row has two headers known here it is the first row with anything
    written in it; None where all are blank.
    """
    best, most = None, 1
    for at, row in enumerate(rows):
        for header in [row, _under(rows[at - 1], row)] if at else [row]:
            known = len({(found[0].column, found[0].foot) for text in header if (found := meanings_of(text))})
            if known > most:
                best, most = (header, at), known
    if best is None:
        best = next(((row, at) for at, row in enumerate(rows) if any(text.strip() for text in row)), None)
    return best and ([text.strip() for text in best[0]], best[1])


def _under(above: list[str], row: list[str]) -> list[str]:
    """The row with the feet above it drawn in; a header that is none of a foot's ends the group before it."""
    if sum(foot_of(plain(text)) is not None for text in above) < 2:
        return row
    group, header = "", []
    for over, text in zip_longest(above, row, fillvalue=""):
        if over.strip():
            group = over if foot_of(plain(over)) else ""
        grouped = f"{group} {text}"
        if group and text.strip() and not meanings_of(grouped) and meanings_of(text):
            group = ""
        header.append(grouped if group and text.strip() else text.strip() or ("" if group else over))
    return header
