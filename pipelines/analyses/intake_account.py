"""What became of the rows that were read in the latest load, and of which files were they?"""

import polars as pl

from schemas.results import FilesTaken, RowsSetAside, RowsTaken

COUNTS = {
    "tables": """
        select table_name, rows_read, rows_new, rows_changed, rows_unchanged, rows_set_aside,
               case table_name when 'horses' then (select count(*) from accepted.horses)
                               when 'visits' then (select count(*) from accepted.visits)
                               when 'feet' then (select count(*) from accepted.feet)
                               when 'losses' then (select count(*) from accepted.losses)
                               else (select count(*) from accepted.changes) end as rows
        from ledger.load_tables where load_id = (select max(load_id) from ledger.loads)
        order by list_position(['horses', 'visits', 'feet', 'losses', 'changes'], table_name)
    """,
    "reasons": """
        select table_name, column_name, rule, count(distinct (source_file, source_row)) as rows, 'set aside' as note
        from ledger.set_aside where load_id = (select max(load_id) from ledger.loads) group by all
        union all
        select table_name, column_name, rule, count(distinct (source_file, source_row)), 'doubt'
        from ledger.warnings where load_id = (select max(load_id) from ledger.loads) group by all
        order by note desc, table_name, rule, column_name
    """,
    "files": """
        select unnest(files, recursive := true) from ledger.loads
        where load_id = (select max(load_id) from ledger.loads)
    """,
}


def intake_account(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """Rows read, taken and set aside by table; rows by rule; files read: all of the latest load, as counted."""
    files = counts["files"].rename({"name": "file_name"}) if counts["files"].width else FilesTaken.empty()
    return {
        "rows_taken": RowsTaken.check(counts["tables"]),
        "rows_set_aside": RowsSetAside.check(counts["reasons"]),
        "files_taken": FilesTaken.check(files),
    }
