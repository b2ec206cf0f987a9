"""The store's account of every load: what was read, what became of it, and why."""

import polars as pl

from schemas.base import Table, column


class Loads(Table):
    """One row is one load of one or more exports."""

    load_id: pl.Int64 = column("load_id", required=True)
    started_at: pl.Datetime = column("started_at", required=True)
    finished_at: pl.Datetime = column("finished_at", required=True)
    as_of: pl.Date = column("as_of", required=True)
    rows_read: pl.Int64 = column("rows_read", required=True)
    rows_new: pl.Int64 = column("rows_new", required=True)
    rows_changed: pl.Int64 = column("rows_changed", required=True)
    rows_unchanged: pl.Int64 = column("rows_unchanged", required=True)
    rows_set_aside: pl.Int64 = column("rows_set_aside", required=True)

    class Config(Table.Config):
        """Key."""

        unique = ["load_id"]


class LoadTables(Table):
    """One row is what became of the rows of one table in one load."""

    load_id: pl.Int64 = column("load_id", required=True)
    table_name: pl.String = column("table_name", required=True)
    rows_read: pl.Int64 = column("rows_read", required=True)
    rows_new: pl.Int64 = column("rows_new", required=True)
    rows_changed: pl.Int64 = column("rows_changed", required=True)
    rows_unchanged: pl.Int64 = column("rows_unchanged", required=True)
    rows_set_aside: pl.Int64 = column("rows_set_aside", required=True)

    class Config(Table.Config):
        """Key."""

        unique = ["load_id", "table_name"]


class LoadFiles(Table):
    """One row is one file of one load."""

    load_id: pl.Int64 = column("load_id", required=True)
    file_name: pl.String = column("file_name", required=True)
    sha256: pl.String = column("sha256", required=True)
    rows: pl.Int64 = column("rows", required=True)

    class Config(Table.Config):
        """No key: rows may repeat."""

        unique = None


class Findings(Table):
    """One row is one reason why one row was set aside, or one doubt about an accepted row."""

    table_name: pl.String = column("table_name", required=True)
    source_file: pl.String = column("source_file", required=True)
    source_row: pl.Int64 = column("source_row", required=True)
    rule: pl.String = column("rule", required=True)
    column_name: pl.String = column("column_name")
    value: pl.String = column("value")
    reason: pl.String = column("reason", required=True)
    row_json: pl.String = column("row_json", required=True)

    class Config(Table.Config):
        """No key: rows may repeat."""

        unique = None


class SetAside(Table):
    """One row is one reason why one row of one load was not accepted."""

    load_id: pl.Int64 = column("load_id", required=True)
    table_name: pl.String = column("table_name", required=True)
    source_file: pl.String = column("source_file", required=True)
    source_row: pl.Int64 = column("source_row", required=True)
    rule: pl.String = column("rule", required=True)
    column_name: pl.String = column("column_name")
    value: pl.String = column("value")
    reason: pl.String = column("reason", required=True)
    row_json: pl.String = column("row_json", required=True)

    class Config(Table.Config):
        """No key: rows may repeat."""

        unique = None


class Warnings(SetAside):
    """One row is one doubt about one row that was accepted in one load."""


class Superseded(Table):
    """One row is an earlier version of a row that a later load changed."""

    load_id: pl.Int64 = column("load_id", required=True)
    superseded_by: pl.Int64 = column("superseded_by", required=True)
    table_name: pl.String = column("table_name", required=True)
    source_file: pl.String = column("source_file", required=True)
    source_row: pl.Int64 = column("source_row", required=True)
    row_json: pl.String = column("row_json", required=True)

    class Config(Table.Config):
        """No key: rows may repeat."""

        unique = None


class Shares(Table):
    """One row is one summary made for one vet practice."""

    share_id: pl.Int64 = column("share_id", required=True)
    summary: pl.String = column("summary", required=True)
    vet_practice: pl.String = column("vet_practice", required=True)
    shared_at: pl.Datetime = column("shared_at", required=True)
    as_of: pl.Date = column("as_of", required=True)
    since: pl.Date = column("since")
    counted_to: pl.Date = column("counted_to", required=True)
    horses: pl.Int64 = column("horses", required=True)
    with_data: pl.Boolean = column("with_data", required=True)
    encrypted: pl.Boolean = column("encrypted", required=True)
    sha256: pl.String = column("sha256", required=True)
    carried_over: pl.Boolean = column("carried_over")

    class Config(Table.Config):
        """Key."""

        unique = ["share_id"]


class ShareHorses(Table):
    """One row is one horse that stood in one summary."""

    share_id: pl.Int64 = column("share_id", required=True)
    horse_id: pl.String = column("horse_id", required=True)

    class Config(Table.Config):
        """Key."""

        unique = ["share_id", "horse_id"]


class ShareUnits(Table):
    """One row is one shoe or look counted in a figure that one summary showed; later ones are held against it."""

    share_id: pl.Int64 = column("share_id", required=True)
    measure: pl.String = column("measure", required=True)
    unit_id: pl.String = column("unit_id", required=True)
    horse_id: pl.String = column("horse_id", required=True)
    cells: pl.String = column("cells", required=True)

    class Config(Table.Config):
        """Key."""

        unique = ["share_id", "measure", "unit_id"]


class StoreFormat(Table):
    """The one row is the form in which this store is kept."""

    format_version: pl.Int64 = column("format_version", required=True)

    class Config(Table.Config):
        """Key."""

        unique = ["format_version"]


LEDGER_TABLES: dict[str, type[Table]] = {
    "loads": Loads,
    "load_tables": LoadTables,
    "load_files": LoadFiles,
    "set_aside": SetAside,
    "warnings": Warnings,
    "superseded": Superseded,
    "shares": Shares,
    "share_horses": ShareHorses,
    "share_units": ShareUnits,
    "store_format": StoreFormat,
}
