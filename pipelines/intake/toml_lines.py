"""Where a name stands in a TOML file, for a complaint that names the line."""

import re
import tomllib
from collections.abc import Iterator

PART = re.compile(r"\s*\[\s*(?P<part>[^\[\],]+?)\s*\]\s*(?:#.*)?$")
KEY = re.compile(r"""\s*(?:"(?P<quoted>(?:[^"\\]|\\.)*)"|'(?P<single>[^']*)'|(?P<bare>[\w-]+))\s*[=.]""")
AT = re.compile(r"at line (\d+)")


def line_of(text: str, part: str, about: str | None) -> int:
    """The line of a name within a part of a TOML file, from 1.

    Where it is no key there, the line that quotes it in that part, or else anywhere, or that of the part.
    """
    of_part, quoting = None, {}
    for number, inside, key, line in _lines(text):
        if about is not None and (inside, key) in ((part, about), (f"{part}.{about}", None)):
            return number
        if (inside, key) in ((part, None), ("", part)):
            of_part = of_part or number
        if about and _quotes(line, about):
            quoting.setdefault(inside == part, number)
    return quoting.get(True) or quoting.get(False) or of_part or 1


def _lines(text: str) -> Iterator[tuple[int, str, str | None, str]]:
    """Number, part, key and text of each line that is the head of a part (its key is None) or says something in it."""
    inside = ""
    for number, line in enumerate(text.splitlines(), start=1):
        if header := PART.match(line):
            inside = header["part"].replace('"', "").replace("'", "").replace(" ", "")
            yield number, inside, None, line
        elif line.strip() and not line.lstrip().startswith("#"):
            key = KEY.match(line)
            name = (key["quoted"] or key["single"] or key["bare"] or "") if key else ""
            yield number, inside, name.replace('\\"', '"').replace("\\\\", "\\"), line


def what_is_wrong(text: str, error: tomllib.TOMLDecodeError) -> str:
    """Where a file is no TOML and what to do, in plain words."""
    at = AT.search(str(error))
    number = int(at[1]) if at else max(len(text.splitlines()), 1)
    line = next(iter(text.splitlines()[number - 1 :]), "").strip()
    twice = _first_said(text, number)
    if twice:
        name, first = twice
        mend = "take one of the two lines out" if name.startswith('"') else "put all of it under the first"
        return f"line {number}: {name} stands there a second time, after line {first}: {mend}"
    curly = next((mark for mark in "“”„‘’" if mark in line), None)
    if curly:
        return f"line {number}: {curly} is no quotation mark here, write straight ones"
    return f'line {number} cannot be understood, {line}: write it like "your header" = "column", with these marks'


def _first_said(text: str, number: int) -> tuple[str, int] | None:
    """The name on this line, and an earlier line of the same part that has it; None where none has."""
    lines = [(at, inside, key) for at, inside, key, _ in _lines(text)]
    own = next(((inside, key) for at, inside, key in lines if at == number), None)
    first = next((at for at, inside, key in lines if own == (inside, key) and at < number), None)
    return (f"[{own[0]}]" if own[1] is None else f'"{own[1]}"', first) if own and first else None


def _quotes(line: str, text: str) -> bool:
    return f'"{text}"' in line or f"'{text}'" in line
