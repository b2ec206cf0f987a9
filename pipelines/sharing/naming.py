"""Names as people write them: which are one owner, one vet practice, one horse."""

from collections.abc import Iterable
from unicodedata import normalize

import polars as pl

from schemas.synonyms import plain


def same(text: str | None) -> str:
    """A name without what does not tell two apart: capitals, and how many spaces stand where."""
    return " ".join(normalize("NFKC", text or "").casefold().split())


def same_vet(text: str | None) -> str:
    """A vet practice without capitals and spaces alone: Groß and Gross, VP² and VP2 may well be two."""
    return " ".join(normalize("NFC", normalize("NFC", text or "").lower()).split())


def spellings(vet: str, written: Iterable[str | None]) -> tuple[str, ...]:
    """Other ways in which one vet practice is written, seen ones: spaces do not show."""
    seen = {" ".join(normalize("NFC", one).split()) for one in written if one and same_vet(one) == same_vet(vet)}
    return tuple(sorted(seen - {" ".join(normalize("NFC", vet).split())}))


def owners(column: pl.Series) -> pl.Series:
    """Each owner in plain form, marks between words aside as well: who could be one owner is counted as one."""
    written = column.unique()
    plainly = pl.Series([plain(same(text)) for text in written], dtype=pl.String)
    return column.replace_strict(written, plainly, return_dtype=pl.String)


def first_written(names: Iterable[str]) -> dict[str, str]:
    """Each vet practice by its folded form, as it was written first; blank ones left out."""
    first: dict[str, str] = {}
    for name in names:
        if same_vet(name):
            first.setdefault(same_vet(name), name.strip())
    return first
