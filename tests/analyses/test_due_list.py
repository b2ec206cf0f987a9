from datetime import date
from math import exp

import polars as pl
import pytest

from pipelines.analyses import due_list as analysis
from schemas.derived import ShoeSpells, VisitIntervals
from schemas.exports import Feet, Horses, Visits
from tests.analyses.drawing import draw, fill

# The as-of date of the record is Thursday 2026-01-01.
HORSES = fill(
    Horses, [{"horse_id": name, "horse_name": name.title(), "yard": "Hill"} for name in ("ash", "bay", "cob", "dun")]
)
VISITS = """
    visit_id | horse_id | visit_date | visit_kind | planned_weeks
    a1       | ash      | 2025-10-01 | routine    | 8
    a2       | ash      | 2025-11-20 | routine    | 5
    a3       | ash      | 2025-12-10 | lost_shoe  | 1
    b1       | bay      | 2025-12-01 | routine    |
    c1       | cob      | 2025-12-15 | first      |
    d1       | dun      | 2025-05-01 | routine    | 6
    d2       | dun      | 2026-03-01 | routine    | 6
"""
# Bay's own intervals: three, 40, 44 and 60 days.
INTERVALS = """
    horse_id | from_visit_id | days
    bay      | b01           | 40
    bay      | b02           | 44
    bay      | b03           | 60
    cob      | c01           | 42
"""


def results(record, **tables):
    drawn = {"horses": HORSES, "visits": draw(Visits, VISITS), "visit_intervals": draw(VisitIntervals, INTERVALS)}
    return record(**drawn | tables).results(analysis)


def listed(record, **tables):
    return {row["horse_id"]: row for row in results(record, **tables)["due_list"].to_dicts()}


def test_due_is_the_latest_visit_of_the_round_and_the_interval_agreed_then(record):
    ash = listed(record)["ash"]
    assert (ash["due_on"], ash["days_overdue"], ash["planned_weeks"]) == (date(2025, 12, 25), 7, 5)
    assert ash["round_visit_id"] == "a2"
    assert ash["last_visit_on"] == date(2025, 12, 10), "a call for a lost shoe is a visit, but not of the round"
    assert (ash["horse_name"], ash["yard"], ash["note"]) == ("Ash", "Hill", None)


def test_without_a_plan_a_horse_goes_by_its_own_median_if_it_has_three_intervals(record):
    found = listed(record)
    assert (found["bay"]["due_on"], found["bay"]["days_overdue"]) == (date(2026, 1, 14), -13)
    assert found["bay"]["note"] == "no interval agreed: due by its own median of 44 days"
    assert (found["cob"]["due_on"], found["cob"]["days_overdue"]) == (None, None)
    assert found["cob"]["note"] == "no interval agreed, and too few of its own to go by"


def test_the_longest_overdue_stand_first_and_horses_long_unseen_last(record):
    found = results(record)["due_list"]
    assert found["horse_id"].to_list() == ["ash", "bay", "cob", "dun"]
    assert found["silent"].to_list() == [False, False, False, True]
    assert found["note"][3] == "no visit for over 26 weeks: it may have left"
    assert found["last_visit_on"][3] == date(2025, 5, 1), "what comes after the as-of date is passed over"


# Two peers have worn a front shoe 28 days each and one of them lost it in the last of three bands, on day 28.
WORN = """
    horse_id | foot | fitted_on  | ended_on   | end_reason
    p        | LF   | 2025-01-01 | 2025-01-29 | lost
    q        | LF   | 2025-01-01 | 2025-01-29 | renewed
    bay      | LF   | 2025-12-15 | 2026-01-01 | running
    bay      | RF   | 2025-12-15 | 2026-01-01 | running
    ash      | LF   | 2025-09-01 | 2025-11-24 | running
"""


def test_the_chance_of_a_loss_goes_on_from_the_age_each_shoe_has_to_the_day_the_horse_is_due(record):
    bay = listed(record, shoe_spells=draw(ShoeSpells, WORN))["bay"]
    # Bay's two shoes are 17 days old and due in 13. One loss is too little to tell ages apart: it is the rate of all
    # front shoe-days. Horses cannot be told apart, and the discipline's ratio is 1 where there is but one.
    assert bay["shoes_on"] == 2
    ratio = _own_ratio(record)
    assert bay["chance_lost"] == pytest.approx(1 - exp(-ratio * 2 * 13 / (28 + 28 + 17 + 17 + 84)), rel=1e-6)


def _own_ratio(record):
    from pipelines.analyses import horse_losses

    drawn = record(horses=HORSES, shoe_spells=draw(ShoeSpells, WORN))
    found = drawn.results(horse_losses)["horse_losses"].filter(horse_id="bay")["shrunk_ratio"]
    return 1.0 if found.is_empty() or found[0] is None else found[0]


def test_a_shoe_of_which_nothing_has_been_heard_for_long_is_not_counted_as_on(record):
    ash = listed(record, shoe_spells=draw(ShoeSpells, WORN))["ash"]
    assert (ash["shoes_on"], ash["chance_lost"]) == (None, None), "not 0: nobody has said that it is off"
    assert ash["chance_note"] == "no word of 1 shoe since 1 September 2025"


def test_a_shoe_that_was_seen_on_and_left_alone_of_late_is_on_however_old(record):
    looks = """
    visit_id | foot | arrival | work
    a3       | LF   | on      | none
    """
    spells = draw(ShoeSpells, WORN)
    ash = listed(record, shoe_spells=spells, feet=draw(Feet, looks))["ash"]
    assert (ash["shoes_on"], ash["chance_note"]) == (1, None)
    gone = draw(Feet, looks).with_columns(arrival=pl.lit("bare"))
    assert listed(record, shoe_spells=spells, feet=gone)["ash"]["shoes_on"] is None


def test_one_shoe_without_word_leaves_the_count_of_all_unknown(record):
    shoes = """
    horse_id | foot | fitted_on  | ended_on   | end_reason
    ash      | LF   | 2025-09-01 | 2025-11-24 | running
    ash      | RF   | 2025-12-10 | 2026-01-01 | running
    """
    ash = listed(record, shoe_spells=draw(ShoeSpells, shoes))["ash"]
    assert (ash["shoes_on"], ash["chance_lost"], ash["chance_note"][:17]) == (None, None, "no word of 1 shoe")


def test_without_a_day_or_a_loss_to_go_by_there_is_no_chance_and_the_note_says_why(record):
    shoes = f"""{WORN.rstrip()}
    cob      | LF   | 2025-12-15 | 2026-01-01 | running
    """
    driver = HORSES.with_columns(
        discipline=pl.when(pl.col("horse_id") == "bay").then(pl.lit("driving")).otherwise("discipline")
    )
    spells = draw(ShoeSpells, shoes).with_columns(
        discipline=pl.when(pl.col("horse_id") == "bay").then(pl.lit("driving")).otherwise("discipline")
    )
    found = listed(record, horses=driver, shoe_spells=spells)
    told = {name: (row["shoes_on"], row["chance_lost"], row["chance_note"]) for name, row in found.items()}
    assert told["bay"] == (2, None, "no other horse in its kind of work has lost a shoe, so nothing to go by")
    assert told["cob"] == (1, None, "no day it is due, so none to reckon to")
    assert told["dun"] == (0, None, None)


def past(*late):
    """Intervals of other horses that ran late by these days."""
    rows = [{"horse_id": "old", "from_visit_id": f"o{place}", "days_late": days} for place, days in enumerate(late)]
    return fill(VisitIntervals, rows)


def test_a_week_expects_horses_as_late_as_horses_have_been_given_that_they_have_not_come_yet(record):
    # Half came 3 days late, a quarter 8 and a quarter 17. Ash is 7 days overdue, so only 8 and 17 are left for it:
    # tomorrow, Friday of the week of 29 December, or in ten days, Sunday 11 January.
    weeks = results(record, visit_intervals=past(*[3] * 20, *[8] * 10, *[17] * 10))["load_to_come"]
    assert weeks["starts_on"].to_list()[:3] == [date(2025, 12, 29), date(2026, 1, 5), date(2026, 1, 12)]
    assert weeks["horses_due"].to_list() == [1, 0, 0, 0, 0, 0]
    assert weeks["visits_expected"].to_list() == pytest.approx([0.5, 0.5, 0, 0, 0, 0])
    assert weeks.select("low", "high").rows()[:3] == [(0, 1), (0, 1), (0, 0)]


def test_a_horse_overdue_by_longer_than_any_has_come_late_is_expected_in_no_week_and_counted(record):
    weeks = results(record, visit_intervals=past(*[3] * 20, 7))["load_to_come"]  # ash is 7 days overdue
    assert weeks["horses_beyond"].to_list() == [1] * 6
    assert weeks["visits_expected"].to_list() == [0.0] * 6
    later = results(record, visit_intervals=past(*[3] * 20, 8))["load_to_come"]
    assert later["horses_beyond"].to_list() == [0] * 6
    assert later["visits_expected"].sum() == 1


def test_without_twenty_intervals_with_a_plan_only_the_horses_due_are_counted(record):
    weeks = results(record, visit_intervals=past(3, 8))["load_to_come"]
    assert weeks["visits_expected"].to_list() == [None] * 6
    assert weeks["note"][0] == "fewer than 20 intervals with a plan to judge lateness by"


def test_a_horse_long_unseen_is_not_expected(record):
    weeks = results(record, visits=draw(Visits, VISITS).filter(horse_id="dun"))["load_to_come"]
    assert weeks.height == 0


def test_an_empty_record_gives_empty_tables(record):
    assert {frame.height for frame in record().results(analysis).values()} == {0}
