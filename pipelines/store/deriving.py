"""Build the derived tables from the rows in force, as of a day."""

from datetime import date
from importlib.resources import files

import duckdb

from schemas.words import END_OF_FOOT, PACE_OF_DISCIPLINE, SEASONS

DERIVED = ("foot_rows", "shoe_spells", "visit_intervals", "foot_steps", "bruise_steps")
DOUBTS = {
    "loss_finds_no_shoe": "losses_without_shoe",
    "lost_shoe_on_no_foot": "visits_without_loss",
    "planned_visits_close_together": "visits_close_together",
}
"""What is doubted once all rows are in force: the rule and the query that finds the rows."""


def derive(
    con: duckdb.DuckDBPyConnection, as_of: date, follow_up_days: int, hemisphere: str, load_id: int | None
) -> None:
    """Rebuild every derived table; load_id names the load whose losses and visits are held against the rest, if any.

    Rows after `as_of` are passed over. follow_up_days: a shoe of which nothing more is heard is followed so long.
    """
    _set(con, "as_of", as_of, "date")
    _set(con, "follow_up_days", follow_up_days, "integer")
    _set(con, "hemisphere", hemisphere, "varchar")
    con.execute(_macros())
    for name in DERIVED:
        con.execute(_sql(name))
    if load_id is not None:
        _doubt(con, load_id)
    con.execute("drop table foot_rows")


def set_season(con: duckdb.DuckDBPyConnection, start: date, stop: date) -> None:
    """Name the first and the last day of the season under review, for the analyses."""
    _set(con, "season_start", start, "date")
    _set(con, "season_stop", stop, "date")


def _doubt(con: duckdb.DuckDBPyConnection, load_id: int) -> None:
    _set(con, "load_id", load_id, "bigint")
    for rule, query in DOUBTS.items():
        con.execute("delete from ledger.warnings where load_id = ? and rule = ?", [load_id, rule])
        con.execute(_sql(query))


def _macros() -> str:
    """The trade's words as SQL functions: pace of a discipline, end of a foot, season of a day."""
    pace = " ".join(f"when '{word}' then '{pace}'" for word, pace in PACE_OF_DISCIPLINE.items() if pace)
    end = " ".join(f"when '{foot}' then '{end}'" for foot, end in END_OF_FOOT.items())
    quarter = "(month(day) % 12 // 3 + if(getvariable('hemisphere') = 'south', 2, 0)) % 4"
    return f"""
        create or replace temp macro pace_of(discipline) as case discipline {pace} end;
        create or replace temp macro end_of(foot) as case foot {end} end;
        create or replace temp macro season_of(day) as {list(SEASONS)}[1 + {quarter}];
    """


def _sql(name: str) -> str:
    return files("pipelines.store").joinpath(f"{name}.sql").read_text(encoding="utf-8")


def _set(con: duckdb.DuckDBPyConnection, name: str, value: object, kind: str) -> None:
    con.execute(f"set variable {name} = ?::{kind}", [value])
