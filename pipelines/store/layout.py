"""The tables of a store, made from the declarations; an older store is brought up to date."""

from dataclasses import dataclass, field

import duckdb
import polars as pl

from schemas.base import Problem, Table
from schemas.derived import DERIVED_TABLES
from schemas.exports import EXPORT_TABLES
from schemas.fields import MEANINGS
from schemas.ledger import LEDGER_TABLES
from schemas.results import RESULT_TABLES

FORMAT = 1
SQL_TYPES = {
    pl.String: "VARCHAR",
    pl.Int64: "BIGINT",
    pl.Float64: "DOUBLE",
    pl.Date: "DATE",
    pl.Boolean: "BOOLEAN",
    pl.Datetime: "TIMESTAMP",
}
COUNTS = ("rows_read", "rows_new", "rows_changed", "rows_unchanged", "rows_set_aside")
PROVENANCE = {"load_id": "BIGINT", "source_file": "VARCHAR", "source_row": "BIGINT"}
LISTS_OF_A_LOAD = {
    "files": 'STRUCT("name" VARCHAR, sha256 VARCHAR, "rows" BIGINT)[]',
    "tables": f"STRUCT(table_name VARCHAR, {', '.join(f'{count} BIGINT' for count in COUNTS)})[]",
}
COMMENTS = {name: meaning.text for name, meaning in MEANINGS.items()} | {
    "files": "The files of the load: name, SHA-256 and rows.",
    "tables": "What became of the rows of each table of the export.",
}
REBUILT = ("derived", "results")


@dataclass(frozen=True)
class Shape:
    """One table as it stands in the store. more: columns beside the declared ones, with their SQL types."""

    schema: str
    name: str
    table: type[Table]
    more: dict[str, str] = field(default_factory=dict)

    @property
    def columns(self) -> dict[str, str]:
        """Column name → SQL type, in the order of the table."""
        return {name: SQL_TYPES[dtype.base_type()] for name, dtype in self.table.dtypes().items()} | self.more

    def create(self) -> str:
        """The statements that make the table and write down what its rows and columns mean."""
        columns = ", ".join(f"{_quoted(name)} {kind}" for name, kind in self.columns.items())
        comments = [self.comment(name) for name in self.columns]
        meaning = f"comment on table {self.schema}.{self.name} is {_text(self.table.row_meaning())};"
        return "\n".join([f"create table {self.schema}.{self.name} ({columns});", meaning, *comments])

    def comment(self, column: str) -> str:
        """The statement that writes down what one column means."""
        return f"comment on column {self.schema}.{self.name}.{_quoted(column)} is {_text(COMMENTS[column])};"


def shapes() -> list[Shape]:
    """Every table of a store."""
    return [
        *(Shape("accepted", name, table, PROVENANCE) for name, table in EXPORT_TABLES.items()),
        *(
            Shape("ledger", name, table, LISTS_OF_A_LOAD if name == "loads" else {})
            for name, table in LEDGER_TABLES.items()
        ),
        *(Shape("derived", name, table) for name, table in DERIVED_TABLES.items()),
        *(Shape("results", name, table) for name, table in RESULT_TABLES.items()),
    ]


def prepare(con: duckdb.DuckDBPyConnection, called: str, *, read_only: bool) -> None:
    """Make the tables of a new store, or bring an older one up to date; nothing is done where all is as declared.

    called: how the store is named to people. Raises Problem where the file holds something else, a newer form, or an
    older one that may not be changed because it is opened to be read only.
    """
    there = _columns(con)
    if there:
        _refuse_foreign(con, there, called)
    statements = _make_all() if not there else _mend(there)
    if not statements:
        return
    if read_only:
        raise Problem(f"{called} holds no records in the form of this version: publish into it once, then try again")
    con.execute("\n".join(statements))


def _columns(con: duckdb.DuckDBPyConnection) -> dict[tuple[str, str], dict[str, str]]:
    rows = con.execute(
        "select schema_name, table_name, column_name, data_type from duckdb_columns() "
        "where database_name = current_database() and not internal order by all"
    ).fetchall()
    there: dict[tuple[str, str], dict[str, str]] = {}
    for schema, table, column, kind in rows:
        there.setdefault((schema, table), {})[column] = kind
    return there


def _refuse_foreign(con: duckdb.DuckDBPyConnection, there: dict[tuple[str, str], dict[str, str]], called: str) -> None:
    if there.get(("ledger", "store_format")) != {"format_version": "BIGINT"}:
        raise Problem(f"{called} is a DuckDB file of another kind, not a store of visit records: name another file")
    found = con.execute("select max(format_version) from ledger.store_format").fetchall()[0][0]
    if found != FORMAT:
        raise Problem(
            f"{called} is kept in form {found}, and this version knows form {FORMAT}: use the version that made it"
        )


def _make_all() -> list[str]:
    schemas = [f"create schema {name};" for name in ("accepted", "ledger", "derived", "results")]
    mark = f"insert into ledger.store_format values ({FORMAT});"
    return [*schemas, *(shape.create() for shape in shapes()), mark]


def _mend(there: dict[tuple[str, str], dict[str, str]]) -> list[str]:
    declared = {(shape.schema, shape.name): shape for shape in shapes()}
    # A table that is no longer declared may hold what may no longer be shown.
    gone = [
        f"drop table {schema}.{name};" for schema, name in there if schema in REBUILT and (schema, name) not in declared
    ]
    return gone + [line for key, shape in declared.items() for line in _mend_one(shape, there.get(key))]


def _mend_one(shape: Shape, there: dict[str, str] | None) -> list[str]:
    if there is None:
        return [shape.create()]
    missing = {name: kind for name, kind in shape.columns.items() if name not in there}
    if shape.schema not in REBUILT:
        return [
            f"alter table {shape.schema}.{shape.name} add column {_quoted(name)} {kind};\n{shape.comment(name)}"
            for name, kind in missing.items()
        ]
    if set(there) == set(shape.columns) and all(there[name] == kind for name, kind in shape.columns.items()):
        return []
    return [f"drop table {shape.schema}.{shape.name};", shape.create()]


def _quoted(name: str) -> str:
    return f'"{name}"'


def _text(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"
