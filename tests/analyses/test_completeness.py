import re
from importlib import import_module

import pytest
from hypothesis import given, settings

from pipelines.analyses import completeness as analysis
from pipelines.build import ANALYSES
from schemas.exports import EXPORT_TABLES, SELDOM, Feet, Visits
from schemas.results import RESULT_TABLES
from tests.analyses import worlds
from tests.analyses.agreement import assert_agree
from tests.analyses.drawing import draw, fill
from tests.analyses.recorded import results_of


def filled(record, **tables):
    table = record(**tables).results(analysis)["completeness"]
    return {(row["table_name"], row["column_name"]): row for row in table.to_dicts()}


def test_a_column_filled_in_one_row_of_four_is_a_quarter_filled(record):
    drawing = "visit_id | visit_kind | fee\nv1 | routine | 90\nv2 | first |\nv3 | other |\nv4 | routine |"
    fee = filled(record, visits=draw(Visits, drawing))["visits", "fee"]
    assert (fee["rows"], fee["filled"], fee["share"]) == (4, 1, 0.25)


def test_an_empty_table_has_no_share(record):
    row = filled(record)["losses", "cause"]
    assert (row["rows"], row["filled"], row["share"]) == (0, 0, None)


def test_every_column_of_every_export_table_has_its_row_in_the_declared_order(record):
    kept = {name: table for name, table in EXPORT_TABLES.items() if name not in SELDOM}
    assert list(filled(record)) == [(name, column) for name, table in kept.items() for column in table.columns()]


def test_what_a_column_limits_is_named_by_results_that_exist(record):
    named = {name for row in filled(record).values() for name in row["used_by"].split(", ") if name}
    assert named
    assert named <= set(RESULT_TABLES) | set(ANALYSES)


def test_a_column_is_said_to_be_used_only_if_it_is_declared():
    assert {name: set(columns) - set(EXPORT_TABLES[name].columns()) for name, columns in analysis.USED_BY.items()} == {
        name: set() for name in EXPORT_TABLES
    }


# These show rows as they stand or count columns themselves; nothing of them is weakened by a blank.
SHOWN_ONLY = {"completeness", "intake_account", "horse_pages"}


@pytest.mark.parametrize("name", sorted(set(ANALYSES) - SHOWN_ONLY))
def test_every_column_that_an_analysis_reads_is_said_to_limit_it(name):
    module = import_module(f"pipelines.analyses.{name}")
    declared = {column for table in EXPORT_TABLES.values() for column in table.columns()}
    read = declared & set(re.findall(r"\w+", re.sub("'[^']*'", "", " ".join(module.COUNTS.values()))))
    own = {name, *results_of(module)} | ({"due_list"} if name == "calendar_entries" else set())
    said = {column for table in analysis.USED_BY.values() for column, used in table.items() if own & set(used)}
    assert read
    assert read - said == set(), f"say in completeness.USED_BY that these limit {name}"


@settings(deadline=None, max_examples=25)
@given(worlds.visits_and_feet())
def test_every_column_agrees_with_counting_its_cells(world):
    frames = {"visits": fill(Visits, world[0]), "feet": fill(Feet, world[1])}
    table = results_of(analysis, **frames)["completeness"]
    for row in table.filter(table["table_name"].is_in(list(frames))).to_dicts():
        cells = frames[row["table_name"]][row["column_name"]].to_list()
        there = sum(cell is not None for cell in cells)
        expected = {"rows": len(cells), "filled": there, "share": there / len(cells) if cells else None}
        assert_agree(row, expected, row["column_name"])
