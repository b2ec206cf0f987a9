"""Where a name stands in a TOML file, for a complaint that names the line."""

import re

PART = re.compile(r"\s*\[\s*(?P<part>[^\[\]]+?)\s*\]")
KEY = re.compile(r"""\s*(?:"(?P<quoted>(?:[^"\\]|\\.)*)"|'(?P<single>[^']*)'|(?P<bare>[\w-]+))\s*[=.]""")


def line_of(text: str, part: str, about: str | None) -> int:
    """The line of a name within a part of a TOML file, from 1; that of the part where the name is not found there."""
    inside, of_part = "", None
    for number, line in enumerate(text.splitlines(), start=1):
        if header := PART.match(line):
            inside = header["part"].replace('"', "").replace("'", "").replace(" ", "")
            if inside == part or (about and inside == f"{part}.{about}"):
                of_part = of_part or number
                if inside != part:
                    return number
        elif key := KEY.match(line):
            name = key["quoted"] or key["single"] or key["bare"] or ""
            name = name.replace('\\"', '"').replace("\\\\", "\\")
            if inside == part and name == about:
                return number
            if not inside and name == part:
                of_part = of_part or number
    return of_part or 1
