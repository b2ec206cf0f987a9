"""Keys where a practice keeps none: a horse is its name and yard, a visit its horse, day and farrier, a loss its horse,
foot and day. Made the same way however they are written, so that the next export finds the same rows."""

import hashlib
from dataclasses import dataclass, field

import polars as pl

from pipelines.intake.layout import HIDDEN
from pipelines.intake.sheet import FILE, SOURCE
from pipelines.intake.spellings import Habits, read
from schemas.fields import MEANINGS
from schemas.synonyms import plain

LONGEST = 64
NAME, YARD, DAY, BY = (HIDDEN + name for name in ("horse_name", "yard", "visit_date", "farrier"))
HORSE = HIDDEN + "horse_id"


@dataclass
class Horses:
    """The horses of the export by name: ids by (name, yard) and by name alone, all plain. same: ids that are one."""

    by_place: dict[tuple[str, str], str] = field(default_factory=dict)
    by_name: dict[str, set[str]] = field(default_factory=dict)
    same: dict[str, str] = field(default_factory=dict)

    def add(self, name: str, yard: str, horse_id: str) -> None:
        """Remember one horse."""
        self.by_place.setdefault((name, yard), horse_id)
        self.by_name.setdefault(name, set()).add(horse_id)

    def find(self, name: str, yard: str) -> str | None:
        """The id of a horse called so; None where two are, and no yard tells them apart."""
        found = self.by_place.get((name, yard))
        if found is not None:
            return found
        ids = self.by_name.get(name, set())
        if len(ids) == 1 and not yard:
            return next(iter(ids))
        return self.made(name, yard) if yard or not ids else None

    def made(self, name: str, yard: str) -> str:
        """The key of a horse from its name and yard."""
        key = _short(", ".join(part for part in (name, yard) if part))
        return self.same.get(key, key)


def identify(
    tables: dict[str, pl.DataFrame], habits: dict[str, Habits], same: dict[str, str]
) -> dict[str, pl.DataFrame]:
    """The four tables of text with every key that can be made from what identifies; columns that only served go.

    habits: how each file writes its days. same: keys of horses the practice says are one and the same.
    """
    horses = Horses(same=same)
    found = dict(tables)
    found["horses"] = _horses(tables["horses"], horses)
    found["visits"] = _visits(tables["visits"], horses, habits)
    found["feet"] = _feet(tables["feet"], found["visits"], horses, habits)
    found["losses"] = _losses(tables["losses"], horses, habits)
    return {
        name: part.drop([c for c in (NAME, YARD, DAY, BY, HORSE) if c in part.columns]) for name, part in found.items()
    }


def _horses(part: pl.DataFrame, horses: Horses) -> pl.DataFrame:
    if part.is_empty() or "horse_name" not in part.columns:
        return part
    names, yards = _plain(part, "horse_name"), _plain(part, "yard")
    own, lacks = _own(part, "horse_id"), _without_keys(part, "horse_id")
    ids = []
    for one, name, yard, lack in zip(own, names, yards, lacks, strict=True):
        horse_id = (horses.made(name, yard) if name else None) if lack else one
        if name and horse_id:
            horses.add(name, yard, horse_id)
        ids.append(horse_id)
    return part.with_columns(pl.Series("horse_id", ids, dtype=pl.String))


def _visits(part: pl.DataFrame, horses: Horses, habits: dict[str, Habits]) -> pl.DataFrame:
    if part.is_empty():
        return part
    part = _with_horse(part, "horse_id", horses)
    if _all_there(part, "visit_id"):
        return part
    made = _made(part["horse_id"], _days(part, "visit_date", habits), _plain(part, "farrier"))
    return _filled(part, "visit_id", made)


def _feet(part: pl.DataFrame, visits: pl.DataFrame, horses: Horses, habits: dict[str, Habits]) -> pl.DataFrame:
    """A foot row without a visit_id belongs to the visit of its horse and day, and farrier where it names one."""
    if part.is_empty() or _all_there(part, "visit_id") or DAY not in part.columns:
        return part
    part = _with_horse(part, HORSE, horses)
    days, farriers = _days(part, DAY, habits), _plain(part, BY)
    made = _made(part[HORSE], days, farriers)
    there = _visits_by_day(visits, habits)
    found = [
        there.get((horse, day, farrier)) or there.get((horse, day, "")) or key
        for horse, day, farrier, key in zip(part[HORSE], days, farriers, made, strict=True)
    ]
    return _filled(part, "visit_id", found)


def _visits_by_day(visits: pl.DataFrame, habits: dict[str, Habits]) -> dict[tuple, str]:
    """visit_id by horse, day and farrier; by horse and day alone where that is one visit."""
    if visits.is_empty() or "visit_id" not in visits.columns:
        return {}
    by_day: dict[tuple, str] = {}
    alone: dict[tuple, set[str]] = {}
    rows = zip(
        visits["horse_id"],
        _days(visits, "visit_date", habits),
        _plain(visits, "farrier"),
        visits["visit_id"],
        strict=True,
    )
    for horse, day, farrier, visit_id in rows:
        if visit_id:
            by_day.setdefault((horse, day, farrier), visit_id)
            alone.setdefault((horse, day), set()).add(visit_id)
    return by_day | {(*place, ""): next(iter(ids)) for place, ids in alone.items() if len(ids) == 1}


def _losses(part: pl.DataFrame, horses: Horses, habits: dict[str, Habits]) -> pl.DataFrame:
    if part.is_empty():
        return part
    part = _with_horse(part, "horse_id", horses)
    if _all_there(part, "loss_id"):
        return part
    feet = {text: read(text, "foot", MEANINGS["foot"], Habits()).value for text in part["foot"].drop_nulls().unique()}
    foot = [feet.get(text) or text for text in part["foot"]]
    return _filled(part, "loss_id", _made(part["horse_id"], foot, _days(part, "found_off", habits)))


def _with_horse(part: pl.DataFrame, column: str, horses: Horses) -> pl.DataFrame:
    if _all_there(part, column) or NAME not in part.columns:
        return part
    names, yards = _plain(part, NAME), _plain(part, YARD)
    pairs = set(zip(names, yards, strict=True))
    found = {pair: horses.find(*pair) if pair[0] else None for pair in pairs}
    return _filled(part, column, [found[pair] for pair in zip(names, yards, strict=True)])


def _own(part: pl.DataFrame, column: str) -> list[str | None]:
    if column not in part.columns:
        return [None] * part.height
    return [text.strip() or None if text else None for text in part[column]]


def _all_there(part: pl.DataFrame, column: str) -> bool:
    """Whether every sheet has keys of its own; one cell left blank among others is a fault, not a habit."""
    return not _without_keys(part, column).any()


def _without_keys(part: pl.DataFrame, column: str) -> pl.Series:
    """Which rows come from a sheet that keeps no such key at all."""
    if column not in part.columns:
        return pl.Series([True] * part.height)
    blank = (pl.col(column).str.strip_chars().fill_null("") == "").all().over(SOURCE)
    return part.select(blank).to_series()


def _filled(part: pl.DataFrame, column: str, made: list[str | None]) -> pl.DataFrame:
    lacks = _without_keys(part, column)
    both = [new if lack else own for own, new, lack in zip(_own(part, column), made, lacks, strict=True)]
    return part.with_columns(pl.Series(column, both, dtype=pl.String))


def _plain(part: pl.DataFrame, column: str) -> list[str]:
    if column not in part.columns:
        return [""] * part.height
    said = {text: plain(text) for text in part[column].drop_nulls().unique()}
    return [said.get(text, "") for text in part[column]]


def _days(part: pl.DataFrame, column: str, habits: dict[str, Habits]) -> list[str]:
    """Each day in the declared form; what cannot be read stays as it was found."""
    if column not in part.columns:
        return [""] * part.height
    texts = list(zip(part[FILE], part[column], strict=True))
    said = {place: _day(*place, habits) for place in set(texts)}
    return [said[place] for place in texts]


def _day(file: str, text: str | None, habits: dict[str, Habits]) -> str:
    if not text or not text.strip():
        return ""
    value = read(text, "visit_date", MEANINGS["visit_date"], habits.get(file, Habits())).value
    return value.isoformat() if value else text.strip()


def _made(*parts) -> list[str | None]:
    """A key of several parts; none where the first, the horse, is not known."""
    return [
        _short(", ".join(str(part) for part in together if part)) if together[0] else None
        for together in zip(*parts, strict=True)
    ]


def _short(key: str) -> str:
    if len(key) <= LONGEST:
        return key
    return f"{key[: LONGEST - 9]}~{hashlib.sha256(key.encode()).hexdigest()[:8]}"
