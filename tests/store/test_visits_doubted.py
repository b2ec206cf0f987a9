"""Visits that do not fit what else is on record: accepted, and doubted."""

import polars as pl
import pytest

from tests.store.drawn import AS_OF, FINISHED, STARTED, as_rows, records, world

HORSES = """
    horse_id | horse_name | discipline
    ash      | Ash        | trail
    bay      | Bay        | trail
"""
CALLED_OUT = world(
    horses=HORSES,
    visits="""
    visit_id            | horse_id | visit_date | visit_kind
    first               | ash      | 2025-03-01 | first
    its foot is told    | ash      | 2025-03-05 | lost_shoe
    its loss was told   | ash      | 2025-03-15 | lost_shoe
    sprung, not off     | ash      | 2025-03-25 | lost_shoe
    no foot at all      | ash      | 2025-03-29 | lost_shoe
    routine, no foot    | ash      | 2025-04-09 | routine
    another horse's     | bay      | 2025-03-12 | lost_shoe
    after the as-of day | bay      | 2025-08-12 | lost_shoe
    """,
    feet="""
    visit_id         | foot | arrival | work
    first            | LF   | bare    | fit_new
    its foot is told | LF   | off     | fit_new
    sprung, not off  | LF   | sprung  | reset
    """,
    losses="""
    loss_id                     | horse_id | foot | found_off
    the day of the visit before | ash      | LF   | 2025-03-15
    between two visits          | ash      | LF   | 2025-03-12
    """,
)
ON_NO_FOOT = {"sprung, not off", "no foot at all", "another horse's"}


def doubts(store, rule):
    found = store.latest_warnings().filter(rule=rule)
    visit_ids = found["row_json"].str.json_path_match("$.visit_id")
    return dict(zip(visit_ids, found["reason"], strict=True))


def take(store, tables):
    store.take_in(records(tables), STARTED)
    store.derive(AS_OF)


def lost_on_no_foot(world, as_of):
    """visit_id of each visit for a lost shoe that no foot and no report since the visit before tells of, in loops."""
    found = set()
    for visit in world["visits"]:
        if visit["visit_kind"] != "lost_shoe" or visit["visit_date"] > as_of:
            continue
        earlier = [
            other["visit_date"]
            for other in world["visits"]
            if other["horse_id"] == visit["horse_id"] and other["visit_date"] < visit["visit_date"]
        ]
        told = [foot for foot in world["feet"] if foot["visit_id"] == visit["visit_id"] and foot["arrival"] == "off"]
        told += [
            loss
            for loss in world["losses"]
            if loss["horse_id"] == visit["horse_id"]
            and loss["found_off"] <= visit["visit_date"]
            and all(day < loss["found_off"] for day in earlier)
        ]
        found |= set() if told else {visit["visit_id"]}
    return found


def test_a_visit_for_a_lost_shoe_of_which_no_row_says_the_foot_is_doubted(store):
    take(store, CALLED_OUT)
    told = doubts(store, "lost_shoe_on_no_foot")
    assert set(told) == ON_NO_FOOT
    assert told["no foot at all"] == (
        "Ash: visited for a lost shoe on 2025-03-29, but no accepted row says which foot, so no loss is counted: "
        "write arrival off on the row of that foot and visit, or a row of losses"
    )


def test_the_doubt_names_the_row_and_its_cell(store):
    take(store, CALLED_OUT)
    doubt = store.latest_warnings().filter(rule="lost_shoe_on_no_foot").row(0, named=True)
    where = [doubt[name] for name in ("table_name", "source_file", "source_row", "column_name", "value")]
    assert where == ["visits", "visits.csv", 5, "visit_kind", "lost_shoe"]


def test_a_loss_that_is_told_later_ends_the_doubt(store):
    take(store, {**CALLED_OUT, "losses": CALLED_OUT["losses"].head(0)})
    assert set(doubts(store, "lost_shoe_on_no_foot")) == ON_NO_FOOT | {"its loss was told"}
    store.finish_load(FINISHED)
    take(store, CALLED_OUT)
    assert set(doubts(store, "lost_shoe_on_no_foot")) == ON_NO_FOOT


def test_the_plain_version_doubts_the_same_visits():
    assert lost_on_no_foot(as_rows(CALLED_OUT), AS_OF) == ON_NO_FOOT


CLOSE = """
visit_id   | horse_id | visit_date | visit_kind
before     | ash      | 2025-03-01 | routine
corrected  | ash      | 2025-03-03 | routine
long after | ash      | 2025-03-07 | routine
called out | ash      | 2025-03-08 | lost_shoe
asked for  | ash      | 2025-03-09 | vet_request
same day   | ash      | 2025-03-07 | routine
of another | bay      | 2025-03-02 | first
"""


def visits(text, *left_out):
    """The drawn visits with no feet, some of them left out."""
    tables = world(horses=HORSES, visits=text)
    return {**tables, "visits": tables["visits"].filter(~pl.col("visit_id").is_in(left_out))}


def test_a_visit_whose_day_was_corrected_is_doubted_beside_the_one_left_from_before(store):
    take(store, visits(CLOSE, "corrected"))
    assert doubts(store, "planned_visits_close_together") == {}
    store.finish_load(FINISHED)
    take(store, visits(CLOSE, "before"))
    assert doubts(store, "planned_visits_close_together") == {
        "corrected": "Ash: two planned visits 2 days apart, 2025-03-01 and 2025-03-03: both are kept; if the date was "
        "corrected, that of 2025-03-01 is left in the store from before: publish your corrected records into a new "
        "store"
    }


@pytest.mark.parametrize(("left", "other"), [("before", "2025-03-01"), ("corrected", "2025-03-03")])
def test_a_day_may_be_corrected_to_a_later_or_an_earlier_one(store, left, other):
    moved = {"before": "corrected", "corrected": "before"}[left]
    take(store, visits(CLOSE, moved))
    store.finish_load(FINISHED)
    take(store, visits(CLOSE, left))
    (told,) = doubts(store, "planned_visits_close_together").items()
    assert (told[0], f"that of {other} is left in the store" in told[1]) == (moved, True)


def test_of_two_in_one_export_the_later_is_doubted_once_and_the_other_named(store):
    take(store, visits(CLOSE.replace("2025-03-03", "2025-03-02")))
    assert doubts(store, "planned_visits_close_together") == {
        "corrected": "Ash: two planned visits 1 day apart, 2025-03-01 and 2025-03-02: both are kept; if the date was "
        "corrected, one of them is left from before (see visits.csv row 2): keep one of the two"
    }


def test_visits_that_only_the_store_holds_are_not_doubted_again(store):
    take(store, visits(CLOSE))
    store.finish_load(FINISHED)
    take(store, visits(CLOSE, "before", "corrected"))
    assert doubts(store, "planned_visits_close_together") == {}
