"""Every analysis on whole records: one with nothing in it, ones with next to nothing, and one cut in two by horse."""

from contextlib import contextmanager
from datetime import UTC, date, datetime
from importlib import import_module

import polars as pl
import pytest
from polars.testing import assert_frame_equal

from pipelines import build
from pipelines.simulate import simulate
from pipelines.store import open_store
from schemas.results import RESULT_TABLES
from tests.store.drawn import load, records, world

NOW = datetime(2026, 7, 9, tzinfo=UTC)
AS_OF = date(2025, 6, 30)
ASH = "horse_id | horse_name | discipline\n ash | Ash | trail"
SMALL = {
    "nothing at all": {},
    "a horse that was never visited": {"horses": ASH},
    "a visit at which no foot was looked at": {
        "horses": ASH,
        "visits": "visit_id | horse_id | visit_date | visit_kind\n v1 | ash | 2025-03-01 | routine",
    },
    "one shoe, lost on the day it was nailed": {
        "horses": ASH,
        "visits": """
            visit_id | horse_id | visit_date | visit_kind
            v1       | ash      | 2025-03-01 | routine
            v2       | ash      | 2025-03-01 | lost_shoe
        """,
        "feet": "visit_id | foot | arrival | work\n v1 | LF | bare | fit_new\n v2 | LF | off | reset",
    },
    "bare feet only": {
        "horses": ASH,
        "visits": """
            visit_id | horse_id | visit_date | visit_kind
            v1       | ash      | 2025-03-01 | routine
            v2       | ash      | 2025-04-10 | routine
        """,
        "feet": """
            visit_id | foot | arrival | work | angle_arrival_deg | angle_leaving_deg | bruise_grade
            v1       | LF   | bare    | trim | 50                | 52                | 0
            v2       | LF   | bare    | trim | 51                | 52                | 1
        """,
    },
}


def counts_of(store, name):
    return {part: store.sql(query) for part, query in import_module(f"pipelines.analyses.{name}").COUNTS.items()}


def followed(store, tables, as_of):
    if any(frame.height for frame in tables.values()):
        load(store, tables, as_of)
    store.derive(as_of)
    store.set_season(date(as_of.year - 1, as_of.month, as_of.day), as_of)


@pytest.mark.parametrize("name", build.ANALYSES)
@pytest.mark.parametrize("drawn", SMALL.values(), ids=SMALL)
def test_no_analysis_is_upset_by_next_to_nothing(store, name, drawn):
    followed(store, world(**drawn), AS_OF)
    results = getattr(import_module(f"pipelines.analyses.{name}"), name)(counts_of(store, name))
    assert results
    for table, frame in results.items():
        assert_frame_equal(RESULT_TABLES[table].check(frame), frame)


# What a part of the counts is counted by; all its other columns are sums.
COUNTED_BY = {
    ("loss_rates", "horses"): ("dimension", "level", "horse_id"),
    ("retention", "ends"): ("dimension", "level", "horse_id", "day"),
    ("loss_causes", "causes"): ("cause",),
    ("horse_losses", "cells"): ("horse_id", "discipline", "end"),
    ("horse_losses", "names"): ("horse_id", "horse_name", "discipline"),
    ("interval_lengths", "lengths"): ("dimension", "level", "days"),
    ("interval_lengths", "horses"): ("dimension", "level"),
    ("interval_lengths", "plans"): ("dimension", "level", "days_late"),
    ("bruising", "steps"): ("dimension", "level"),
    ("angle_drift", "sums"): ("horse_id", "foot", "discipline", "end", "shod"),
    ("angle_drift", "leaving"): ("horse_id", "foot", "shod"),
    ("bruise_burden", "followed"): ("horse_id", "foot", "discipline"),
    ("bruise_burden", "episodes"): ("horse_id", "foot", "discipline", "day"),
    ("bruise_burden", "sites"): ("dimension", "level", "end", "site"),
    ("bruise_burden", "looks"): ("dimension", "level"),
    ("bruise_patterns", "returns"): ("dimension", "level"),
    ("bruise_patterns", "fronts"): ("dimension", "level", "horse_id"),
    ("bruise_patterns", "sites"): ("dimension", "level", "site_from", "site_to"),
    ("angle_trend", "feet"): ("horse_id", "foot", "discipline", "end"),
    ("angle_trend", "toes"): ("horse_id", "foot", "shod", "discipline", "end"),
    ("angle_trend", "shod"): ("horse_id", "foot", "shod"),
    ("angle_gaps", "growth"): ("horse_id", "foot", "discipline", "end", "shod"),
    ("angle_gaps", "sums"): ("angle_at", "horse_id", "foot"),
    ("angle_gaps", "changes"): ("angle_at", "change_deg"),
    ("handedness", "differences"): ("farrier", "compared"),
    ("lateness", "intervals"): ("level",),
    ("lateness", "angles"): ("level",),
    ("lateness", "bruises"): ("level",),
    ("lateness", "shoes"): ("dimension", "level"),
    ("lateness", "horses"): ("horse_id", "horse_name"),
    ("due_list", "shoes"): ("horse_id", "end", "age"),
    ("due_list", "late"): ("days_late",),
    ("season_compare", "spells"): ("which", "horse_id"),
    ("season_compare", "intervals"): ("which", "days"),
    ("season_compare", "minutes"): ("dimension", "level", "minutes"),
    ("changes_tried", "periods"): ("horse_id", "foot", "changed_on", "what", "discipline", "end", "band", "period"),
    ("completeness", "changes"): (),
    ("workload", "work"): ("period", "starts_on", "farrier"),
    ("season_review", "kinds"): ("visit_kind",),
    ("season_review", "horses"): (),
    ("season_review", "shoes"): (),
    ("season_review", "spells"): ("horse_id",),
    ("season_review", "intervals"): ("days",),
    ("completeness", "horses"): (),
    ("completeness", "visits"): (),
    ("completeness", "feet"): (),
    ("completeness", "losses"): (),
    ("loss_hazard", "pieces"): ("discipline", "end", "horse_id", "phase", "day_from", "day_to"),
    ("loss_watch", "months"): ("starts_on", "discipline", "end", "band"),
    ("retention_interval", "intervals"): ("dimension", "level", "after", "by"),
    ("retention_tests", "ends"): ("dimension", "level", "horse_id", "day"),
    ("interval_guide", "followed"): ("discipline",),
    ("interval_guide", "ages"): ("end",),
    ("interval_guide", "spread"): pl.exclude("shoes"),
    ("due_list", "ages"): ("end",),
    ("due_list", "spread"): pl.exclude("shoes"),
    ("loss_hazard", "ages"): ("end",),
    ("loss_hazard", "spread"): pl.exclude("shoes"),
    ("loss_factors", "patterns"): pl.exclude("shoes"),
    ("loss_dating", "dating"): ("dimension", "level"),
    ("horse_pages", "fit"): ("horse_id", "end", "was_lost"),
    ("horse_pages", "gaps"): ("horse_id", "table_name", "column_name"),
}
# Facts about the load and the season, rows as they stand, and the median nailed at one visit, which is no sum.
NO_SUMS = {
    ("intake_account", "tables"),
    ("intake_account", "reasons"),
    ("intake_account", "files"),
    ("season_review", "season"),
    ("interval_guide", "usual"),
    ("horse_pages", "horses"),
    ("bruise_burden", "relief"),
    ("angle_gaps", "gaps"),
    ("angle_gaps", "latest"),
    ("angle_gaps", "latest_changes"),
    ("angle_gaps", "arrivals"),
    ("changes_tried", "changes"),
    ("due_list", "as_of"),
    ("due_list", "rounds"),
    ("due_list", "unheard"),
    ("calendar_entries", "as_of"),
    ("calendar_entries", "rounds"),
    ("calendar_entries", "revised"),
    ("calendar_entries", "ended"),
    ("season_compare", "seasons"),
    ("season_compare", "visits"),
    ("season_compare", "weeks"),
    ("season_compare", "days"),
    ("horse_intervals", "summary"),
    ("horse_intervals", "rounds"),
    ("season_compare", "horses"),
    ("horse_pages", "shoes"),
    ("horse_pages", "visits"),
    ("horse_pages", "angles"),
    ("horse_pages", "bruises"),
}


@pytest.fixture(scope="module")
def practice():
    return simulate(30, 1.5, 5)


@pytest.fixture(scope="module")
def halves_and_whole(practice):
    """(analysis, part) → counts of every second horse, of the others, and of all."""
    horses = practice.horses["horse_id"].sort()
    parts = [horses.gather_every(2), horses.gather_every(2, offset=1), horses]
    return [counted(practice, part) for part in parts]


def counted(practice, horses):
    with _taken_in(practice, horses) as store:
        return {(name, part): counts_of(store, name)[part] for name, part in COUNTED_BY}


@pytest.fixture(scope="module")
def whole(practice):
    """whole(name) → the counts of one analysis on the whole practice."""
    with _taken_in(practice, practice.horses["horse_id"]) as store:
        yield lambda name: counts_of(store, name)


@contextmanager
def _taken_in(practice, horses):
    visits = practice.visits.filter(pl.col("horse_id").is_in(horses.implode()))
    tables = {
        "horses": practice.horses.filter(pl.col("horse_id").is_in(horses.implode())),
        "visits": visits,
        "feet": practice.feet.join(visits, on="visit_id", how="semi"),
        "losses": practice.losses.filter(pl.col("horse_id").is_in(horses.implode())),
        "changes": practice.changes.filter(pl.col("horse_id").is_in(horses.implode())),
    }
    with open_store(None) as store:
        store.take_in(records(tables, practice.last_day), NOW)
        followed(store, {}, practice.last_day)
        store.finish_load(NOW)
        yield store


@pytest.mark.parametrize("which", COUNTED_BY, ids=" ".join)
def test_the_counts_of_two_halves_of_the_horses_add_up_to_those_of_all(halves_and_whole, which):
    first, second, whole = (part[which] for part in halves_and_whole)
    by = whole.select(COUNTED_BY[which]).columns
    sums = [name for name in whole.columns if name not in by]
    both = pl.concat([first, second])
    added = both.group_by(by).agg(pl.col(sums).sum()) if by else both.select(pl.col(sums).sum())
    assert whole.height
    # A sum over nothing but blanks is blank, and 0 once added up.
    assert_frame_equal(
        added.select(whole.columns).with_columns(pl.col(sums).cast(pl.Float64)),
        whole.with_columns(pl.col(sums).fill_null(0).cast(pl.Float64)),
        check_row_order=False,
        rel_tol=1e-9,
    )


@pytest.mark.parametrize("name", build.ANALYSES)
def test_every_row_of_every_result_keeps_its_declaration(whole, name):
    results = getattr(import_module(f"pipelines.analyses.{name}"), name)(whole(name))
    for table, frame in results.items():
        assert_frame_equal(RESULT_TABLES[table].check(frame), frame)


def test_every_part_that_is_counted_is_held_to_that_or_known_to_be_no_sum():
    parts = {(name, part) for name in build.ANALYSES for part in import_module(f"pipelines.analyses.{name}").COUNTS}
    of_horses = import_module("pipelines.analyses.horse_losses").COUNTS
    shared = {(name, part) for name in ("interval_guide", "due_list", "changes_tried") for part in of_horses}
    assert parts - set(COUNTED_BY) - NO_SUMS - shared == set()


@pytest.mark.parametrize("seed", [1, 2])
def test_the_order_of_the_rows_in_an_export_changes_no_digit_of_any_result(practice, seed):
    mixed = {name: table.sample(fraction=1.0, shuffle=True, seed=seed) for name, table in practice.tables.items()}
    told = [analysed_text(practice, tables) for tables in (practice.tables, mixed)]
    assert {name for name in told[0] if told[0][name] != told[1][name]} == set()


def test_the_rows_said_to_be_in_the_record_are_those_of_their_own_table(practice):
    with open_store(None) as store:
        store.take_in(records(practice.tables, practice.last_day), NOW)
        followed(store, {}, practice.last_day)
        store.finish_load(NOW)
        taken = build.analyse(store)["rows_taken"]
    told = dict(taken.select("table_name", "rows").iter_rows())
    assert told == {name: practice.tables[name].height for name in told}
    assert told["changes"] > 0


def analysed_text(practice, tables):
    with open_store(None) as store:
        store.take_in(records(tables, practice.last_day), NOW)
        followed(store, {}, practice.last_day)
        store.finish_load(NOW)
        results = build.analyse(store)
    about_the_load = {"rows_taken", "rows_set_aside", "files_taken"}
    return {name: table.write_csv() for name, table in results.items() if name not in about_the_load}
