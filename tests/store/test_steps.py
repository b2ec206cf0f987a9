"""Intervals, steps of a handled foot and steps between looks for a bruise, drawn."""

from datetime import date

import pytest

from schemas.derived import DERIVED_TABLES
from schemas.exports import Feet
from tests.oracle import steps as plain
from tests.store.drawn import AS_OF, as_rows, load, rows, typed, world

WORLD = world(
    horses="""
    horse_id | horse_name | discipline | yard
    ash      | Ash        | trail      | Low End
    """,
    visits="""
    visit_id | horse_id | visit_date | visit_kind  | planned_weeks
    v1       | ash      | 2025-01-01 | first       | 6
    v2       | ash      | 2025-01-20 | lost_shoe   | 6
    v3       | ash      | 2025-02-15 | routine     |
    v4       | ash      | 2025-03-20 | other       | 6
    v6       | ash      | 2025-04-01 | vet_request | 5.5
    v5       | ash      | 2025-04-01 | routine     | 4
    v7       | ash      | 2025-07-01 | routine     | 6
    """,
    feet="""
    visit_id | foot | arrival | work    | bruise_grade | bruise_site | sole_relief | shoe_style
    v1       | LF   | bare    | fit_new | 2            | toe         | yes         | rim
    v2       | LF   | on      | none    |              |             |             |
    v3       | LF   | on      | trim    | 0            |             | no          | plain
    v5       | LF   | bare    | reset   |              |             |             | bar
    v6       | LF   | on      | none    | 1            | body        |             |
    v7       | LF   | on      | reset   | 3            | toe         |             |
    """,
)
ANGLES = rows("""
    visit_id | angle_arrival_deg | angle_leaving_deg | toe_arrival_mm | toe_leaving_mm
    v1       | 50                | 52                | 90             | 84
    v2       | 51                | 51                | 86             | 86
    v3       | 49.5              | 52.5              | 93             |
    v5       |                   | 53                | 95             | 85
    v6       | 52                | 52                |                |
    v7       | 40                | 40                | 90             | 90
""")
WORLD["feet"] = WORLD["feet"].update(typed(Feet, ANGLES), on="visit_id")


@pytest.fixture
def derived(store):
    load(store, WORLD)
    store.derive(AS_OF)
    return store


def test_an_interval_runs_between_visits_of_the_round_only(derived):
    assert derived.sql("""
        select from_visit_id, to_visit_id, days, planned_weeks, days_late, season from derived.visit_intervals
        order by from_date, from_visit_id
    """).rows() == [
        ("v1", "v3", 45, 6.0, 3.0, "winter"),
        ("v3", "v5", 45, None, None, "spring"),
        ("v5", "v6", 0, 4.0, -28.0, "spring"),
    ]


def test_a_step_runs_between_visits_at_which_the_foot_was_handled(derived):
    assert derived.sql("""
        select from_visit_id, to_visit_id, days, angle_left_deg, angle_back_deg, angle_change_deg, toe_change_mm,
               bruise_from, bruise_to, sole_relief, shoe_style, shod
        from derived.foot_steps order by from_date
    """).rows() == [
        ("v1", "v3", 45, 52.0, 49.5, -2.5, 9.0, 2, 0, True, "rim", True),
        ("v3", "v5", 45, 52.5, None, None, None, 0, None, False, "plain", False),
    ]


def test_a_bruise_step_passes_over_visits_without_a_look_and_needs_no_work(derived):
    assert derived.sql("""
        select from_visit_id, to_visit_id, days, bruise_from, bruise_to, site_from, site_to, sole_relief, shoe_style,
               one_interval
        from derived.bruise_steps order by from_date
    """).rows() == [
        ("v1", "v3", 45, 2, 0, "toe", None, True, "rim", True),
        ("v3", "v6", 45, 0, 1, None, "body", False, "plain", False),
    ]


def test_two_looks_are_one_interval_only_where_they_are_its_two_ends(store):
    told = world(
        horses="horse_id | horse_name | discipline\n ash | Ash | trail",
        visits="""
        visit_id | horse_id | visit_date | visit_kind
        w1       | ash      | 2025-01-01 | first
        w2       | ash      | 2025-02-12 | routine
        w3       | ash      | 2025-02-20 | lost_shoe
        w4       | ash      | 2025-03-26 | routine
        w5       | ash      | 2025-05-07 | routine
        w6       | ash      | 2025-06-18 | vet_request
        """,
        feet="""
        visit_id | foot | arrival | work    | bruise_grade
        w1       | LF   | bare    | fit_new | 0
        w2       | LF   | on      | reset   | 1
        w3       | LF   | off     | reset   | 1
        w4       | LF   | on      | reset   | 0
        w5       | LF   | on      | reset   |
        w6       | LF   | on      | reset   | 0
        w2       | RF   | on      | reset   | 0
        w3       | RF   | on      | none    |
        w4       | RF   | on      | reset   | 0
        """,
    )
    load(store, told)
    store.derive(AS_OF)
    assert store.sql("""
        select foot, from_visit_id, to_visit_id, one_interval from derived.bruise_steps order by foot, from_date
    """).rows() == [
        ("LF", "w1", "w2", True),
        ("LF", "w2", "w3", False),  # a look at a call-out
        ("LF", "w3", "w4", False),
        ("LF", "w4", "w6", False),  # a visit of the round without a look lies between
        ("RF", "w2", "w4", True),  # a call-out without a look does not part an interval
    ]


def test_every_derived_table_keeps_its_declaration(derived):
    for name, table in DERIVED_TABLES.items():
        found = derived.sql(f"from derived.{name}")
        assert found.height > 0
        assert table.check(found).equals(found)


def test_the_plain_version_tells_the_same_steps():
    told = as_rows(WORLD)
    assert [step["days_late"] for step in plain.visit_intervals(told, AS_OF)] == [3.0, None, -28.0]
    assert [step["angle_change_deg"] for step in plain.foot_steps(told, AS_OF)] == [-2.5, None]
    assert [step["site_to"] for step in plain.bruise_steps(told, AS_OF)] == [None, "body"]


def test_an_earlier_as_of_day_leaves_later_visits_out_though_they_were_accepted(store):
    load(store, WORLD)
    store.derive(date(2025, 2, 15))
    counts = [store.sql(f"select count(*) from derived.{table}").item() for table in ("visit_intervals", "foot_steps")]
    assert counts == [1, 1]
