"""Table: the one door from a frame to a table. Problem: the one kind of error that is for people."""

from collections.abc import Iterator
from typing import Any

import pandera.polars as pa
import polars as pl

from schemas.fields import MEANINGS, Meaning
from schemas.problem import Problem

__all__ = ["Problem", "Table", "TableError", "column"]


_RULES: dict[type, list[pl.Expr]] = {}


class TableError(Exception):
    """A frame of ours does not keep its own declaration: a bug, never a person's mistake."""


def column(name: str, *, required: bool = False, total: bool = False) -> Any:
    """A pandera field for the column `name`, with limits, words and description from the one list of meanings.

    required: a blank cell breaks the rule. total: many cells added up, so the limits of one do not hold. Raises
    KeyError where the name has no meaning yet.
    """
    return _field(MEANINGS[name].total() if total else MEANINGS[name], required)


def _field(meaning: Meaning, required: bool) -> Any:
    return pa.Field(
        nullable=not required,
        description=meaning.text,
        ge=meaning.low,
        le=meaning.high,
        isin=list(meaning.words) if meaning.words else None,
        str_matches=meaning.pattern,
        str_length={"min_value": 1, "max_value": meaning.longest} if meaning.longest else None,
        metadata={"meaning": meaning, "required": required},
    )


class Table(pa.DataFrameModel):
    """Base of every table. The class docstring says what one row is; `Config.unique` is the key."""

    class Config:
        """Strict: a column that is not declared does not exist."""

        strict = True

    @classmethod
    def columns(cls) -> dict[str, Meaning]:
        """Column name → Meaning, in the declared order."""
        return {name: col.metadata["meaning"] for name, col in cls.to_schema().columns.items()}

    @classmethod
    def dtypes(cls) -> dict[str, Any]:
        """Column name → polars type, in the declared order."""
        return {name: col.dtype.type for name, col in cls.to_schema().columns.items()}

    @classmethod
    def required(cls) -> list[str]:
        """Names of the columns that may not be blank."""
        return [name for name, col in cls.to_schema().columns.items() if col.metadata["required"]]

    @classmethod
    def key(cls) -> list[str]:
        """Names of the columns that identify a row; empty where a table has no key."""
        return list(cls.to_schema().unique or [])

    @classmethod
    def row_meaning(cls) -> str:
        """What one row is, in one sentence."""
        return (cls.__doc__ or "").strip().split("\n")[0]

    @classmethod
    def empty(cls) -> pl.DataFrame:
        """The table with no rows, every column in its declared type."""
        return pl.DataFrame(schema=cls.dtypes())

    @classmethod
    def is_sound(cls, typed: pl.DataFrame) -> bool:
        """Whether a frame in the declared types keeps every rule, told in one pass; pandera tells which it breaks.

        Never laxer than pandera, which is asked wherever this finds a fault: sixty result tables take it a second.
        """
        if typed.is_empty():
            return True
        rules = _RULES.get(cls)
        if rules is None:
            rules = _RULES[cls] = cls._rules()
        return all(typed.select(rules).row(0))

    @classmethod
    def _rules(cls) -> list[pl.Expr]:
        dtypes, required = cls.dtypes(), set(cls.required())
        rules = [
            rule
            for name, meaning in cls.columns().items()
            for rule in _keeps(name, meaning, name in required, dtypes[name] == pl.Float64)
        ]
        if cls.key():
            rules.append(pl.struct(cls.key()).n_unique() == pl.len())
        return [rule.alias(str(at)) for at, rule in enumerate(rules or [pl.lit(True)])]

    @classmethod
    def check(cls, frame: pl.DataFrame) -> pl.DataFrame:
        """The frame with exactly the declared columns, order and types, once every rule holds.

        Missing columns, values that do not fit the type and broken limits raise TableError; columns that are not
        declared raise too, so nothing reaches a page by accident.
        """
        surplus = sorted(set(frame.columns) - set(cls.columns()))
        absent = sorted(set(cls.columns()) - set(frame.columns))
        if surplus or absent:
            raise TableError(f"{cls.__name__}: undeclared columns {surplus}, absent columns {absent}")
        try:
            typed = frame.select(list(cls.columns())).cast(cls.dtypes())
            if not cls.is_sound(typed):
                cls.validate(typed, lazy=True)
        except (pl.exceptions.PolarsError, pa.errors.SchemaErrors, pa.errors.SchemaError) as error:
            raise TableError(f"{cls.__name__}: {_short(error)}") from error
        return typed


def _keeps(name: str, meaning: Meaning, required: bool, is_float: bool) -> Iterator[pl.Expr]:
    """Whether each rule of one column holds."""
    value = pl.col(name)
    if required:
        yield value.is_not_null().all()
        if is_float:
            yield value.is_not_nan().all()
    if meaning.low is not None:
        yield (value >= meaning.low).all()
    if meaning.high is not None:
        yield (value <= meaning.high).all()
    if meaning.words:
        yield value.is_in(list(meaning.words)).all()
    if meaning.pattern:
        yield value.str.contains(f"^(?:{meaning.pattern})").all()
    if meaning.longest:
        yield value.str.len_chars().is_between(1, meaning.longest).all()


def _short(error: Exception) -> str:
    cases = getattr(error, "failure_cases", None)
    if not isinstance(cases, pl.DataFrame):
        return str(error).split("\n")[0]
    seen = cases.group_by("column", "check").len().sort("column", "check").rows()
    return "; ".join(f"{column} breaks {check} ({count} times)" for column, check, count in seen)
