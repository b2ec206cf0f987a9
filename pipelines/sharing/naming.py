"""Names as people write them: which are one owner, one vet practice, one horse."""

from collections.abc import Iterable
from unicodedata import normalize

import polars as pl

from schemas.synonyms import plain


def same(text: str | None) -> str:
    """A name without what does not tell two apart: capitals, and how many spaces stand where."""
    return " ".join(normalize("NFKC", text or "").casefold().split())


def owners(column: pl.Series) -> pl.Series:
    """Each owner in plain form, marks between words aside as well: who could be one owner is counted as one."""
    written = column.unique()
    plainly = pl.Series([plain(same(text)) for text in written], dtype=pl.String)
    return column.replace_strict(written, plainly, return_dtype=pl.String)


def first_written(names: Iterable[str]) -> dict[str, str]:
    """Each name by its folded form, as it was written first; blank ones left out."""
    first: dict[str, str] = {}
    for name in names:
        if same(name):
            first.setdefault(same(name), name.strip())
    return first
