"""From the store to the tables of one summary: only what is declared shareable, of horses whose owner consents."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Protocol

import polars as pl

from pipelines.sharing import peers, queries
from pipelines.sharing.asked_for import why_nothing
from pipelines.sharing.consent import Consents, Held, Returned, consents, returned
from pipelines.sharing.disclosure import MIN_OWNERS
from pipelines.sharing.naming import first_written, owners, same_vet
from pipelines.sharing.own_limits import with_own_limits
from pipelines.sharing.queries import literal
from schemas.problem import Problem
from schemas.shared import SHARED_TABLES, Recalls

LEAST_CHANGE = 1.96 * 2**0.5  # of two readings with the same error
BEGINNING = date(1, 1, 1)


class Readable(Protocol):
    """A store whose derived tables stand as of the day."""

    def sql(self, query: str) -> pl.DataFrame:
        """What a query gives."""


@dataclass(frozen=True)
class Wanted:
    """What is asked for. horse: one horse_id alone; since: nothing before that day; contact: who to ask, as told."""

    vet: str
    as_of: date
    since: date | None = None
    horse: str | None = None
    contact: str | None = None
    follow_up_days: int = 84


@dataclass(frozen=True)
class Withdrawn:
    """A horse that stood in an earlier summary and whose owner's consent no longer holds: for the farrier's eyes."""

    horse_name: str
    summary: str
    shared_on: date


class NothingToShare(Problem):
    """No horse may be shared with one vet. withdrawn: horses that stood in summaries, which are to be recalled.

    held: horses that would be shared but for a row that was set aside.
    """

    def __init__(self, line: str, withdrawn: tuple[Withdrawn, ...], held: tuple[Held, ...]):
        super().__init__(line)
        self.withdrawn = withdrawn
        self.held = held


@dataclass(frozen=True)
class Fallen:
    """An earlier summary whose figures of groups have come to rest on too few, as vet practices of horses changed."""

    vet: str
    summary: str
    shared_on: date


@dataclass(frozen=True)
class Gathered:
    """tables: `schemas.shared`, by name. horse_ids, units, counted_to: for the ledger; the rest: for the farrier."""

    share_id: int
    tables: dict[str, pl.DataFrame]
    horse_ids: tuple[str, ...]
    units: pl.DataFrame
    counted_to: date
    withdrawn: tuple[Withdrawn, ...]
    fallen: tuple[Fallen, ...]
    held: tuple[Held, ...]
    returned: tuple[Returned, ...]
    also: tuple[str, ...]

    @property
    def summary(self) -> str:
        """The summary's name."""
        return self.tables["cover"]["summary"][0]


def vets_with_consent(store: Readable) -> list[str]:
    """The vet practices that at least one consenting horse is seen by, or that had a summary before, as first written.

    Capitals and spaces do not tell two apart.
    """
    return sorted(_vets(store, [horse for horse in consents(store).horses if horse["agrees"]]).values())


def vet_as_written(store: Readable, vet: str) -> str:
    """The vet practice as it was first written, in a summary or on record; as given where it stands nowhere."""
    return _vets(store, consents(store).horses).get(same_vet(vet), vet)


def _vets(store: Readable, horses: Iterable[dict]) -> dict[str, str]:
    before = store.sql("select vet_practice from ledger.shares order by share_id")["vet_practice"]
    return first_written([*before, *(horse["vet_practice"] or "" for horse in horses)])


def gather(store: Readable, wanted: Wanted, asks: pl.DataFrame, compared: peers.Compared | None = None) -> Gathered:
    """The tables of one summary. asks: `schemas.shared.Asks`; questions about other horses are left out.

    compared: what may be told of groups, where several summaries are made at one time; else it is found here.

    Raises NothingToShare where no horse may be shared, naming the earlier summaries that must be recalled.
    """
    earlier = store.sql(queries.EARLIER)
    known = consents(store)
    withdrawn = _withdrawn(earlier, wanted.vet, known)
    own = queries.OWN.replace("{horses}", _to_share(known, wanted, withdrawn))
    ids = dict(store.sql(_filled(own + "select horse_id, horse_no from own order by horse_no", wanted)).iter_rows())
    taken = {name: store.sql(_filled(own + query, wanted)) for name, query in queries.QUERIES.items()}
    taken["horses"] = with_own_limits(taken["horses"])
    counted_to = store.sql(_filled(peers.COUNTED_TO, wanted))["counted_to"][0]
    share_id = int(earlier["share_id"].max() or 0) + 1
    compared = compared or compare(store, wanted)
    taken["asks"] = _asks(asks, ids)
    taken["recalls"] = _recalls(earlier, withdrawn, wanted.vet)
    taken["peers"] = compared.table_for(taken["horses"]["discipline"])
    taken["cover"] = _cover(store, wanted, taken, f"shoeing-summary-{wanted.as_of.isoformat()}-no{share_id}")
    tables = {name: table.check(taken[name]) for name, table in SHARED_TABLES.items()}
    fallen = _fallen(earlier, compared.exposed)
    return Gathered(
        share_id,
        tables,
        tuple(ids),
        compared.units_of(share_id),
        counted_to,
        withdrawn,
        fallen,
        known.held_from(wanted.vet, wanted.horse),
        returned(store, known, list(ids)),
        known.written(wanted.vet),
    )


def _to_share(known: Consents, wanted: Wanted, withdrawn: tuple[Withdrawn, ...]) -> str:
    """The codes of the horses to be shared, as SQL."""
    ids = known.to_share(wanted.vet, wanted.horse)
    if not ids:
        held = known.held_from(wanted.vet, wanted.horse)
        line = f"{why_nothing(known, wanted.vet, wanted.horse)}{to_delete({wanted.vet: withdrawn})}"
        raise NothingToShare(line, withdrawn, held)
    return ", ".join(literal(one).replace("{", "{{").replace("}", "}}") for one in ids)


def to_delete(withdrawn: Mapping[str, Iterable[Withdrawn]]) -> str:
    """What each vet practice is to be asked to delete, as the end of a line; blank where that is nothing."""
    names = {vet: sorted({one.summary for one in gone}) for vet, gone in withdrawn.items()}
    told = "; ".join(f"ask {vet} to delete {', '.join(found)}" for vet, found in names.items() if found)
    return f"; consent no longer stands: {told}" if told else ""


def _filled(query: str, wanted: Wanted, **more: str) -> str:
    return query.format(
        as_of=literal(wanted.as_of),
        since=literal(wanted.since or BEGINNING),
        follow_up_days=wanted.follow_up_days,
        **more,
    )


def compare(store: Readable, wanted: Wanted) -> peers.Compared:
    """What may be told of groups to any vet practice as of the day wanted."""
    counted_to = store.sql(_filled(peers.COUNTED_TO, wanted))["counted_to"][0]
    units = store.sql(_filled(peers.UNITS, wanted, counted_to=literal(counted_to)))
    return peers.compare(units, store.sql(peers.TOLD), counted_to)


def _fallen(earlier: pl.DataFrame, exposed: frozenset[int]) -> tuple[Fallen, ...]:
    rows = earlier.filter(pl.col("share_id").is_in(sorted(exposed))).unique("share_id", maintain_order=True)
    return tuple(Fallen(row["vet_practice"], row["summary"], row["shared_on"]) for row in rows.to_dicts())


def _withdrawn(earlier: pl.DataFrame, vet: str, known: Consents) -> tuple[Withdrawn, ...]:
    gone = [
        row
        for row in earlier.filter(pl.col("horse_id").is_not_null()).to_dicts()
        if same_vet(row["vet_practice"]) == same_vet(vet) and not known.hold(row["horse_id"], vet)
    ]
    return tuple(Withdrawn(row["horse_name"] or row["horse_id"], row["summary"], row["shared_on"]) for row in gone)


def _recalls(earlier: pl.DataFrame, withdrawn: tuple[Withdrawn, ...], vet: str) -> pl.DataFrame:
    names = [one.summary for one in withdrawn]
    rows = earlier.filter(pl.col("summary").is_in(names)).filter(
        pl.col("vet_practice").map_elements(same_vet, return_dtype=pl.String) == same_vet(vet)
    )
    return rows.select(list(Recalls.columns())).unique(maintain_order=True)


def _asks(asks: pl.DataFrame, ids: dict[str, int]) -> pl.DataFrame:
    numbers = pl.DataFrame({"horse_id": list(ids), "horse_no": list(ids.values())}, schema={"horse_id": pl.String,
                           "horse_no": pl.Int64})  # fmt: skip
    joined = asks.join(numbers, on="horse_id", how="inner")
    return joined.select("horse_no", "asked_on", "foot", "question").sort("horse_no", "asked_on", maintain_order=True)


def _cover(store: Readable, wanted: Wanted, taken: dict[str, pl.DataFrame], summary: str) -> pl.DataFrame:
    found = store.sql(queries.ERROR)["error_sd_deg"].to_list()
    told_by = owners(store.sql(queries.ERROR_OWNERS.format(known=peers.KNOWN))["owner"]).n_unique()
    error = found[0] if found and told_by >= MIN_OWNERS else None
    days = taken["visits"]["visit_date"]
    row = {
        "summary": summary,
        "vet_practice": wanted.vet,
        "as_of": wanted.as_of,
        "since": wanted.since,
        "first_day": days.min(),
        "last_day": days.max(),
        "horses": taken["horses"].height,
        "visits": taken["visits"].height,
        "angle_sd_deg": error,
        "least_change_deg": None if error is None else round(LEAST_CHANGE * error, 1),
        "contact": wanted.contact,
    }
    return pl.DataFrame([row], schema=SHARED_TABLES["cover"].dtypes())
