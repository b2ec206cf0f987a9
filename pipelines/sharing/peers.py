"""The groups to compare with: every horse of the shoeing practice together, and by discipline.

Compared are whole quarters whose shoes were all followed to the end, so that a figure does not move from one summary
to the next by the loss of a week. What may be shown is for `disclosure` to say.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

import polars as pl

from pipelines.sharing.disclosure import Part, exposed, publishable
from pipelines.sharing.group_figures import DECIMALS, FIGURES
from pipelines.sharing.naming import owners
from schemas.shared import Peers

COUNTED_TO = (
    "select (date_trunc('quarter', {as_of} - {follow_up_days}::integer + 1) - interval 1 day)::date as counted_to"
)

# known: a vet practice has the horse's records, or could come to have them once its owner agrees.
KNOWN = """coalesce(
    trim(h.vet_practice) <> '' or h.horse_id in (select s.horse_id from ledger.share_horses s), false)"""

UNITS = f"""
with counted as (
    select 'lost_shoes' as measure, spell_id as unit_id, horse_id, discipline, fitted_on as day,
        end_reason = 'lost' as event, greatest(days_on, 0.5) as days
    from derived.shoe_spells where fitted_on <= {{counted_to}}
    union all
    select 'bruised_looks', f.visit_id || ':' || f.foot, v.horse_id, h.discipline, v.visit_date, f.bruise_grade >= 1, 0
    from accepted.feet f join accepted.visits v on v.visit_id = f.visit_id
    join accepted.horses h on h.horse_id = v.horse_id
    where f.bruise_grade is not null and v.visit_date <= {{counted_to}}
)
select c.*, coalesce(h.owner_ref, '') as owner, {KNOWN} as known
from counted c join accepted.horses h on h.horse_id = c.horse_id
order by measure, unit_id
"""

TOLD = f"""
select u.measure, u.unit_id, u.share_id, s.counted_to, u.cells, coalesce(h.owner_ref, '') as owner,
    h.horse_id is null or {KNOWN} as known
from ledger.share_units u join ledger.shares s on s.share_id = u.share_id
left join accepted.horses h on h.horse_id = u.horse_id
"""

HIDDEN = "Hidden: it rests on too few, or would give away a count of too few, by itself or with what was told before."
NEW = "new"  # stands for the number of the summary that is being made


@dataclass(frozen=True)
class Compared:
    """What may be told of groups at one time, the same to every vet practice.

    table: `shared.Peers`, a row a discipline; units: `ledger.ShareUnits` but share_id, the cells being of summary
    `NEW`. exposed: share_id of earlier summaries whose figures have come to rest on too few.
    """

    table: pl.DataFrame
    units: pl.DataFrame
    exposed: frozenset[int] = frozenset()

    def units_of(self, share_id: int) -> pl.DataFrame:
        """The units as the ledger keeps them, the cells being those of this summary."""
        return self.units.with_columns(
            pl.lit(share_id, pl.Int64).alias("share_id"), pl.col("cells").str.replace_all(f"{NEW}/", f"{share_id}/")
        )

    def table_for(self, disciplines: Iterable[str]) -> pl.DataFrame:
        """The rows for a reader whose horses are of these disciplines.

        Each of those has a row, hidden alike whether little or nothing is on record; of others only what is told has
        one. So neither the names nor the number of hidden rows tell of anything but the reader's own horses.
        """
        told = self.table.filter(pl.col("base").is_not_null() | pl.col("events").is_not_null())
        own = ["all", *sorted(set(disciplines))]
        blank = [_blank(measure, level, self.table["counted_to"][0]) for measure in FIGURES for level in own]
        rows = pl.concat([told, pl.DataFrame(blank, schema=Peers.dtypes(), orient="row")])
        kept = rows.unique(["measure", "dimension", "level"], keep="first", maintain_order=True)
        order = pl.col("measure").replace_strict({name: place for place, name in enumerate(FIGURES)})
        return kept.sort(order, pl.col("dimension") != "all", "level")


def compare(units: pl.DataFrame, told: pl.DataFrame, counted_to: date) -> Compared:
    """Figures of each group, as far as they may be shown.

    units: one row a shoe or look: measure, unit_id, horse_id, discipline, day, event, days, owner, known. told: the
    same units as earlier summaries showed them: measure, unit_id, share_id, counted_to, cells, owner, known.
    """
    units, told = (one.with_columns(owners(one["owner"])) for one in (units, told))
    parts = [_compare_one(name, units.filter(measure=name), told.filter(measure=name), counted_to)
             for name in ("lost_shoes", "bruised_looks")]  # fmt: skip
    return Compared(
        Peers.check(pl.concat([part.table for part in parts], how="vertical_relaxed")),
        pl.concat([part.units for part in parts]),
        frozenset().union(*(part.exposed for part in parts)),
    )


def _compare_one(measure: str, units: pl.DataFrame, told: pl.DataFrame, counted_to: date) -> Compared:
    levels = sorted(units["discipline"].unique())
    candidates = [f"{NEW}/{level}/{what}" for level in ("all", *levels) for what in ("base", "events")]
    parts = [*_parts(units, told), *_empty_parts(levels, told, counted_to)]
    before = frozenset(cell for cells in told["cells"].unique() for cell in cells.split())
    shown = publishable(parts, candidates, before, keep=frozenset(candidates[:2])) if units.height else frozenset()
    rows = [_row(measure, level, units, shown, counted_to) for level in ("all", *levels)]
    table = pl.DataFrame(rows, schema=Peers.dtypes(), orient="row")
    fallen = frozenset(int(cell.partition("/")[0]) for cell in exposed(parts, before))
    return Compared(table, _units_shown(units, shown), fallen)


def _cells(unit: dict) -> list[str]:
    return [
        f"{NEW}/{level}/{what}"
        for level in ("all", unit["discipline"])
        for what in (("base", "events") if unit["event"] else ("base",))
    ]


def _parts(units: pl.DataFrame, told: pl.DataFrame) -> list[Part]:
    """Units merged by where they stand now and stood before; one that has left the record stands where it was told.

    The owners of losses are those of all shoes of the same group and time, lost or not: who of them had the losses is
    what can't be told.
    """
    before = told.group_by("unit_id", maintain_order=True).agg(
        pl.col("cells").sort().str.join(" ").alias("before"), pl.col("owner", "known").first().name.suffix("_told")
    )
    joined = units.join(before, on="unit_id", how="full", coalesce=True, maintain_order="left_right").with_columns(
        pl.coalesce("owner", "owner_told").alias("owner"), pl.coalesce("known", "known_told").alias("known")
    )
    joined = joined.with_columns(
        group=pl.struct("discipline", "known", pl.col("before").str.replace_all(r"\S+/events ?", "").str.strip_chars())
    )
    owners = joined.group_by("group").agg(pl.col("owner").unique().alias("owners"))
    kinds = joined.group_by("group", "discipline", "event", "known", "before", maintain_order=True).len("count")
    return [_part(kind) for kind in kinds.join(owners, on="group", maintain_order="left").to_dicts()]


def _part(kind: dict) -> Part:
    now = _cells(kind) if kind["discipline"] is not None else []
    return Part(
        frozenset([*now, *(kind["before"] or "").split()]), kind["count"], frozenset(kind["owners"]), kind["known"]
    )


def _empty_parts(levels: list[str], told: pl.DataFrame, counted_to: date) -> Iterable[Part]:
    """What could have happened in each discipline in the time since each earlier summary, and may have not."""
    earlier = told.select("share_id", "counted_to", "cells").unique().sort("share_id", "cells").to_dicts()
    shown = {cell: row["counted_to"] for row in earlier for cell in row["cells"].split()}
    for stop in sorted({counted_to, *shown.values()}):
        for level in levels:
            for event in (False, True):
                now = _cells({"discipline": level, "event": event}) if stop <= counted_to else []
                before = [cell for cell, until in shown.items() if until >= stop and _holds(cell, level, event)]
                yield Part(frozenset([*now, *before]), 0)


def _holds(cell: str, level: str, event: bool) -> bool:
    _, at, what = cell.split("/")
    return at in ("all", level) and (event or what == "base")


def _units_shown(units: pl.DataFrame, shown: frozenset[str]) -> pl.DataFrame:
    kinds = units.select("discipline", "event").unique(maintain_order=True).to_dicts()
    named = [kind | {"cells": " ".join(cell for cell in _cells(kind) if cell in shown)} for kind in kinds]
    schema = {"discipline": pl.String, "event": pl.Boolean, "cells": pl.String}
    joined = units.join(pl.DataFrame(named, schema=schema), on=["discipline", "event"], how="left")
    return joined.filter(pl.col("cells") != "").select("measure", "unit_id", "horse_id", "cells")


def _row(measure: str, level: str, units: pl.DataFrame, shown: frozenset[str], counted_to: date) -> tuple:
    group = units if level == "all" else units.filter(discipline=level)
    base, events = group.height, int(group["event"].sum())
    has_base, has_events = (f"{NEW}/{level}/{what}" in shown for what in ("base", "events"))
    whole = has_base and has_events
    figures = FIGURES[measure](events, base, float(group["days"].sum())) if whole else (None, None, None)
    return (
        measure,
        "all" if level == "all" else "discipline",
        level,
        counted_to,
        base if has_base else None,
        events if has_events else None,
        *(None if figure is None else round(figure, DECIMALS[measure]) for figure in figures),
        None if whole else HIDDEN,
    )


def _blank(measure: str, level: str, counted_to: date) -> tuple:
    dimension = "all" if level == "all" else "discipline"
    return measure, dimension, level, counted_to, None, None, None, None, None, HIDDEN
