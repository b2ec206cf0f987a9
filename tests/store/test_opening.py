"""Opening a store: what is in the way is one line for people; what is left unfinished never was."""

import hashlib
import signal
import subprocess
import sys
from pathlib import Path

import duckdb
import polars as pl
import pytest

from pipelines.store import open_store
from pipelines.store.layout import FORMAT, shapes
from schemas.base import Problem, TableError
from schemas.exports import EXPORT_TABLES
from schemas.fields import MEANINGS
from tests.store.drawn import AS_OF, STARTED, load, records, world

ROOT = Path(__file__).parents[2]
HORSES = "horse_id | horse_name | discipline\n ash | Ash | trail"
ASH = world(horses=HORSES)
BAY = world(horses=HORSES.replace("ash", "bay"))
# A second program that opens a store, does something to it, says so and waits to be stopped.
OTHER = """
import sys
from pathlib import Path
from pipelines.store import open_store
from tests.store.drawn import STARTED, load, records, world
horses = world(horses="horse_id | horse_name | discipline\\n bay | Bay | trail")
with open_store(Path(sys.argv[1]), read_only=sys.argv[2] == "reads") as store:
    if sys.argv[2] == "committed":
        load(store, horses)
        store.commit()
        store.take_in(records(world(horses="horse_id | horse_name | discipline\\n cob | Cob | trail")), STARTED)
    elif sys.argv[2] == "in the middle":
        store.take_in(records(horses), STARTED)
    for number in range(10_000 if sys.argv[2] == "loads on and on" else 0):
        line = f"\\n h{number} | Horse | trail"
        load(store, world(horses="horse_id | horse_name | discipline" + line))
        store.commit()
        print("ready" if number == 0 else number, flush=True)
    print("ready", flush=True)
    sys.stdin.read()
"""


@pytest.fixture
def place(tmp_path):
    return tmp_path / "practice.duckdb"


@pytest.fixture
def kept(place):
    """A store on disk in which ash is in force."""
    with open_store(place) as store:
        load(store, ASH)
        store.derive(AS_OF)
        store.commit()
    return place


@pytest.fixture
def other():
    """other(path, doing) starts a second program on the store; it stands still until it is stopped."""
    started = []

    def start(path, doing):
        command = [sys.executable, "-c", OTHER, str(path), doing]
        program = subprocess.Popen(command, cwd=ROOT, text=True, stdin=subprocess.PIPE, stdout=subprocess.PIPE)
        started.append(program)
        assert program.stdout.readline() == "ready\n"
        return program

    yield start
    for program in started:
        program.kill()
        program.communicate()


def horses(path):
    with open_store(path, read_only=True) as store:
        return store.sql("select horse_id from accepted.horses order by all")["horse_id"].to_list()


def digest(path):
    return hashlib.sha256(path.read_bytes()).hexdigest()


def problem(path, **options):
    with pytest.raises(Problem) as raised, open_store(path, **options):
        pass
    assert "\n" not in str(raised.value)
    return str(raised.value)


def test_a_second_program_is_told_in_one_line_which_process_has_the_store(kept, other):
    program = other(kept, "writes")
    assert problem(kept) == f"{kept} is in use by process {program.pid}: wait until it is done, then try again"
    assert problem(kept, read_only=True) == problem(kept)


def test_many_may_read_at_once_but_then_none_may_write(kept, other):
    program = other(kept, "reads")
    assert horses(kept) == ["ash"]
    assert f"in use by process {program.pid}" in problem(kept)


def test_a_store_that_this_program_has_open_is_said_to_be(kept):
    with open_store(kept, read_only=True):
        assert "open in this program already" in problem(kept)


@pytest.mark.parametrize(
    ("doing", "there"), {"in the middle": ["ash"], "committed": ["ash", "bay"]}.items(), ids=lambda part: str(part)
)
def test_after_a_kill_all_that_was_committed_is_there_and_nothing_else(kept, other, doing, there):
    program = other(kept, doing)
    program.send_signal(signal.SIGKILL)
    assert program.wait() == -signal.SIGKILL
    assert horses(kept) == there
    with open_store(kept) as store:
        loads = store.sql("select count(*) as loads, sum(rows_new) as rows from ledger.loads").row(0)
        assert loads == (len(there), len(there))
        load(store, world(horses=HORSES.replace("ash", "elk")))
        store.commit()
    assert horses(kept) == [*there, "elk"]


def test_a_kill_in_the_middle_of_one_load_after_another_keeps_every_load_that_was_acknowledged(kept, other):
    program = other(kept, "loads on and on")
    acknowledged = [program.stdout.readline() for _ in range(5)]
    program.send_signal(signal.SIGKILL)
    assert program.wait() == -signal.SIGKILL
    with open_store(kept, read_only=True) as store:
        loads = store.sql("select load_id, rows_new from ledger.loads order by load_id")
        horses = store.sql("select horse_id, load_id from accepted.horses order by load_id")
    assert len(loads) >= 1 + 1 + len(acknowledged)
    assert loads["rows_new"].to_list() == [1] * len(loads)
    assert horses["load_id"].to_list() == loads["load_id"].to_list()


def test_a_store_left_without_commit_is_the_same_to_the_byte(kept):
    before = digest(kept)
    with open_store(kept) as store:
        load(store, BAY)
        store.derive(AS_OF)
    assert digest(kept) == before
    assert sorted(kept.parent.iterdir()) == [kept]


def test_a_load_of_many_rows_left_without_commit_leaves_no_trace_either(kept):
    # Rows beyond five groups of 122,880 would go to the file ahead of the commit if DuckDB were left to its own ways.
    many = pl.select(horse_id=pl.int_range(700_000).cast(pl.String)).with_columns(
        pl.lit("Horse").alias("horse_name"), pl.lit("trail").alias("discipline")
    )
    before = digest(kept)
    with open_store(kept) as store:
        load(store, {"horses": pl.concat([EXPORT_TABLES["horses"].empty(), many], how="diagonal")})
    assert digest(kept) == before


def test_a_store_in_which_something_failed_is_the_same_to_the_byte(kept):
    before = digest(kept)
    with pytest.raises(TableError, match="share the key"), open_store(kept) as store:
        store.take_in(records({**BAY, "horses": pl.concat([BAY["horses"]] * 2)}), STARTED)
    assert digest(kept) == before


def test_a_new_store_left_without_commit_never_was(place):
    with open_store(place) as store:
        load(store, ASH)
    assert list(place.parent.iterdir()) == []


def test_what_is_rolled_back_is_gone_and_what_was_committed_stays(place):
    with open_store(place) as store:
        load(store, ASH)
        store.commit()
        load(store, BAY)
        store.rollback()
        store.commit()
    assert horses(place) == ["ash"]


def test_a_store_opened_to_be_read_takes_nothing_in(kept):
    before = digest(kept)
    with open_store(kept, read_only=True) as store, pytest.raises(duckdb.InvalidInputException, match="read-only"):
        store.take_in(records(BAY), STARTED)
    assert digest(kept) == before


@pytest.mark.parametrize(
    ("make", "line"),
    {
        "a folder": (lambda path: path.mkdir(), "is a folder"),
        "a text": (lambda path: path.write_text("horse_id,horse_name\n" * 2000), "is not a store of visit records"),
    }.values(),
    ids=["a folder", "a text"],
)
def test_what_is_no_database_is_refused_and_left_alone(place, make, line):
    make(place)
    assert line in problem(place)
    assert place.exists()


def test_a_store_that_is_only_to_be_read_must_be_there(place):
    assert problem(place, read_only=True) == f"there is no store {place}: publish some records into it first"


def test_a_store_in_a_folder_that_is_not_there_is_refused(tmp_path):
    assert "there is no folder" in problem(tmp_path / "none" / "practice.duckdb")


def test_another_kind_of_database_is_refused_and_left_alone(place):
    with duckdb.connect(place) as con:
        con.execute("create table horses as select 1 as horse_id")
    before = digest(place)
    assert problem(place).endswith("is a DuckDB file of another kind, not a store of visit records: name another file")
    assert digest(place) == before


def test_a_store_of_a_newer_form_is_refused_and_left_alone(kept):
    with duckdb.connect(kept) as con:
        con.execute(f"update ledger.store_format set format_version = {FORMAT + 1}")
    before = digest(kept)
    assert f"is kept in form {FORMAT + 1}, and this version knows form {FORMAT}" in problem(kept)
    assert digest(kept) == before


def older(path, *statements):
    with duckdb.connect(path) as con:
        for statement in statements:
            con.execute(statement)


def columns(path, table):
    with duckdb.connect(path, read_only=True) as con:
        return [row[0] for row in con.sql(f"describe {table}").fetchall()]


def test_an_older_store_that_lacks_a_column_gets_it_blank_with_its_rows_kept(kept):
    older(kept, "alter table accepted.horses drop column turnout", "alter table ledger.warnings drop column rule")
    with open_store(kept) as store:
        assert store.sql("select horse_id, turnout from accepted.horses").rows() == [("ash", None)]
        store.commit()
    assert "turnout" in columns(kept, "accepted.horses")
    assert "rule" in columns(kept, "ledger.warnings")
    assert comment(kept, "accepted", "horses", "turnout") == MEANINGS["turnout"].text


def test_older_tables_that_are_made_anew_each_time_are_made_anew(kept):
    older(
        kept,
        "alter table results.loss_rates drop column per_100_shoes",
        "drop table results.retention",
        "create table results.no_longer as select 1 as owner_name",
    )
    with open_store(kept) as store:
        store.commit()
    assert "per_100_shoes" in columns(kept, "results.loss_rates")
    assert "kept" in columns(kept, "results.retention")
    with duckdb.connect(kept, read_only=True) as con, pytest.raises(duckdb.CatalogException):
        con.execute("from results.no_longer")


def test_an_older_store_that_is_only_to_be_read_is_not_changed_but_named(kept):
    older(kept, "alter table accepted.horses drop column turnout")
    before = digest(kept)
    assert "publish into it once" in problem(kept, read_only=True)
    assert digest(kept) == before


def comment(path, schema, table, column):
    with duckdb.connect(path, read_only=True) as con:
        query = "select comment from duckdb_columns() where (schema_name, table_name, column_name) = (?, ?, ?)"
        return con.execute(query, [schema, table, column]).fetchone()[0]


def test_every_table_and_column_says_what_it_means(kept):
    with duckdb.connect(kept, read_only=True) as con:
        tables = con.sql("select schema_name, table_name, comment from duckdb_tables()").fetchall()
        of_columns = con.sql(
            "select schema_name, table_name, column_name, comment from duckdb_columns() where not internal"
        ).fetchall()
    assert {(schema, name) for schema, name, _ in tables} == {(shape.schema, shape.name) for shape in shapes()}
    assert [row for row in (*tables, *of_columns) if not row[-1]] == []
    assert (("accepted", "horses", EXPORT_TABLES["horses"].row_meaning())) in tables
    assert ("accepted", "horses", "turnout", MEANINGS["turnout"].text) in of_columns


def test_no_bar_of_a_slow_query_is_drawn_where_python_is_taken_for_a_prompt():
    asked = "select value from duckdb_settings() where name = 'enable_progress_bar'"
    code = (
        f"from pipelines.store.opening import connect; print(connect(None, read_only=False).sql({asked!r}).fetchall())"
    )
    said = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert said.stdout == "[('false',)]\n"
