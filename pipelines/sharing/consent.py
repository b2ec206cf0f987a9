"""Whose owner consents: the last word holds, also where its row was set aside; and consent that came back."""

import json
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Any, Protocol

import polars as pl

from pipelines.sharing.naming import same, same_vet, spellings
from schemas.synonyms import plain
from schemas.words import NO, YES

ELSEWHERE = "no_consent_elsewhere"  # the rule of a doubt: in another store the owner did not agree

HORSES = """
select h.horse_id, h.horse_name, h.yard, h.vet_practice, coalesce(h.share_with_vet, false) as agrees,
    h.share_with_vet is not null as answered,
    h.load_id, h.source_file, h.source_row
from accepted.horses h order by h.load_id, h.source_file, h.source_row
"""

# Rows that are not in force as written: set aside, or taken with a doubt about this very answer.
ODD = """
select r.load_id, r.source_file, r.source_row, r.row_json, r.rule, l.started_at::date as read_on
from (
    select distinct load_id, source_file, source_row, row_json, null as rule
    from ledger.set_aside where table_name = 'horses'
    union
    select load_id, source_file, source_row, row_json, rule from ledger.warnings
    where table_name = 'horses' and column_name = 'share_with_vet'
) r left join ledger.loads l on l.load_id = r.load_id
order by r.load_id, r.source_file, r.source_row
"""

# Earlier versions of horses in the order in which they were read, and when each was replaced.
VERSIONS = """
select s.row_json ->> 'horse_id' as horse_id, s.load_id,
    coalesce((s.row_json ->> 'share_with_vet')::boolean, false) as agrees, l.started_at::date as read_on
from ledger.superseded s left join ledger.loads l on l.load_id = s.load_id
where s.table_name = 'horses' order by s.load_id, s.superseded_by
"""

FILES = "select load_id, file_name from ledger.load_files order by load_id, rowid"

# Only what was made here was made with the word of this record in sight.
TOLD = """
select h.horse_id, max(s.shared_at) > (select l.finished_at from ledger.loads l where l.load_id = a.load_id) as told
from ledger.share_horses h join ledger.shares s on s.share_id = h.share_id
join accepted.horses a on a.horse_id = h.horse_id where not coalesce(s.carried_over, false)
group by h.horse_id, a.load_id
"""


class Readable(Protocol):
    """A store."""

    def sql(self, query: str) -> pl.DataFrame:
        """What a query gives."""


@dataclass(frozen=True)
class Held:
    """A horse that is not shared, although consent stands on record: a later row does not say yes. For the farrier.

    elsewhere: the other store that says so, where it is not a row of this one.
    """

    horse_name: str
    said: str
    place: str
    read_on: date
    elsewhere: str | None = None

    @property
    def line(self) -> str:
        """Why, and what to do."""
        says = f'says "{self.said}"' if self.said else "says nothing"
        if self.elsewhere:
            return (
                f"{self.horse_name} is not shared: {self.elsewhere}, the earlier store, {says} under share_with_vet "
                f"(read on {self.read_on}): publish {self.place} again if the owner agrees now, else write no there"
            )
        return (
            f"{self.horse_name} is not shared: {self.place}, read on {self.read_on} and not taken in as it stands, "
            f"{says} under share_with_vet: write yes or no there, mend what else is wrong with it and publish that row"
        )


@dataclass(frozen=True)
class Returned:
    """A horse that is shared again after its consent was withdrawn. For the farrier.

    unread: what stood there instead, where that was no plain no.
    """

    horse_name: str
    withdrawn_on: date
    place: str
    unread: str | None = None

    @property
    def line(self) -> str:
        """What is to be looked at."""
        if self.unread:
            return (
                f'{self.horse_name}: "{self.unread}" under share_with_vet, read on {self.withdrawn_on}, could not be '
                f"read as yes or no, and {self.place} says yes: if that is the answer mended, all is well; if the "
                "owner does not agree, publish a row that says no, and ask the vet to delete this summary"
            )
        return (
            f"{self.horse_name}: consent was withdrawn on {self.withdrawn_on}, and is back by {self.place}: "
            "if that is an old file sent again, publish a row that says no, and ask the vet to delete this summary"
        )


@dataclass(frozen=True)
class Consents:
    """What stands on record of every horse's consent. horses: rows of `HORSES`; held: by horse_id."""

    horses: tuple[dict[str, Any], ...]
    held: dict[str, Held]

    @cached_property
    def by_id(self) -> dict[str, dict[str, Any]]:
        """Each horse by its code."""
        return {horse["horse_id"]: horse for horse in self.horses}

    def hold(self, horse_id: str | None, vet: str) -> bool:
        """Whether the horse may be shared with this vet practice."""
        horse = self.by_id.get(horse_id or "")
        return horse is not None and self.of_vet(horse, vet) and horse["agrees"] and horse_id not in self.held

    def of_vet(self, horse: dict[str, Any], vet: str) -> bool:
        """Whether the horse is seen by this vet practice, however that is written."""
        return bool(same_vet(vet)) and same_vet(horse["vet_practice"]) == same_vet(vet)

    def written(self, vet: str) -> tuple[str, ...]:
        """The other ways in which this vet practice is written on record."""
        return spellings(vet, [horse["vet_practice"] for horse in self.horses])

    def to_share(self, vet: str, horse: str | None = None) -> list[str]:
        """Codes of the horses that may be shared with a vet practice, or of that one horse."""
        return [one for one in self.by_id if self.hold(one, vet) and horse in (None, one)]

    def held_from(self, vet: str, horse: str | None = None) -> tuple[Held, ...]:
        """Those that would be shared but for a later row."""
        found = (one for code, one in self.by_id.items() if code in self.held and horse in (None, code))
        return tuple(self.held[one["horse_id"]] for one in found if one["agrees"] and self.of_vet(one, vet))


def consents(store: Readable) -> Consents:
    """What the record says now, with the rows that were set aside since."""
    horses = tuple(store.sql(HORSES).to_dicts())
    told = _told_of_each(store, horses)
    places = _places(store)
    return Consents(horses, {one["horse_id"]: held for one in horses if (held := _held(one, told, places))})


def returned(store: Readable, known: Consents, ids: list[str]) -> tuple[Returned, ...]:
    """Of the horses to be shared those whose consent had been withdrawn, as long as none was shared since."""
    told = _told_of_each(store, known.horses)
    versions: dict[str, list[dict]] = {}
    for row in store.sql(VERSIONS).to_dicts():
        versions.setdefault(row["horse_id"], []).append(row)
    shared_since = dict(store.sql(TOLD).iter_rows())
    days = {one: _withdrawn_on(known.by_id[one], versions.get(one, []), told.get(one, [])) for one in ids}
    return tuple(
        Returned(known.by_id[one]["horse_name"], last[0], _place(known.by_id[one]), last[1])
        for one, last in days.items()
        if last is not None and not shared_since.get(one)
    )


def _withdrawn_on(horse: dict, versions: list[dict], odd: list[dict]) -> tuple[date, str | None] | None:
    """The day of the last no, where a yes stood before it or it was set aside; else of a word that is neither, with it.

    Whatever else was said, a no is not hidden by a word that could not be read.
    """
    first_yes = min((row["load_id"] for row in versions if row["agrees"]), default=None)
    no = [row for row in versions if not row["agrees"] and first_yes is not None and row["load_id"] > first_yes]
    other = [row for row in odd if row["load_id"] <= horse["load_id"] and row["said"] and not _yes(row["said"])]
    no += [row for row in other if _word(row["said"]) in NO]
    if no:
        return max(row["read_on"] for row in no), None
    return max(((row["read_on"], row["said"]) for row in other), default=None)


def _held(horse: dict, told: dict[str, list[dict]], places: dict[tuple[int, str], int]) -> Held | None:
    later = [row for row in told.get(horse["horse_id"], []) if _later(row, horse, places)]
    last = [row for row in later if row["load_id"] == later[-1]["load_id"] and not _yes(row["said"])]
    if not last:
        return None
    return Held(horse["horse_name"], last[-1]["said"], _place(last[-1]), last[-1]["read_on"], last[-1]["elsewhere"])


def _later(row: dict, horse: dict, places: dict[tuple[int, str], int]) -> bool:
    """Whether a row came after the one in force. In the same load, silence says nothing beside a word."""
    if row["load_id"] != horse["load_id"]:
        return row["load_id"] > horse["load_id"]
    at, own = (
        (places.get((one["load_id"], one["source_file"].partition(", sheet ")[0]), 0), one["source_row"])
        for one in (row, horse)
    )
    return bool(row["said"] or row["elsewhere"]) and at >= own


def _yes(said: str) -> bool:
    return _word(said) in YES


def _word(said: str) -> str:
    return said.casefold().rstrip(".!")


def _place(row: dict) -> str:
    return f"row {row['source_row']} of {row['source_file']}"


def _places(store: Readable) -> dict[tuple[int, str], int]:
    """The place of each file among those of its load."""
    return {(load, name): place for place, (load, name) in enumerate(store.sql(FILES).iter_rows())}


def _told_of_each(store: Readable, horses: tuple[dict, ...]) -> dict[str, list[dict]]:
    """The odd rows about each horse, oldest first. A row without a known code is about every horse that it could be."""
    by_code: dict[str, list[str]] = {}
    by_name: dict[str, list[dict]] = {}
    for horse in horses:
        by_code.setdefault(same(horse["horse_id"]), []).append(horse["horse_id"])
        by_name.setdefault(plain(horse["horse_name"]), []).append(horse)
    found: dict[str, list[dict]] = {}
    for row in store.sql(ODD).to_dicts():
        cells = json.loads(row.pop("row_json"))
        row["said"] = str(cells.get("share_with_vet") or "").strip()
        row["elsewhere"] = cells.get("store") if row.pop("rule") == ELSEWHERE else None
        if row["elsewhere"] and cells["on"]:
            row["read_on"] = date.fromisoformat(cells["on"])
        for horse in by_code.get(same(cells.get("horse_id"))) or _named(cells, by_name):
            found.setdefault(horse, []).append(row)
    return found


def _named(cells: dict, by_name: dict[str, list[dict]]) -> list[str]:
    yard = plain(cells.get("yard") or "")
    alike = by_name.get(plain(cells.get("horse_name") or ""), [])
    return [horse["horse_id"] for horse in alike if not yard or plain(horse["yard"] or "") in ("", yard)]
