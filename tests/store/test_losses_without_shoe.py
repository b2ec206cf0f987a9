from datetime import date

import pytest

from tests.oracle.spells import losses_without_shoe
from tests.store.drawn import AS_OF, FINISHED, STARTED, as_rows, records, world

WORLD = world(
    horses="""
    horse_id | horse_name | discipline
    ash      | Ash        | trail
    bay      | Bay        | trail
    """,
    visits="""
    visit_id | horse_id | visit_date | visit_kind
    v1       | ash      | 2025-03-01 | routine
    v1b      | ash      | 2025-03-01 | other
    v2       | ash      | 2025-03-11 | routine
    v3       | ash      | 2025-03-31 | routine
    """,
    feet="""
    visit_id | foot | arrival | work
    v1       | LF   | bare    | fit_new
    v2       | LF   | off     | none
    v3       | LF   | off     | reset
    v1       | RF   | bare    | fit_new
    v3       | RF   | on      | take_off
    v1       | RH   | bare    | fit_new
    v1b      | RH   | off     | reset
    v3       | RH   | on      | take_off
    v1       | LH   | bare    | trim
    v2       | LH   | bare    | none
    """,
    losses="""
    loss_id                          | horse_id | foot | found_off
    before any shoe                  | ash      | LF   | 2025-02-20
    on the day of the first shoe     | ash      | LF   | 2025-03-01
    of the first shoe                | ash      | LF   | 2025-03-05
    of the same loss, told again     | ash      | LF   | 2025-03-31
    after the shoe was taken off     | ash      | RF   | 2025-04-10
    after the second shoe of one day | ash      | RH   | 2025-04-10
    of a foot that was never shod    | ash      | LH   | 2025-03-20
    of a horse that was never seen   | bay      | LH   | 2025-03-20
    """,
)
FOUND_NO_SHOE = {
    "before any shoe": "Ash, LF: reported off on 2025-02-20, but no shoe was on that foot by the record; "
    "last known: nothing before that day",
    "on the day of the first shoe": "Ash, LF: reported off on 2025-03-01, but no shoe was on that foot by the record; "
    "last known: shod new on 2025-03-01",
    "after the shoe was taken off": "Ash, RF: reported off on 2025-04-10, but no shoe was on that foot by the record; "
    "last known: shoe taken off on 2025-03-31",
    "after the second shoe of one day": "Ash, RH: reported off on 2025-04-10, but no shoe was on that foot by the "
    "record; last known: shoe taken off on 2025-03-31",
    "of a foot that was never shod": "Ash, LH: reported off on 2025-03-20, but no shoe was on that foot by the record; "
    "last known: looked at (bare on arrival), no work on 2025-03-11",
    "of a horse that was never seen": "Bay, LH: reported off on 2025-03-20, but no shoe was on that foot by the "
    "record; last known: nothing before that day",
}


def take(store):
    store.take_in(records(WORLD), STARTED)
    store.derive(AS_OF)


def told(store):
    doubts = store.latest_warnings().filter(rule="loss_finds_no_shoe")
    loss_ids = doubts["row_json"].str.json_path_match("$.loss_id")
    return dict(zip(loss_ids, doubts["reason"], strict=True))


def test_a_report_that_finds_no_shoe_is_told_with_the_last_thing_known_of_the_foot(store):
    take(store)
    assert told(store) == FOUND_NO_SHOE


def test_the_doubt_names_the_row_as_a_person_sees_it(store):
    take(store)
    doubt = store.latest_warnings().row(0, named=True)
    assert (doubt["source_file"], doubt["source_row"], doubt["column_name"], doubt["value"]) == (
        "losses.csv",
        2,
        "found_off",
        "2025-02-20",
    )


def test_the_plain_version_finds_the_same_reports():
    assert losses_without_shoe(as_rows(WORLD), AS_OF) == set(FOUND_NO_SHOE)


def test_following_the_shoes_twice_tells_each_doubt_once(store):
    take(store)
    store.derive(AS_OF)
    assert store.latest_warnings().height == len(FOUND_NO_SHOE)


def test_the_same_export_again_raises_the_same_doubts_for_its_own_load(store):
    for _ in range(2):
        take(store)
        store.finish_load(FINISHED)
    assert told(store) == FOUND_NO_SHOE
    assert store.sql("select count(*) from ledger.warnings group by load_id").rows() == [(6,), (6,)]


@pytest.mark.parametrize(("as_of", "doubts"), [(date(2025, 3, 19), 2), (date(2025, 3, 20), 4)])
def test_reports_after_the_as_of_day_are_not_looked_at(store, as_of, doubts):
    store.take_in(records(WORLD), STARTED)
    store.derive(as_of)
    assert store.latest_warnings().height == doubts
    assert len(losses_without_shoe(as_rows(WORLD), as_of)) == doubts


def test_publishing_the_store_again_leaves_the_ledger_as_it_is(store):
    take(store)
    store.finish_load(FINISHED)
    store.derive(date(2025, 3, 1))
    assert told(store) == FOUND_NO_SHOE
