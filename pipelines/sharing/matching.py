"""Which horse of this store one of another store is: by code and name together, else by name and yard."""

import polars as pl

from pipelines.sharing.naming import same
from schemas.synonyms import plain


class Horses:
    """The horses of this store. rows: horse_id, horse_name, yard."""

    def __init__(self, rows: pl.DataFrame):
        self._rows = rows.rows()
        self._names = {code: name for code, name, _ in self._rows}

    def code_of(self, code: str, name: str, yard: str | None) -> str | None:
        """The code here of a horse of another store; None where it can't be told. A code alone may be another's now."""
        alike = self.could_be(code, name, yard)
        return alike[0] if len(alike) == 1 and _one_name(self._names[alike[0]], name) else None

    def why_not(self, code: str, name: str, yard: str | None) -> str:
        """Why the horse can't be told."""
        alike = self._alike(name, yard)
        if alike:
            return f"{len(alike)} have that name"
        return f"none has that name, and {code} is {self._names[code]}" if code in self._names else "none has that name"

    def could_be(self, code: str, name: str, yard: str | None) -> tuple[str, ...]:
        """Every horse here that one of another store could be; one that has its code may have a new name."""
        if code in self._names and _one_name(self._names[code], name):
            return (code,)
        return self._alike(name, yard) or ((code,) if code in self._names else ())

    def _alike(self, name: str, yard: str | None) -> tuple[str, ...]:
        return tuple(
            one
            for one, called, at in self._rows
            if _one_name(called, name) and (not at or not yard or plain(at) == plain(yard))
        )


def no_code(code: str, name: str) -> str:
    """What stands for the code of a horse that can't be told here, so that it is never taken for another."""
    return f"{name} ({code} there)"[:64]


def _one_name(one: str, other: str) -> bool:
    return plain(same(one)) == plain(same(other))
