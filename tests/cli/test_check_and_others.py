import csv
import json
import subprocess
import sys
from pathlib import Path

import pytest

from pipelines.cli import sample_practice


def test_check_says_what_would_be_set_aside_and_changes_nothing(shoeing, export, tmp_path):
    feet = export / "feet.csv"
    feet.write_text(feet.read_text(encoding="utf-8") + "V4,RF,vanished,fit_new,0,5,52\n", encoding="utf-8")
    before = sorted(path.name for path in tmp_path.rglob("*"))
    said = shoeing("check", export)
    assert (said.code, said.err) == (1, "")
    assert "feet.csv row 8" in said.out
    assert said.out.count("feet.csv row 8") == 2, "both of its reasons"
    assert sorted(path.name for path in tmp_path.rglob("*")) == before


def test_check_finds_nothing_in_a_clean_export(shoeing, export):
    said = shoeing("check", export)
    assert (said.code, said.err) == (0, "")
    assert "Set aside" not in said.out


def test_a_report_of_a_loss_that_finds_no_shoe_is_a_doubt(shoeing, export):
    losses = export / "losses.csv"
    losses.write_text(losses.read_text(encoding="utf-8") + "L2,H2,RH,2025-02-01,,unknown\n", encoding="utf-8")
    said = shoeing("check", export)
    assert said.code == 0
    assert "losses.csv row 3" in said.out


def test_the_report_of_a_check_holds_each_reason(shoeing, export, tmp_path):
    feet = export / "feet.csv"
    feet.write_text(feet.read_text(encoding="utf-8") + "V4,RF,vanished,fit_new,0,5,52\n", encoding="utf-8")
    said = shoeing("check", export, "--report", tmp_path / "why.csv")
    assert "why.csv" in said.out
    with (tmp_path / "why.csv").open(encoding="utf-8", newline="") as file:
        assert "vanished" in str(list(csv.reader(file)))


def test_check_against_a_store_knows_its_horses_and_leaves_it_as_it_was(shoeing, export, tmp_path):
    store = tmp_path / "practice.duckdb"
    shoeing("publish", export, "--store", store, "--site", tmp_path / "site")
    (export / "horses.csv").write_text("horse_id,horse_name,discipline\nH1,Made Up Ash,eventing\n", encoding="utf-8")
    before = store.read_bytes()
    assert shoeing("check", export, "--store", store).code == 0
    assert shoeing("check", export).code == 1
    assert store.read_bytes() == before


def test_simulate_writes_an_export_with_its_true_effects_beside_it(shoeing, tmp_path):
    said = shoeing("simulate", "--horses", 5, "--years", 1, "--seed", 7, "--to", tmp_path / "made")
    assert (said.code, said.err) == (0, "")
    assert {"horses.csv", "visits.csv", "feet.csv", "losses.csv"} <= {p.name for p in (tmp_path / "made").iterdir()}
    truths = [json.loads(path.read_text(encoding="utf-8")) for path in (tmp_path / "made").glob("*.json")]
    assert any(truth for truth in truths)
    assert shoeing("publish", tmp_path / "made", "--store", tmp_path / "s", "--site", tmp_path / "site").code == 0


def test_simulate_never_writes_into_a_folder_that_holds_something(shoeing, export):
    said = shoeing("simulate", "--horses", 5, "--years", 1, "--seed", 7, "--to", export)
    assert (said.code, said.err.count("\n")) == (2, 1)


def test_the_demo_publishes_the_made_up_practice(shoeing, tmp_path):
    said = shoeing("demo", "--site", tmp_path / "site")
    assert (said.code, said.err) == (0, "")
    assert (tmp_path / "site" / "index.html").is_file()
    assert sample_practice().is_dir()


def test_every_command_has_help(shoeing):
    whole = shoeing("--help").out
    for command in ("demo", "check", "publish", "simulate"):
        assert command in whole
        assert "Usage" in shoeing(command, "--help").out


HEAVY = {"prefect", "statsmodels", "lifelines", "pandas", "scipy.stats", "altair", "polars", "duckdb", "pandera"}


def imported(*arguments):
    command = f"run({[str(a) for a in arguments]})"
    code = f"import sys; from pipelines.cli import run; {command}; sys.stderr.write(' '.join(sys.modules))"
    root = Path(__file__).parents[2]
    done = subprocess.run([sys.executable, "-c", code], cwd=root, capture_output=True, text=True, check=True)
    return HEAVY & set(done.stderr.split())


@pytest.mark.parametrize("command", [["--help"], ["publish", "--help"], ["check", "--help"]], ids=" ".join)
def test_help_imports_nothing_heavy(command):
    assert imported(*command) == set()


def test_the_demo_imports_nothing_that_it_does_not_use(tmp_path):
    assert imported("demo", "--site", tmp_path / "site") <= {"pandas", "altair", "polars", "duckdb", "pandera"}
