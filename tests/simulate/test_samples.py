"""The committed samples are what their READMEs say they are."""

import json
import re
from datetime import date
from pathlib import Path

import polars as pl
import pytest
from polars.testing import assert_frame_equal

from pipelines import build
from pipelines.intake.export import read_export
from pipelines.simulate import simulate, write_practice
from schemas.exports import EXPORT_TABLES
from schemas.records import Known

SAMPLES = Path(__file__).parents[2] / "sample_data"
PRACTICE, FAULTS = SAMPLES / "practice", SAMPLES / "with_faults"
TODAY = date(2026, 11, 25)


def settings_of_readme() -> tuple[int, float, int]:
    said = re.search(
        r"simulate --horses (\d+) --years ([\d.]+) --seed (\d+)", (SAMPLES / "README.md").read_text("utf-8")
    )
    return int(said[1]), float(said[2]), int(said[3])


def test_the_sample_practice_is_made_again_byte_for_byte_by_the_command_in_its_readme(tmp_path):
    written = write_practice(simulate(*settings_of_readme()), tmp_path)
    assert sorted(path.name for path in written) == sorted(path.name for path in PRACTICE.iterdir())
    for path in written:
        assert path.read_bytes() == (PRACTICE / path.name).read_bytes(), path.name


def test_the_sample_practice_is_one_practice_of_three_farriers_and_many_disciplines():
    practice = simulate(*settings_of_readme())
    horses = practice.horses
    assert horses["discipline"].n_unique() >= 9
    assert practice.visits["farrier"].drop_nulls().n_unique() == 3
    assert horses["vet_practice"].drop_nulls().n_unique() == 3
    assert set(horses["share_with_vet"]) == {True, False, None}
    assert horses["owner_contact"].drop_nulls().str.ends_with("@example.org").all()
    assert sum(path.stat().st_size for path in PRACTICE.iterdir()) < 1_500_000


def test_the_sample_practice_is_read_without_one_row_set_aside():
    records = read_export([PRACTICE], Known(), None, TODAY)
    assert (records.set_aside.height, records.as_of) == (0, simulate(*settings_of_readme()).last_day)
    assert {name: frame.height for name, frame in records.tables.items()} == records.rows_read


def test_what_is_written_comes_back_as_it_was_drawn(tmp_path):
    practice = simulate(30, 2, 3)
    write_practice(practice, tmp_path)
    records = read_export([tmp_path], Known(), None, TODAY)
    for name, table in EXPORT_TABLES.items():
        back = records.tables[name].select(list(table.columns()))
        assert_frame_equal(back, practice.tables[name])
    assert json.loads((tmp_path / "true_effects.json").read_text("utf-8")) == json.loads(
        json.dumps(practice.true_effects)
    )


def told_in_readme() -> list[tuple[str, int, str, str]]:
    """file, row, column, rule of each line of the table of faults."""
    lines = (FAULTS / "README.md").read_text("utf-8").splitlines()
    cells = [
        [cell.strip() for cell in line.strip("|").split("|")] for line in lines if re.match(r"\| \S+\.\w+ \|", line)
    ]
    return [(file, int(row), column, rule) for file, row, column, rule, *_ in cells]


@pytest.fixture(scope="module")
def found():
    """Every finding of a check of the faulty export."""
    outcome = build.check([FAULTS], None, build.Settings())
    return pl.concat([outcome.set_aside, outcome.warnings])


def test_the_faulty_export_has_each_fault_its_readme_names_and_no_other(found):
    told = {line for line in told_in_readme() if line[3] != "identical"}
    columns = found.select("source_file", "source_row", pl.col("column_name").fill_null(""), "rule")
    assert set(columns.iter_rows()) == told
    assert found.height == len(told)


def test_identical_rows_of_the_faulty_export_collapse_and_are_counted():
    told = [line[0] for line in told_in_readme() if line[3] == "identical"]
    collapsed = read_export([FAULTS], Known(), None, TODAY).collapsed
    assert {f"{name}.csv": count for name, count in collapsed.items() if count} == {file: 1 for file in told}
