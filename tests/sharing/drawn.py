"""A drawn record in a store of its own, and the tables gathered from it."""

from contextlib import contextmanager
from datetime import date

import polars as pl

from pipelines.sharing.gather import Gathered, Wanted, gather
from pipelines.store import open_store
from pipelines.store.shared_store import record_share
from schemas.shared import Asks
from tests.store.drawn import load, rows, world

AS_OF = date(2025, 12, 31)
HORSES = """
    horse_id | horse_name | discipline | vet_practice | share_with_vet | owner_ref
    H1       | Ash        | polo       | V            | yes            | o1
    H2       | Bay        | polo       | V            | no             | o2
    H3       | Coal       | polo       | W            | yes            | o3
"""


@contextmanager
def store_with(as_of: date = AS_OF, **tables):
    """An open store in memory that holds the drawn tables, derived as of the day."""
    with open_store(None) as store:
        load(store, world(**({"horses": HORSES} | tables)), as_of)
        store.derive(as_of)
        yield store


def gathered(as_of: date = AS_OF, since: date | None = None, **tables) -> Gathered:
    """What would be shared with V of the drawn tables."""
    with store_with(as_of, **tables) as store:
        return gather(store, Wanted("V", as_of, since), Asks.empty())


def as_drawn(frame, *columns: str) -> list[tuple]:
    """Rows of some columns, days as text."""
    return [
        tuple(str(cell) if isinstance(cell, date) else cell for cell in row) for row in frame.select(columns).rows()
    ]


def record(store, one: Gathered, vet: str = "V") -> None:
    """Put one summary into the ledger of an open store, as handing it over does."""
    cover = one.tables["cover"].to_dicts()[0]
    row = {
        "share_id": one.share_id, "summary": one.summary, "vet_practice": vet, "as_of": cover["as_of"],
        "shared_at": None, "since": None, "counted_to": one.counted_to, "horses": 1, "with_data": False,
        "encrypted": False, "sha256": "0", "carried_over": False,
    }  # fmt: skip
    number = pl.lit(one.share_id, pl.Int64).alias("share_id")
    record_share(
        store,
        {
            "shares": pl.DataFrame([row]).with_columns(pl.lit(cover["as_of"]).cast(pl.Datetime).alias("shared_at"),
                                                       pl.lit(None, pl.Date).alias("since")),
            "share_horses": pl.DataFrame({"horse_id": one.horse_ids}).with_columns(number),
            "share_units": one.units.with_columns(number),
        },
    )  # fmt: skip


__all__ = ["AS_OF", "HORSES", "as_drawn", "gathered", "record", "rows", "store_with"]
