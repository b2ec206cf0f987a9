"""The part of a horse's page on its intervals: agreed beside done, slipping or not, when it is due."""

from datetime import date

import pytest

from tests.reports.parsing import every, said, table_rows
from tests.reports.rounds import due_on, own_intervals, silent, trend
from tests.reports.test_horse_pages import own, questions
from tests.reports.test_reasons import picture, section
from tests.reports.test_sentences import answer

QUESTION = "Does it come when it was agreed, and when is it due?"


def test_agreed_stands_beside_done_and_each_interval_in_a_table(tmp_path):
    page = own(tmp_path, **own_intervals("H0000"))
    assert answer(page, QUESTION) == (
        "5 intervals, half of them 46 days (6 weeks and 4 days) or shorter. Agreed were 43.8 days on average and they "
        "took 46.0; 25% of 4 with a plan ran late."
    )
    rows = table_rows(page, "Its intervals, the latest first")
    assert rows[:2] == [["Ended on", "Days", "Agreed", "Days late"], ["18 January 2026", "52", "6 weeks", "10"]]
    assert rows[3] == ["9 October 2025", "46", "–", "–"]


def test_an_interval_is_a_dot_and_a_mark_where_it_had_a_plan(tmp_path):
    page = own(tmp_path, **own_intervals("H0000"))
    drawn = picture(page, "Intervals by the day they ended")
    assert "5 intervals of 40 to 52 days" in drawn.get("aria-label", "")
    assert len(every(drawn, "circle")) == 5
    assert len([line for line in every(drawn, "line") if line.get("stroke-width") == "2"]) == 4


def test_of_a_long_record_the_latest_three_years_are_drawn(tmp_path):
    old = own_intervals("H0000", plans=(6,) * 3)
    old["horse_rounds"][0] |= {"from_date": date(2015, 1, 1), "to_date": date(2015, 2, 10)}
    page = own(tmp_path, **old)
    assert len(every(picture(page, "Intervals by the day"), "circle")) == 2
    assert "the table has all" in said(page)
    assert len(table_rows(page, "Its intervals, the latest first")) == 4


def test_intervals_all_of_long_ago_are_in_the_table_only(tmp_path):
    old = own_intervals("H0000", plans=(6,))
    old["horse_rounds"][0] |= {"from_date": date(2015, 1, 1), "to_date": date(2015, 2, 10)}
    assert not every(section(own(tmp_path, **old), QUESTION), "svg")


@pytest.mark.parametrize(
    ("later", "told"),
    [
        (3.0, "It comes later and later: 3.0 days later each year (likely 1.0 later to 5.0 later)."),
        (1.0, "That it comes later and later is not sure: 1.0 days later each year (likely 1.0 earlier to 3.0 later)."),
        (
            -1.0,
            "That it comes later and later is not sure: 1.0 days earlier each year (likely 3.0 earlier to 1.0 later).",
        ),
        (None, "Whether it comes later and later cannot be told: fewer than 4 intervals with a plan."),
    ],
)
def test_only_a_trend_that_is_sure_is_told_as_one(tmp_path, later, told):
    page = own(tmp_path, **own_intervals("H0000"), lateness_trend=[trend("H0000", "Ash", later)])
    assert told in answer(page, QUESTION)


@pytest.mark.parametrize(
    ("row", "told"),
    [
        (
            due_on("H0000", "Ash", -20),
            "It is due on 20 April 2026. The chance that one of its 4 shoes is lost before then is 3%.",
        ),
        (
            due_on("H0000", "Ash", 9, shoes_on=1),
            "It was due on 22 March 2026, 9 days ago. The chance that its one shoe is lost in the next 7 days is 3%.",
        ),
        (
            due_on("H0000", "Ash", -3, planned_weeks=None, note="no interval agreed: due by its own median of 44 days"),
            "It is due on 3 April 2026 (no interval agreed: due by its own median of 44 days). The chance that one of",
        ),
        (
            due_on("H0000", "Ash", -20, shoes_on=0, chance_lost=None),
            "It is due on 20 April 2026. No shoe is on, as far as is known.",
        ),
        (
            due_on(
                "H0000", "Ash", 55, shoes_on=None, chance_lost=None, chance_note="no word of 4 shoes since 1 May 2025"
            ),
            "It was due on 4 February 2026, 55 days ago. Whether its shoes are still on is not known: no word of 4",
        ),
        (
            due_on("H0000", "Ash", -20, chance_lost=None, chance_note="no shoe has been lost in its kind of work"),
            "It is due on 20 April 2026. How likely a shoe is lost meanwhile cannot be told: no shoe has been lost",
        ),
        (
            due_on("H0000", "Ash", None),
            "When it is due cannot be told: no interval agreed, and too few of its own to go by.",
        ),
        (silent("H0000", "Ash"), "Last seen on 29 March 2024, over 26 weeks ago: it may have left."),
    ],
)
def test_when_it_is_due_is_told_with_the_chance_of_a_loss_till_then(tmp_path, row, told):
    assert answer(own(tmp_path, due_list=[row]), QUESTION).startswith(told)


def test_one_interval_without_a_plan_is_told_as_it_is(tmp_path):
    one = own_intervals("H0000", plans=(None,))
    one["horse_intervals"] = [{"horse_id": "H0000", "intervals": 1, "median_days": 40.0, "intervals_planned": 0}]
    assert answer(own(tmp_path, **one), QUESTION) == (
        "One interval on record, of 40 days (5 weeks and 5 days); none had a plan."
    )
    drawn = picture(own(tmp_path / "drawn", **one), "Intervals by the day they ended")
    assert drawn.get("aria-label") == "Intervals by the day they ended, 12 July 2025: 1 interval of 40 days."


def test_a_horse_with_neither_has_no_such_part(tmp_path):
    assert QUESTION not in questions(own(tmp_path))
