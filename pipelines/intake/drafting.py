"""A draft of a layout file, to be completed by hand: what was understood of each sheet, and what was not."""

from collections.abc import Iterable, Iterator

import polars as pl

from pipelines.intake.own_words import is_own_word, nearest_word, quoted, teachable
from pipelines.intake.practice import COLUMNS, Practice
from pipelines.intake.told import NOT_READ, Told
from pipelines.intake.toml_lines import PART
from schemas.fields import Meaning
from schemas.synonyms import plain
from schemas.words import FEET

EMPTY = """\
# How this practice writes its records. Lines that start with # do nothing: take the mark away to use them.
# Every column stands in schemas/README.md.

[headers]
# "your header" = "column", or "" to leave a column of yours out

[sheets]
# sheets or files that are none of the records: leave_out = ["Diary", "prices.csv"]

[dates]
# order = "day-first"
# order = "month-first"

[units]
# toe_arrival_mm = "cm"

[defaults]
# what a blank cell means, and what it always is where no column says it
# visit_kind = "routine"
# arrival = "on"
# discipline = "trail"

[horses]
# one horse kept under two names or yards: same = [["bramble, low yard", "bramble, top yard"]]
# two horses of one name in one yard, told apart by a column: apart = [["bramble, low yard", "foaled_year"]]
"""
NEW = "# New, to be completed. Lines that start with # do nothing: take the mark away to use them."


def draft(told: Iterable[Told], findings: pl.DataFrame, practice: Practice | None = None) -> str:
    """A commented draft of a layout file; all it adds is in comments, so that it changes nothing until completed.

    told: how each sheet was understood. findings: `ledger.Findings`, of which words that are not known are taken.
    practice: the layout file the sheets were read with, which stands in the draft as it was written.
    """
    lines = (practice.text if practice else EMPTY).splitlines()
    for part, added in [("headers", list(_headers(told, practice))), *_words(findings)]:
        if added:
            _put(lines, part, [NEW, *added] if practice else added, practice)
    return "\n".join(lines) + "\n"


def _headers(told: Iterable[Told], practice: Practice | None) -> Iterator[str]:
    """What each sheet's headers were read as, where no layout file did so, and those nobody knows; each header once,
    since a line holds for all sheets, and none that one sheet reads and another has no use for.
    """
    told = list(told)
    known = set(practice.headers if practice else ()) | {plain(name) for name in COLUMNS}
    meant: dict[str, set[str]] = {}
    for own, column in (pair for one in told for pair in one.named):
        meant.setdefault(plain(own), set()).add(column)
    offered = known | set(meant)
    for one in told:
        read = [] if practice else list(_named(one, meant))
        unknown = [own for own in dict.fromkeys(one.unknown) if plain(own) not in offered]
        offered |= {plain(own) for own in unknown}
        if unknown or not practice:
            yield f"# {one.source}: {one.says}"
            yield from read
            yield from (f'# "{quoted(own)}" = ""' for own in unknown)


def _named(one: Told, meant: dict[str, set[str]]) -> Iterator[str]:
    """What headers were read as; of a sheet that cannot be read yet what each may mean, as a line to be used.

    meant: plain header → its columns. One offered before is taken out of it; what means another column on another
    sheet is told by its sheet and needs no line.
    """
    if one.says != NOT_READ:
        yield from (f'# read so already: "{quoted(own)}" is {column}' for own, column in one.named)
        return
    lines = []
    for own, column in one.named:
        columns = meant.pop(plain(own), set())
        if len(columns) == 1:
            lines.append(f'# "{quoted(own)}" = "{column}"')
    if lines:
        yield "# what each may mean; use the line where it is right, or mend it:"
        yield from lines


def _words(findings: pl.DataFrame) -> Iterator[tuple[str, list[str]]]:
    """Words that no column knows, by part, each with the word it may be meant for."""
    unknown = findings.filter(is_own_word() & pl.col("value").is_not_null())
    unknown = unknown.select("column_name", pl.col("value").str.strip_chars()).unique(maintain_order=True)
    for (column,), rows in unknown.group_by("column_name", maintain_order=True):
        own = [word for word in rows["value"] if teachable(column, word)]
        if own:
            taught = [f'# "{quoted(word)}" = "{nearest_word(column, word) or ""}"' for word in own]
            yield f"words.{column}", [f"# one of: {', '.join(_allowed(column, COLUMNS[column]))}", *taught]


def _allowed(column: str, meaning: Meaning) -> tuple[str, ...]:
    if column == "foot":
        return FEET
    if meaning.kind == "yes_no":
        return "yes", "no"
    if meaning.kind == "integer" and meaning.low is not None and meaning.high is not None:
        return (f"{meaning.low:g} to {meaning.high:g}",)
    return meaning.words or ("a whole number",)


def _put(lines: list[str], part: str, added: list[str], practice: Practice | None) -> None:
    """Add lines under the head of a part, or as a part of their own; as mere comment where it is written elsewise."""
    heads = [at for at, line in enumerate(lines) if (head := PART.match(line)) and _name(head["part"]) == part]
    if heads:
        at = heads[0] + 1
        while practice is None and at < len(lines) and lines[at].startswith("#"):
            at += 1
        lines[at:at] = added
    else:
        lines += ["", f"# [{part}]" if _written(part, practice) else f"[{part}]", *added]


def _name(head: str) -> str:
    return head.replace('"', "").replace("'", "").replace(" ", "")


def _written(part: str, practice: Practice | None) -> bool:
    """Whether the practice's file says this part in another form than under a head of its own."""
    there = practice.written if practice else {}
    for name in part.split("."):
        if not isinstance(there, dict) or name not in there:
            return False
        there = there[name]
    return True
