"""What was tried for one horse: what was found since stands beside what chance alone would bring."""

from datetime import date

import pytest

from tests.reports.parsing import said, table_rows, text
from tests.reports.test_horse_pages import own, questions
from tests.reports.test_reasons import section
from tests.reports.test_sentences import answer

QUESTION = "Did what was tried help?"


def change(**more):
    return {
        "horse_id": "H0000", "foot": "all", "changed_on": date(2025, 5, 3), "what": "heels <closer>",
        "shoe_days_before": 900.0, "losses_before": 6, "expected_before": 2.0, "ratio_before": 3.0,
        "shoe_days_after": 800.0, "losses_after": 2, "expected_after": 1.75, "ratio_after": 1.14,
        "change_ratio": 0.38, "low": 0.04, "high": 2.1, "shrunk_before": 2.2, "losses_by_chance": 3.85,
        "chance_low": 0.0, "chance_high": 10.0, **more,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("lost", "low", "high", "verdict"),
    [
        (2, 0, 10, "So chance alone may be all there is to it."),
        (0, 1, 10, "That is fewer than chance alone would mostly bring; what else changed then is not known."),
        (11, 0, 10, "That is more than chance alone would mostly bring."),
    ],
)
def test_the_answer_sets_what_was_found_beside_what_chance_would_bring(tmp_path, lost, low, high, verdict):
    page = own(tmp_path, changes_tried=[change(losses_after=lost, chance_low=low, chance_high=high)])
    assert answer(page, QUESTION) == (
        f"All feet: “heels <closer>”, since 3 May 2025. {lost} shoes lost since, where 3.9 would be expected (likely "
        f"{low}.0 to {high}.0) if it had done nothing. {verdict}"
    ).replace(".0 to", " to").replace(".0)", ")")
    assert "the worst horses lose fewer afterwards by chance alone" in text(section(page, QUESTION))


def test_the_numbers_stand_in_a_table_the_latest_change_first(tmp_path):
    earlier = change(changed_on=date(2024, 5, 3), foot="LH", change_ratio=None, low=None, high=None,
                     losses_by_chance=None, chance_low=None, chance_high=None, expected_before=None,
                     note="no shoe was followed in the year before it")  # fmt: skip
    page = own(tmp_path, changes_tried=[earlier, change(high=None)])
    rows = table_rows(page, "Losses before and after each change")
    assert rows[1] == ["3 May 2025", "heels <closer>", "All feet", "6", "2.0", "2", "1.8", "0.4 (0.0 to …)", "3.9",
                       "0 to 10", ""]  # fmt: skip
    assert rows[2][2:5] == ["Left hind", "6", "–"]
    assert rows[2][-1] == "No shoe was followed in the year before it."


def test_a_change_of_which_too_little_is_known_says_why(tmp_path):
    told = change(note="fewer than 3 losses in all: this can tell nothing")
    assert answer(own(tmp_path, changes_tried=[told]), QUESTION).endswith(
        "Fewer than 3 losses in all: this can tell nothing."
    )


def test_a_horse_for_which_nothing_was_tried_has_no_such_part(tmp_path):
    page = own(tmp_path, changes_tried=[change(horse_id="H0001")])
    assert QUESTION not in questions(page)
    assert "closer" not in said(page)
