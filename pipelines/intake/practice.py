"""A practice's own layout file (TOML): what its headers and words cannot tell by themselves."""

import tomllib
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from pipelines.intake.spellings.several_feet import several_feet
from pipelines.intake.spellings.special import SPECIAL
from pipelines.intake.spellings.stand_ins import stands_in
from pipelines.intake.toml_lines import line_of, what_is_wrong
from schemas.exports import EXPORT_TABLES
from schemas.fields import Meaning
from schemas.problem import Problem
from schemas.synonyms import plain
from schemas.words import FEET

COLUMNS: dict[str, Meaning] = {name: m for table in EXPORT_TABLES.values() for name, m in table.columns().items()}
PARTS = ("headers", "words", "dates", "units", "defaults", "horses", "sheets")
UNITS = {"mm": ("mm", "cm", "in"), "km": ("km", "miles"), "kg": ("kg", "lb", "stone"), "weeks": ("weeks", "days")}


@dataclass(frozen=True)
class Practice:
    """headers: own header, plain → column. words: column → own word, plain → declared word. dates: their order.

    units: column → the unit of its bare numbers. defaults: column → the value of its blank cells. same: made key of a
    horse → the key it is kept under. apart: key made of a name and yard that two horses share → the column of horses
    that tells them apart. left_out: names of sheets or files that are none of the records. called: the file's
    name. written, text: all of it as it stands there.
    """

    headers: dict[str, str] = field(default_factory=dict)
    words: dict[str, dict[str, str]] = field(default_factory=dict)
    dates: str | None = None
    units: dict[str, str] = field(default_factory=dict)
    defaults: dict[str, str] = field(default_factory=dict)
    same: dict[str, str] = field(default_factory=dict)
    apart: dict[str, str] = field(default_factory=dict)
    left_out: tuple[str, ...] = ()
    called: str = ""
    written: dict[str, Any] = field(default_factory=dict)
    text: str = ""

    def leaves_out(self, *names: str) -> bool:
        """Whether a sheet that goes by one of these names is to be passed over."""
        return any(plain(own) == plain(name) for own in self.left_out for name in names)

    def line(self, part: str, about: str) -> int:
        """The line on which the file says this within a part, from 1."""
        return line_of(self.text, part, about)


def read_practice(path: Path) -> Practice:
    """The layout file at `path`. Raises Problem naming the file and the line where it cannot be used."""
    try:
        text = path.read_text(encoding="utf-8-sig")
        found = tomllib.loads(text)
    except OSError as error:
        raise Problem(f"{path} cannot be opened: {error.strerror}") from error
    except UnicodeDecodeError as error:
        raise Problem(
            f"{path} is no plain text in UTF-8: save it so in a text editor, not in a word processor"
        ) from error
    except tomllib.TOMLDecodeError as error:
        raise Problem(f"{path} {what_is_wrong(text, error)}") from error
    checked = _Checked(path, text)
    for part in found:
        if part not in PARTS:
            checked.refuse(part, None, f"there is no part [{part}]: use {', '.join(PARTS)}")
    words = _part(found, "words", checked)
    units = _part(found, "units", checked)
    defaults = _part(found, "defaults", checked)
    horses = checked.only("horses", _part(found, "horses", checked), ("same", "apart"))
    sheets = checked.only("sheets", _part(found, "sheets", checked), ("leave_out",))
    return Practice(
        headers={plain(own): checked.header(column, own) for own, column in _part(found, "headers", checked).items()},
        words={checked.column(c, "words", c): checked.words(c, own) for c, own in words.items()},
        dates=checked.order(found.get("dates", {})),
        units={checked.column(c, "units", c): checked.unit(c, unit) for c, unit in units.items()},
        defaults={checked.column(c, "defaults", c): checked.default(c, value) for c, value in defaults.items()},
        same=checked.same(horses.get("same", [])),
        apart=checked.apart(horses.get("apart", [])),
        left_out=checked.sheets(sheets.get("leave_out", [])),
        called=path.name,
        written=found,
        text=text,
    )


def _part(found: dict[str, Any], name: str, checked: "_Checked") -> dict[str, Any]:
    part = found.get(name, {})
    if not isinstance(part, dict):
        checked.refuse(name, None, f'[{name}] must be a part of its own with lines like: name = "value"')
    return part


@dataclass(frozen=True)
class _Checked:
    """Looks at what stands in the file; every complaint names the line."""

    path: Path
    text: str

    def refuse(self, part: str, about: str | None, why: str) -> None:
        """Raise Problem that names the line: that of `about` within the part, else that of the part itself."""
        raise Problem(f"{self.path} line {line_of(self.text, part, about)}: {why}")

    def column(self, column: Any, part: str, about: str) -> str:
        if not isinstance(column, str) or column not in COLUMNS:
            self.refuse(part, about, f'"{column}" is no column: schemas/README.md lists them')
        return column

    def header(self, column: Any, about: str) -> str:
        """A column, or one of a foot's group: "LF arrival"."""
        if column == "":
            return ""
        of_a_foot = str(column).partition(" ")
        if of_a_foot[0] in FEET and of_a_foot[2]:
            return f"{of_a_foot[0]} {self.column(of_a_foot[2], 'headers', about)}"
        return self.column(column, "headers", about)

    def words(self, column: str, own: Any) -> dict[str, str]:
        allowed = FEET if column == "foot" else COLUMNS[column].words
        if not isinstance(own, dict):
            needs = f'[words.{column}] needs lines like: "your word" = "{(allowed or ("word",))[0]}"'
            self.refuse("words", column, needs)
        if COLUMNS[column].kind == "text" and column not in SPECIAL:
            self.refuse("words", column, f"{column} is free text and stays as it is written: no words for it here")
        for word, meant in own.items():
            not_one = stands_in(word.strip(), column) or (several_feet(word) if column == "foot" else None)
            if not_one:
                self.refuse(f"words.{column}", word, f'"{word}" is no word for one {column}: {not_one}')
            if allowed and meant not in allowed:
                use = ", ".join(allowed)
                self.refuse(f"words.{column}", word, f'"{meant}" is no word for {column}: use one of {use}')
        return {plain(word): str(meant) for word, meant in own.items()}

    def default(self, column: str, value: Any) -> str:
        allowed = COLUMNS[column].words
        if isinstance(value, list | dict):
            self.refuse("defaults", column, f"{column} needs one value, not {value}")
        if allowed and value not in allowed:
            self.refuse("defaults", column, f'"{value}" is no word for {column}: use one of {", ".join(allowed)}')
        return ("no", "yes")[value] if isinstance(value, bool) else str(value)

    def horses(self, names: list[Any], about: str) -> None:
        """Raise Problem where a name is no text."""
        if odd := [name for name in names if not isinstance(name, str)]:
            self.refuse(
                "horses", about, f'{odd[0]} is no name: write a horse\'s name and yard, like "bramble, low yard"'
            )

    def only(self, part: str, there: dict[str, Any], keys: tuple[str, ...]) -> dict[str, Any]:
        """The part, once it is sure that nothing else stands in it."""
        for key in there:
            if key not in keys:
                self.refuse(part, key, f"there is no {key} under [{part}]: use {' or '.join(keys)}")
        return there

    def order(self, dates: Any) -> str | None:
        order = self.only("dates", dates, ("order",)).get("order") if isinstance(dates, dict) else dates
        if order not in (None, "day-first", "month-first"):
            self.refuse("dates", "order", f'order is "day-first" or "month-first", not "{order}"')
        return order

    def sheets(self, names: Any) -> tuple[str, ...]:
        if not isinstance(names, list) or not all(isinstance(name, str) for name in names):
            self.refuse("sheets", "leave_out", 'leave_out needs names of sheets or files, like ["Diary", "prices.csv"]')
        return tuple(names)

    def unit(self, column: str, unit: Any) -> str:
        allowed = UNITS.get(COLUMNS[column].unit, ())
        if unit not in allowed:
            use = f"use {', '.join(allowed)}" if allowed else "this column is always read in its own unit"
            self.refuse("units", column, f'"{unit}" is no unit for {column}: {use}')
        return unit

    def same(self, groups: Any) -> dict[str, str]:
        if not isinstance(groups, list) or not all(isinstance(group, list) and len(group) > 1 for group in groups):
            needs = 'same needs groups of two or more, like [["bramble, low yard", "bramble, top yard"]]'
            self.refuse("horses", "same", needs)
        for group in groups:
            self.horses(group, "same")
        return {key_of(other): key_of(group[0]) for group in groups for other in group[1:]}

    def apart(self, pairs: Any) -> dict[str, str]:
        if not isinstance(pairs, list) or not all(isinstance(pair, list) and len(pair) == 2 for pair in pairs):
            needs = 'apart needs pairs of a horse and a column, like [["bramble, low yard", "foaled_year"]]'
            self.refuse("horses", "apart", needs)
        self.horses([horse for horse, _ in pairs], "apart")
        for _, column in pairs:
            if column not in EXPORT_TABLES["horses"].columns():
                self.refuse("horses", "apart", f'"{column}" is no column of horses: schemas/README.md lists them')
        return {key_of(horse): column for horse, column in pairs}


def key_of(said: str) -> str:
    """The key that is made of a horse's name and yard, as a person writes the two."""
    return ", ".join(plain(part) for part in said.split(","))
