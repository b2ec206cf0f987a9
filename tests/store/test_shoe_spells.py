"""Every rule and every tie in the life of a shoe, told by the store and by the plain second version."""

from datetime import date

import pytest

from tests.oracle import spells as plain
from tests.store.drawn import as_rows, load, rows, world

HORSES = "horse_id | horse_name | discipline\n ash | Ash | eventing"

# name: (what was done to the left fore, what was reported, the shoes that follow from it). Read as of 2025-06-30.
CASES = {
    "the next shoe renews it": (
        """
        visit_id | visit_date | arrival | work
        v1       | 2025-03-01 | bare    | fit_new
        v2       | 2025-04-10 | on      | reset
        v3       | 2025-05-20 | sprung  | fit_new
        """,
        "",
        """
        fitted_on  | ended_on   | end_reason | days_on | lost_after | lost_by | cause
        2025-03-01 | 2025-04-10 | renewed    | 40      |            |         |
        2025-04-10 | 2025-05-20 | renewed    | 40      |            |         |
        2025-05-20 | 2025-06-30 | running    | 41      |            |         |
        """,
    ),
    "a shoe taken off, and a trim after a shoe, end it without a loss": (
        """
        visit_id | visit_date | arrival | work
        v1       | 2025-03-01 | bare    | fit_new
        v2       | 2025-03-11 | on      | take_off
        v3       | 2025-03-21 | bare    | fit_new
        v4       | 2025-03-31 | on      | trim
        """,
        "",
        """
        fitted_on  | ended_on   | end_reason | days_on | lost_after | lost_by | cause
        2025-03-01 | 2025-03-11 | taken_off  | 10      |            |         |
        2025-03-21 | 2025-03-31 | taken_off  | 10      |            |         |
        """,
    ),
    "a look without work, the shoe being on or sprung, leaves it running": (
        """
        visit_id | visit_date | arrival | work
        v1       | 2025-05-01 | bare    | fit_new
        v2       | 2025-05-11 | on      | none
        v3       | 2025-05-21 | sprung  | none
        """,
        "",
        """
        fitted_on  | ended_on   | end_reason | days_on | lost_after | lost_by | cause
        2025-05-01 | 2025-06-30 | running    | 60      |            |         |
        """,
    ),
    "past 84 days without word nothing is known of it": (
        """
        visit_id | visit_date | arrival | work
        v1       | 2025-03-01 | bare    | fit_new
        """,
        "",
        """
        fitted_on  | ended_on   | end_reason | days_on | lost_after | lost_by | cause
        2025-03-01 | 2025-05-24 | running    | 84      |            |         |
        """,
    ),
    "word after 84 days still counts: a renewal": (
        """
        visit_id | visit_date | arrival | work
        v1       | 2025-03-01 | bare    | fit_new
        v2       | 2025-06-09 | on      | trim
        """,
        "",
        """
        fitted_on  | ended_on   | end_reason | days_on | lost_after | lost_by | cause
        2025-03-01 | 2025-06-09 | taken_off  | 100     |            |         |
        """,
    ),
    "word after 84 days still counts: a report": (
        """
        visit_id | visit_date | arrival | work
        v1       | 2025-03-01 | bare    | fit_new
        """,
        """
        loss_id | found_off  | last_seen_on | cause
        a       | 2025-06-09 |              | caught
        """,
        """
        fitted_on  | ended_on   | end_reason | days_on | lost_after | lost_by    | cause
        2025-03-01 | 2025-06-09 | lost       | 100     | 2025-03-01 | 2025-06-09 | caught
        """,
    ),
    "a report without a last sight dates the loss to the day it was found": (
        """
        visit_id | visit_date | arrival | work
        v1       | 2025-03-01 | bare    | fit_new
        v2       | 2025-03-25 | off     | reset
        """,
        """
        loss_id | found_off  | last_seen_on | cause
        a       | 2025-03-20 |              |
        """,
        """
        fitted_on  | ended_on   | end_reason | days_on | lost_after | lost_by    | cause
        2025-03-01 | 2025-03-20 | lost       | 19      | 2025-03-01 | 2025-03-20 |
        2025-03-25 | 2025-06-17 | running    | 84      |            |            |
        """,
    ),
    "a report with a last sight dates it half way, rounded up, even before a visit that finds it off": (
        """
        visit_id | visit_date | arrival | work
        v1       | 2025-03-01 | bare    | fit_new
        v2       | 2025-03-25 | off     | trim
        """,
        """
        loss_id | found_off  | last_seen_on | cause
        a       | 2025-03-20 | 2025-03-15   | pawing
        """,
        """
        fitted_on  | ended_on   | end_reason | days_on | lost_after | lost_by    | cause
        2025-03-01 | 2025-03-18 | lost       | 17      | 2025-03-15 | 2025-03-20 | pawing
        """,
    ),
    "seen on and found off on one day is that day": (
        """
        visit_id | visit_date | arrival | work
        v1       | 2025-03-01 | bare    | fit_new
        """,
        """
        loss_id | found_off  | last_seen_on | cause
        a       | 2025-03-20 | 2025-03-20   |
        """,
        """
        fitted_on  | ended_on   | end_reason | days_on | lost_after | lost_by    | cause
        2025-03-01 | 2025-03-20 | lost       | 19      | 2025-03-20 | 2025-03-20 |
        """,
    ),
    "a last sight before the shoe was nailed counts from the nailing": (
        """
        visit_id | visit_date | arrival | work
        v1       | 2025-03-01 | bare    | fit_new
        """,
        """
        loss_id | found_off  | last_seen_on | cause
        a       | 2025-03-04 | 2025-02-01   |
        """,
        """
        fitted_on  | ended_on   | end_reason | days_on | lost_after | lost_by    | cause
        2025-03-01 | 2025-03-03 | lost       | 2       | 2025-03-01 | 2025-03-04 |
        """,
    ),
    "a loss first noticed at a visit is dated half way, rounded up": (
        """
        visit_id | visit_date | arrival | work
        v1       | 2025-03-01 | bare    | fit_new
        v2       | 2025-03-06 | off     | fit_new
        """,
        "",
        """
        fitted_on  | ended_on   | end_reason | days_on | lost_after | lost_by    | cause
        2025-03-01 | 2025-03-04 | lost       | 3       | 2025-03-01 | 2025-03-06 |
        2025-03-06 | 2025-05-29 | running    | 84      |            |            |
        """,
    ),
    "found off at a look without work, and shod later, it is lost once": (
        """
        visit_id | visit_date | arrival | work
        v1       | 2025-03-01 | bare    | fit_new
        v2       | 2025-03-11 | off     | none
        v3       | 2025-03-21 | off     | reset
        v4       | 2025-03-31 | on      | trim
        """,
        "",
        """
        fitted_on  | ended_on   | end_reason | days_on | lost_after | lost_by    | cause
        2025-03-01 | 2025-03-06 | lost       | 5       | 2025-03-01 | 2025-03-11 |
        2025-03-21 | 2025-03-31 | taken_off  | 10      |            |            |
        """,
    ),
    "a report found off on the day of shoeing counts for the shoe that was on before": (
        """
        visit_id | visit_date | arrival | work
        v1       | 2025-03-01 | bare    | fit_new
        v2       | 2025-04-10 | on      | reset
        v3       | 2025-05-20 | on      | trim
        """,
        """
        loss_id | found_off  | last_seen_on | cause
        a       | 2025-04-10 |              | caught
        """,
        """
        fitted_on  | ended_on   | end_reason | days_on | lost_after | lost_by    | cause
        2025-03-01 | 2025-04-10 | lost       | 40      | 2025-03-01 | 2025-04-10 | caught
        2025-04-10 | 2025-05-20 | taken_off  | 40      |            |            |
        """,
    ),
    "a report on the day of the visit that takes the shoe off is a loss": (
        """
        visit_id | visit_date | arrival | work
        v1       | 2025-03-01 | bare    | fit_new
        v2       | 2025-04-10 | on      | take_off
        """,
        """
        loss_id | found_off  | last_seen_on | cause
        a       | 2025-04-10 | 2025-04-08   |
        """,
        """
        fitted_on  | ended_on   | end_reason | days_on | lost_after | lost_by    | cause
        2025-03-01 | 2025-04-09 | lost       | 39      | 2025-04-08 | 2025-04-10 |
        """,
    ),
    "reported off on the very day a visit finds it off, the report tells the day": (
        """
        visit_id | visit_date | arrival | work
        v1       | 2025-03-01 | bare    | fit_new
        v2       | 2025-03-11 | off     | trim
        """,
        """
        loss_id | found_off  | last_seen_on | cause
        a       | 2025-03-11 |              | caught
        """,
        """
        fitted_on  | ended_on   | end_reason | days_on | lost_after | lost_by    | cause
        2025-03-01 | 2025-03-11 | lost       | 10      | 2025-03-01 | 2025-03-11 | caught
        """,
    ),
    "of two reports of one loss the first to be found off counts, then the lower loss_id": (
        """
        visit_id | visit_date | arrival | work
        v1       | 2025-03-01 | bare    | fit_new
        v2       | 2025-03-31 | off     | reset
        v3       | 2025-04-30 | on      | trim
        """,
        """
        loss_id | found_off  | last_seen_on | cause
        c       | 2025-03-20 |              | pawing
        b       | 2025-03-15 |              | caught
        a       | 2025-03-20 |              | other
        e       | 2025-04-10 |              | worn_thin
        d       | 2025-04-10 | 2025-04-10   | unknown
        """,
        """
        fitted_on  | ended_on   | end_reason | days_on | lost_after | lost_by    | cause
        2025-03-01 | 2025-03-15 | lost       | 14      | 2025-03-01 | 2025-03-15 | caught
        2025-03-31 | 2025-04-10 | lost       | 10      | 2025-04-10 | 2025-04-10 | unknown
        """,
    ),
    "a report between the loss and the next shoe is the same event": (
        """
        visit_id | visit_date | arrival | work
        v1       | 2025-03-01 | bare    | fit_new
        v2       | 2025-03-11 | off     | none
        v3       | 2025-03-21 | off     | reset
        """,
        """
        loss_id | found_off  | last_seen_on | cause
        a       | 2025-03-21 |              | caught
        """,
        """
        fitted_on  | ended_on   | end_reason | days_on | lost_after | lost_by    | cause
        2025-03-01 | 2025-03-06 | lost       | 5       | 2025-03-01 | 2025-03-11 |
        2025-03-21 | 2025-06-13 | running    | 84      |            |            |
        """,
    ),
    "two visits on one day are told in the order of visit_id, and the first shoe lasts no day": (
        """
        visit_id | visit_date | arrival | work
        v3       | 2025-03-11 | on      | trim
        v2       | 2025-03-01 | on      | reset
        v1       | 2025-03-01 | bare    | fit_new
        """,
        """
        loss_id | found_off  | last_seen_on | cause
        a       | 2025-03-01 |              | caught
        b       | 2025-03-02 |              | pawing
        """,
        """
        fitted_on  | ended_on   | end_reason | days_on | lost_after | lost_by    | cause
        2025-03-01 | 2025-03-01 | renewed    | 0       |            |            |
        2025-03-01 | 2025-03-02 | lost       | 1       | 2025-03-01 | 2025-03-02 | pawing
        """,
    ),
    "a shoe found off later on the day it was nailed is lost after no day": (
        """
        visit_id | visit_date | arrival | work
        v1       | 2025-03-01 | bare    | fit_new
        v2       | 2025-03-01 | off     | trim
        """,
        "",
        """
        fitted_on  | ended_on   | end_reason | days_on | lost_after | lost_by    | cause
        2025-03-01 | 2025-03-01 | lost       | 0       | 2025-03-01 | 2025-03-01 |
        """,
    ),
    "what is dated after the as-of day is passed over": (
        """
        visit_id | visit_date | arrival | work
        v1       | 2025-06-01 | bare    | fit_new
        v2       | 2025-07-01 | off     | reset
        """,
        """
        loss_id | found_off  | last_seen_on | cause
        a       | 2025-07-01 | 2025-06-02   | caught
        """,
        """
        fitted_on  | ended_on   | end_reason | days_on | lost_after | lost_by    | cause
        2025-06-01 | 2025-06-30 | running    | 29      |            |            |
        """,
    ),
}
TOLD = ["fitted_on", "ended_on", "end_reason", "days_on", "lost_after", "lost_by", "cause"]


def one_foot(feet, losses):
    """A world of one horse of which only the left fore is looked at."""
    seen = [{"horse_id": "ash", "visit_kind": "routine", "foot": "LF", **row} for row in rows(feet)]
    told = [{"horse_id": "ash", "foot": "LF", **row} for row in rows(losses)] if losses else []
    return world(horses=HORSES, visits=seen, feet=seen, losses=told)


def expected(text):
    return [tuple(row[name] for name in TOLD) for row in rows(text)]


def as_text(value):
    return None if value is None else str(value)


@pytest.mark.parametrize(("feet", "losses", "shoes"), CASES.values(), ids=CASES)
def test_the_store_tells_the_life_of_a_shoe(store, feet, losses, shoes):
    load(store, one_foot(feet, losses))
    store.derive(date(2025, 6, 30))
    told = store.sql(f"select {', '.join(TOLD)} from derived.shoe_spells order by fitted_on, fitted_visit_id").rows()
    assert [tuple(map(as_text, row)) for row in told] == expected(shoes)


@pytest.mark.parametrize(("feet", "losses", "shoes"), CASES.values(), ids=CASES)
def test_the_plain_version_tells_the_life_of_a_shoe(feet, losses, shoes):
    told = plain.shoe_spells(as_rows(one_foot(feet, losses)), date(2025, 6, 30))
    assert [tuple(as_text(spell[name]) for name in TOLD) for spell in told] == expected(shoes)


def test_a_foot_left_out_of_a_visit_has_its_shoe_still_on(store):
    load(
        store,
        world(
            horses=HORSES,
            visits="""
            visit_id | horse_id | visit_date | visit_kind
            v1       | ash      | 2025-04-01 | routine
            v2       | ash      | 2025-05-01 | routine
            v3       | ash      | 2025-06-01 | routine
            """,
            feet="""
            visit_id | foot | arrival | work
            v1       | LF   | bare    | fit_new
            v1       | RH   | bare    | fit_new
            v2       | RH   | on      | reset
            v3       | LF   | on      | trim
            v3       | RH   | on      | trim
            """,
        ),
    )
    store.derive(date(2025, 6, 30))
    assert store.sql('select foot, "end", days_on, end_reason from derived.shoe_spells order by all').rows() == [
        ("LF", "front", 61, "taken_off"),
        ("RH", "hind", 30, "renewed"),
        ("RH", "hind", 31, "taken_off"),
    ]


def test_a_shoe_is_followed_as_long_as_the_practice_says(store):
    load(store, one_foot("visit_id | visit_date | arrival | work\n v1 | 2025-03-01 | bare | fit_new", ""))
    store.derive(date(2025, 6, 30), follow_up_days=50)
    assert store.sql("select days_on from derived.shoe_spells").rows() == [(50,)]


@pytest.mark.parametrize(("hemisphere", "season"), [("north", "winter"), ("south", "summer")])
def test_the_season_is_turned_round_in_the_south(store, hemisphere, season):
    load(store, one_foot("visit_id | visit_date | arrival | work\n v1 | 2024-12-01 | bare | fit_new", ""))
    store.derive(date(2025, 6, 30), hemisphere=hemisphere)
    assert store.sql("select season, pace from derived.shoe_spells").rows() == [(season, "fast")]
