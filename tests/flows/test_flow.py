"""The same build under real Prefect: its own state folder, offline, once for the whole file."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import duckdb
import pytest

from pipelines.simulate import simulate, write_practice

ROOT = Path(__file__).parents[2]
RESULTS = ("loss_rates", "retention", "horse_losses", "bruise_recurrence", "angle_drift", "workload")


@pytest.fixture(scope="module")
def published(tmp_path_factory):
    """A small made-up practice published twice: plainly, and as a flow."""
    places = {way: tmp_path_factory.mktemp(way) for way in ("plain", "flow")}
    export = tmp_path_factory.mktemp("export") / "practice"
    write_practice(simulate(14, 1.0, 3), export)
    said = {way: publish(place, ["--flow"] if way == "flow" else [], export) for way, place in places.items()}
    return places, said


def publish(place, extra, export):
    arguments = ["publish", export]
    arguments += ["--store", place / "s.duckdb", "--site", place / "site", *extra]
    return shoeing(arguments)


def shoeing(arguments):
    return python("from pipelines.cli import main; main()", arguments)


def python(code, arguments, **settings):
    quiet = {name: value for name, value in os.environ.items() if not name.startswith("PREFECT")} | settings
    command = [sys.executable, "-c", code, *map(str, arguments)]
    return subprocess.run(command, cwd=ROOT, env=quiet, capture_output=True, text=True)


def rows(place, table):
    with duckdb.connect(str(place / "s.duckdb"), read_only=True) as con:
        return con.sql(f"from results.{table} order by all").fetchall()


def test_the_flow_ends_as_the_plain_run_does_and_says_the_same(published):
    places, said = published
    assert said["flow"].stderr == ""
    assert said["flow"].returncode == said["plain"].returncode == 0
    assert said["flow"].stdout.replace(str(places["flow"]), "") == said["plain"].stdout.replace(
        str(places["plain"]), ""
    )


@pytest.mark.parametrize("table", RESULTS)
def test_the_flow_gives_the_same_results(published, table):
    places, _ = published
    assert rows(places["flow"], table) == rows(places["plain"], table) != []


def test_prefect_keeps_its_own_files_beside_the_store_and_saw_every_step(published):
    import sqlite3

    places, _ = published
    with sqlite3.connect(places["flow"] / ".shoeing-prefect" / "prefect.db") as con:
        flows = con.execute("select name, state_type from flow_run").fetchall()
        tasks = {name for (name,) in con.execute("select name from task_run where state_type = 'COMPLETED'")}
    con.close()
    assert flows == [("publish practice", "COMPLETED")]
    assert {"read and check", "take in", "follow the shoes", "analyse", "write the site"} <= tasks
    assert not (places["plain"] / ".shoeing-prefect").exists()


FAILS = """
import sys
from pathlib import Path
from pipelines import flows
from pipelines.cli import run

place = Path(sys.argv[1])
places = ["--store", place / "s.duckdb", "--site", place / "site"]
code = run(["publish", str(place / "nowhere"), *map(str, places), "--flow"])
print("code", code)

from prefect import flow

flows.READING_DELAY_SECONDS = 0
tries = []

def reads():
    tries.append(1)
    if len(tries) == 1:
        raise OSError("the disk did not answer")
    return "read"

print(flow(lambda: flows.as_task("read and check", reads), name="reading")(), len(tries))
"""


@pytest.fixture(scope="module")
def failing(published, tmp_path_factory):
    """A flow with a problem and one whose disk fails once, one after the other.

    In a process of their own: what Prefect leaves running draws random numbers beside the tests that come after. In one
    process, in a folder that has Prefect's files already: starting it takes most of the time.
    """
    places, _ = published
    place = tmp_path_factory.mktemp("failing")
    shutil.copytree(places["flow"] / ".shoeing-prefect", place / ".shoeing-prefect")
    return python(FAILS, [place])


def test_a_problem_in_a_flow_is_one_clear_line_and_is_not_tried_again(failing):
    assert failing.stdout.splitlines()[0] == "code 2"
    assert failing.stderr.count("\n") == 1
    assert "nowhere" in failing.stderr


def test_reading_is_tried_again_when_the_disk_fails_once(failing):
    assert failing.stdout.splitlines()[1:] == ["read 2"]


def test_a_prefect_that_does_not_start_is_one_clear_line_and_nothing_is_written(published, tmp_path):
    places, _ = published
    arguments = ["publish", "--store", places["plain"] / "s.duckdb", "--site", tmp_path / "site", "--flow"]
    failed = python(
        "from pipelines.cli import main; main()",
        arguments,
        PREFECT_SERVER_EPHEMERAL_STARTUP_TIMEOUT_SECONDS="0",
        PREFECT_HOME=str(tmp_path / "prefect"),
    )
    assert failed.returncode == 2
    assert failed.stderr.count("\n") == 1
    assert "Prefect did not start" in failed.stderr
    assert not (tmp_path / "site").exists()
