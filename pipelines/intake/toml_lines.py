"""Where a name stands in a TOML file, for a complaint that names the line."""

import re
from collections.abc import Iterator

PART = re.compile(r"\s*\[\s*(?P<part>[^\[\],]+?)\s*\]\s*(?:#.*)?$")
KEY = re.compile(r"""\s*(?:"(?P<quoted>(?:[^"\\]|\\.)*)"|'(?P<single>[^']*)'|(?P<bare>[\w-]+))\s*[=.]""")


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


def _quotes(line: str, text: str) -> bool:
    return f'"{text}"' in line or f"'{text}'" in line
