"""Keys made of what identifies, in plain form: the same however it is written."""

import hashlib
from collections.abc import Callable

import polars as pl

from pipelines.intake.sheet import FILE, HIDDEN
from pipelines.intake.spellings import Habits, read
from pipelines.intake.spellings.stand_ins import stands_in
from schemas.fields import MEANINGS
from schemas.synonyms import plain

LONGEST = 64


def said(part: pl.DataFrame, column: str) -> pl.Series:
    """The cells in plain form, null where blank or where nothing is named, as by a ditto mark; read once a spelling."""
    if column not in part.columns:
        return nothing(part.height)
    own = column.removeprefix(HIDDEN)
    return mapped(part[column], lambda text: None if stands_in(text.strip(), own) else plain(text) or None)


def nothing(height: int) -> pl.Series:
    """A column of so many blank cells."""
    return pl.repeat(None, height, dtype=pl.String, eager=True)


def mapped(column: pl.Series, says: Callable[[str], str | None]) -> pl.Series:
    """What each cell says; asked once a spelling."""
    spellings = column.drop_nulls().unique()
    said = pl.Series([says(text) for text in spellings], dtype=pl.String)
    return column.replace_strict(spellings, said, default=None, return_dtype=pl.String)


def days(part: pl.DataFrame, column: str, habits: dict[str, Habits]) -> pl.Series:
    """Each day in the declared form; what cannot be read stays as it was found."""
    if column not in part.columns:
        return nothing(part.height)
    spellings = part.select(FILE, pl.col(column).alias("text")).drop_nulls().unique()
    said = spellings.with_columns(pl.Series("day", [_day(*place, habits) for place in spellings.rows()], pl.String))
    left = part.select(FILE, pl.col(column).alias("text"))
    return left.join(said, on=[FILE, "text"], how="left", maintain_order="left")["day"]


def _day(file: str, text: str, habits: dict[str, Habits]) -> str | None:
    if not text.strip():
        return None
    value = read(text, "visit_date", MEANINGS["visit_date"], habits.get(file, Habits())).value
    return value.isoformat() if value else text.strip()


def made_key(*parts: pl.Series) -> pl.Series:
    """A key of several parts, blank ones passed over; none where the first, the horse, is not known."""
    named = pl.DataFrame({str(at): part for at, part in enumerate(parts)})
    joined = pl.concat_str(pl.all(), separator=", ", ignore_nulls=True)
    key = named.select(pl.when(pl.col("0").is_not_null()).then(joined).alias("key")).to_series()
    long = (key.str.len_chars() > LONGEST).fill_null(False)
    return key.scatter(long.arg_true(), mapped(key.filter(long), _short)) if long.any() else key


def or_key(found: pl.Series, named: pl.DataFrame, same: dict[str, str] | None = None) -> pl.Series:
    """What was found, and a key of the named parts where nothing was."""
    missing = found.is_null()
    if not missing.any():
        return found
    return found.scatter(missing.arg_true(), one_of(made_key(*named.filter(missing)), same or {}))


def _short(key: str) -> str:
    if len(key) <= LONGEST:
        return key
    return f"{key[: LONGEST - 9]}~{hashlib.sha256(key.encode()).hexdigest()[:8]}"


def one_of(made: pl.Series, same: dict[str, str]) -> pl.Series:
    """The keys, those of horses that the practice says are one as the one they are kept under."""
    return made.replace(same) if same else made
