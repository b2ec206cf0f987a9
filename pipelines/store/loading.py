"""Take one table of an export in: what is new, what replaces an earlier version, what was there already."""

from dataclasses import dataclass

import duckdb
import polars as pl

from pipelines.store.layout import PROVENANCE
from schemas.base import Table, TableError


@dataclass(frozen=True)
class Taken:
    """How many rows of one table were new, replaced an earlier version, or were in force word for word.

    overtaken: rows of an earlier export of the same load that a later one says otherwise; changes too.
    """

    new: int = 0
    changed: int = 0
    unchanged: int = 0
    overtaken: int = 0


def take_in_table(
    con: duckdb.DuckDBPyConnection, name: str, table: type[Table], rows: pl.DataFrame, load_id: int
) -> Taken:
    """Bring `rows` of one table into force; earlier versions of changed rows go to `ledger.superseded`.

    rows: the declared columns with source_file and source_row, one row a key. The file and the row number a row came
    from are no part of it: where nothing else differs, the row in force stays as it is.
    Raises TableError where two rows share a key.
    """
    columns = list(table.columns())
    con.register("incoming", _arrow(rows.select(*columns, "source_file", "source_row")))
    taken = _bring_in(con, name, table, load_id)
    con.unregister("incoming")
    if taken.new or taken.changed:
        _refuse_key_twice(con, name, table.key())
    return taken


def _arrow(frame: pl.DataFrame):
    # As it lies in memory: the older text layout would copy every string first.
    return frame.to_arrow(compat_level=pl.CompatLevel.newest())


def _bring_in(con: duckdb.DuckDBPyConnection, name: str, table: type[Table], load_id: int) -> Taken:
    columns = [_q(column) for column in table.columns()]
    place = ", ".join([*columns, *PROVENANCE])
    incoming = f"{', '.join(columns)}, {load_id}, source_file, source_row"
    if _count(con, f"from accepted.{name}") == 0:
        con.execute(f"insert into accepted.{name} ({place}) select {incoming} from incoming")
        return Taken(new=_count(con, f"from accepted.{name}"))
    con.execute(_verdicts(name, columns, table.key()))
    new, changed, unchanged = (_count(con, f"from verdicts where verdict = '{v}'") for v in ("new", "changed", "same"))
    if changed:
        _supersede(con, name, table, load_id)
    if new or changed:
        con.execute(
            f"insert into accepted.{name} ({place}) select {incoming} from incoming "
            f"semi join (from verdicts where verdict <> 'same') using ({_key(table.key())})"
        )
    con.execute("drop table verdicts")
    return Taken(new, changed, unchanged)


def _verdicts(name: str, columns: list[str], key: list[str]) -> str:
    others = [column for column in columns if column not in {_q(part) for part in key}]
    differs = " or ".join(f"o.{column} is distinct from i.{column}" for column in others)
    match = " and ".join(f"o.{_q(part)} = i.{_q(part)}" for part in key)
    return f"""
        create temp table verdicts as
        select {", ".join(f"i.{_q(part)}" for part in key)},
               case when o.{_q(key[0])} is null then 'new' when {differs} then 'changed' else 'same' end as verdict
        from incoming i left join accepted.{name} o on {match}
    """


def _supersede(con: duckdb.DuckDBPyConnection, name: str, table: type[Table], load_id: int) -> None:
    row = ", ".join(f"{_q(column)} := o.{_q(column)}" for column in table.columns())
    changed = f"semi join (from verdicts where verdict = 'changed') using ({_key(table.key())})"
    con.execute(f"""
        insert into ledger.superseded (load_id, superseded_by, table_name, source_file, source_row, row_json)
        select load_id, {load_id}, '{name}', source_file, source_row, to_json(struct_pack({row}))
        from accepted.{name} o {changed} order by {_key(table.key())}
    """)
    key = " and ".join(f"o.{_q(part)} = v.{_q(part)}" for part in table.key())
    con.execute(f"delete from accepted.{name} o using verdicts v where v.verdict = 'changed' and {key}")


def note_overtaken(
    con: duckdb.DuckDBPyConnection, name: str, table: type[Table], rows: pl.DataFrame, load_id: int
) -> int:
    """Write rows overtaken within this load to `ledger.superseded`; how many there were.

    rows: the declared columns with source_file and source_row. Where the row in force stands since an earlier load,
    the same exports were taken in before and nothing is noted again.
    """
    row = ", ".join(f"{_q(column)} := o.{_q(column)}" for column in table.columns())
    con.register("overtaken", _arrow(rows.select(*table.columns(), "source_file", "source_row")))
    before = _count(con, "from ledger.superseded")
    con.execute(f"""
        insert into ledger.superseded (load_id, superseded_by, table_name, source_file, source_row, row_json)
        select {load_id}, {load_id}, '{name}', source_file, source_row, to_json(struct_pack({row}))
        from overtaken o
        semi join (from accepted.{name} where load_id = {load_id}) using ({_key(table.key())})
        order by source_file, source_row
    """)
    con.unregister("overtaken")
    return _count(con, "from ledger.superseded") - before


def note_told_again(con: duckdb.DuckDBPyConnection, horses: pl.DataFrame, load_id: int) -> None:
    """Horses told again word for word count as told by this load, where a row about them was ever set aside.

    What is said last holds, also of consent: whether a row was set aside before or after the one in force is told by
    their loads. horses: the declared columns with source_file and source_row.
    """
    con.register("told", _arrow(horses.select("horse_id", "source_file", "source_row")))
    con.execute(f"""
        update accepted.horses h set load_id = {load_id}, source_file = t.source_file, source_row = t.source_row
        from told t where t.horse_id = h.horse_id and h.load_id < {load_id} and exists (
            select 1 from (
                select row_json from ledger.set_aside where table_name = 'horses'
                union all
                select row_json from ledger.warnings where table_name = 'horses' and column_name = 'share_with_vet'
            ) r where lower(trim(r.row_json ->> 'horse_id')) = lower(h.horse_id)
                or lower(trim(r.row_json ->> 'horse_name')) = lower(h.horse_name)
        )
    """)
    con.unregister("told")


def _refuse_key_twice(con: duckdb.DuckDBPyConnection, name: str, key: list[str]) -> None:
    twice = _count(con, f"from accepted.{name}") - _count(
        con, f"from (select distinct {_key(key)} from accepted.{name})"
    )
    if twice:
        raise TableError(f"accepted.{name}: {twice} rows share the key of another")


def refuse_orphans(con: duckdb.DuckDBPyConnection) -> None:
    """Raise TableError where an accepted row names a horse or a visit that is not in force."""
    for child, parent, key in (
        ("visits", "horses", "horse_id"),
        ("losses", "horses", "horse_id"),
        ("changes", "horses", "horse_id"),
        ("feet", "visits", "visit_id"),
    ):
        orphans = _count(con, f"from accepted.{child} anti join accepted.{parent} using ({key})")
        if orphans:
            raise TableError(f"accepted.{child}: {orphans} rows whose {key} is not in accepted.{parent}")


def _count(con: duckdb.DuckDBPyConnection, source: str) -> int:
    return con.execute(f"select count(*) {source}").fetchall()[0][0]


def _key(key: list[str]) -> str:
    return ", ".join(_q(part) for part in key)


def _q(name: str) -> str:
    return f'"{name}"'
