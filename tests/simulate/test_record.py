"""A made-up record keeps its schemas and tells of nothing that cannot have happened."""

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from polars.testing import assert_frame_equal

from pipelines.simulate import Truth, simulate
from pipelines.simulate.practice import LAST_DAY
from schemas.exports import EXPORT_TABLES
from schemas.problem import Problem
from tests.simulate.plain_reading import contradictions, shoes

sizes = st.tuples(st.integers(1, 12), st.floats(0.1, 3), st.integers(0, 2**32))
SMALL = settings(max_examples=40, deadline=None)
RESTLESS = Truth(base_per_1000_days=12, leaves_per_year=0.6, rests_share=0.5, other_visits_share=0.4)


@SMALL
@given(sizes)
def test_every_row_keeps_its_schema_and_every_key_holds(size):
    practice = simulate(*size)
    for name, table in EXPORT_TABLES.items():
        assert_frame_equal(table.check(practice.tables[name]), practice.tables[name])
    assert practice.visits["horse_id"].is_in(practice.horses["horse_id"].implode()).all()
    assert practice.feet["visit_id"].is_in(practice.visits["visit_id"].implode()).all()
    assert practice.visits["visit_id"].is_in(practice.feet["visit_id"].implode()).all()


@SMALL
@given(sizes, st.sampled_from([Truth(), RESTLESS, Truth.plainly_recorded(), Truth.nothing_to_find()]))
def test_nothing_is_told_that_cannot_have_happened(size, truth):
    practice = simulate(*size, truth=truth)
    assert contradictions(practice.tables, practice.last_day) == []


@SMALL
@given(sizes)
def test_a_plain_reading_finds_every_loss_that_could_be_known_and_no_other(size):
    practice = simulate(*size, truth=RESTLESS)
    found = shoes(practice.tables, practice.last_day).filter("lost")
    last_visit = practice.visits.group_by("horse_id").agg(pl.col("visit_date").max())
    known = practice.true_losses.join(last_visit, on="horse_id").filter(
        pl.col("reported") | (pl.col("lost_on") <= pl.col("visit_date"))
    )
    assert found.height == known.height


@pytest.mark.parametrize(
    "broken",
    [
        pytest.param({"arrival": ("off", "on")}, id="a reported shoe comes back on"),
        pytest.param({"work": ("fit_new", "take_off")}, id="a shoe taken off comes back on"),
        pytest.param({"work": ("trim", "fit_new")}, id="a shoe nailed on comes back bare"),
    ],
)
def test_the_plain_reading_notices_a_record_that_contradicts_itself(broken):
    practice = simulate(60, 2, 4)
    ((column, (before, after)),) = broken.items()
    feet = practice.feet.with_columns(pl.col(column).replace(before, after))
    assert contradictions(practice.tables | {"feet": feet}, practice.last_day)


def test_a_foot_forgotten_after_a_report_is_noticed():
    practice = simulate(60, 2, 4)
    feet = practice.feet.filter(pl.col("arrival") != "off")
    assert any("forgotten" in text for text in contradictions(practice.tables | {"feet": feet}, practice.last_day))


def test_the_same_seed_gives_the_same_practice_and_another_seed_another():
    first, again, other = simulate(20, 1.5, 3), simulate(20, 1.5, 3), simulate(20, 1.5, 4)
    for name in first.tables:
        assert_frame_equal(first.tables[name], again.tables[name])
    assert first.true_effects == again.true_effects
    assert not first.visits.equals(other.visits)


def test_the_record_ends_on_the_last_day_and_uses_every_kind_of_row():
    practice = simulate(400, 2.5, 5)
    assert practice.visits["visit_date"].is_between(practice.first_day, LAST_DAY).all()
    assert set(practice.visits["visit_kind"]) == {"routine", "lost_shoe", "vet_request", "first", "other"}
    assert set(practice.feet["arrival"]) == {"on", "sprung", "off", "bare"}
    assert set(practice.feet["work"]) == {"fit_new", "reset", "trim", "take_off", "none"}
    empty = [
        (name, column.name) for name, frame in practice.tables.items() for column in frame if column.is_null().all()
    ]
    assert empty == [("changes", "note")]


def test_horses_join_and_leave():
    practice = simulate(400, 2.5, 5)
    stay = practice.visits.group_by("horse_id").agg(first=pl.col("visit_date").min(), last=pl.col("visit_date").max())
    joined = stay.filter((pl.col("first") - practice.first_day).dt.total_days() > 100).height
    gone = stay.filter((practice.last_day - pl.col("last")).dt.total_days() > 100).height
    assert 80 < joined < 160  # 35 % of 400 join
    assert 20 < gone < 100  # 8 % a year, for two years or less


def test_shoes_are_taken_off_for_the_last_time_only_from_horses_that_leave():
    nobody_leaves = simulate(100, 1, 5, truth=Truth(leaves_per_year=0.0, rests_share=0.0))
    assert nobody_leaves.feet.filter(pl.col("work") == "take_off").is_empty()
    leaving = simulate(400, 2.5, 5, truth=Truth(leaves_per_year=0.4, rests_share=0.0))
    days = leaving.feet.filter(pl.col("work") == "take_off").join(leaving.visits, on="visit_id")["visit_date"]
    last_quarter = (leaving.last_day - days).dt.total_days() < 91
    assert 0 < last_quarter.sum() < days.len() / 4  # a tenth of the record


@pytest.mark.parametrize(("horses", "years", "seed"), [(0, 1, 1), (5, 0, 1), (5, 1, -1)])
def test_a_practice_of_nothing_is_refused_in_one_line(horses, years, seed):
    with pytest.raises(Problem, match="at least 1 horse"):
        simulate(horses, years, seed)
