import re

import pytest

from pipelines.intake.spellings import Habits, read
from pipelines.intake.spellings.days import evidence
from schemas.fields import MEANINGS

UNSETTLED = Habits(latest_year=2026)


def reading(column, cell, habits=UNSETTLED):
    return read(cell, column, MEANINGS[column], habits)


def said(value):
    """A value as the tables write it."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else str(value)


def test_what_means_two_things_is_never_guessed_and_the_person_is_told_what_to_write(cells):
    found = [(column, cell, use, reading(column, cell)) for column, cell, use in cells.drawn(cells.TWO_MEANINGS)]
    assert [row for row in found if row[3].value is not None or row[2] not in (row[3].why or "")] == []


def test_what_says_that_nothing_is_known_is_blank_and_sets_no_row_aside(cells):
    found = [(column, cell, reading(column, cell)) for column, cell in cells.drawn(cells.BLANK)]
    assert [row for row in found if not row[2].blank or row[2].value is not None] == []


def test_ways_of_writing_of_their_own_are_read(cells):
    found = [(column, cell, want, reading(column, cell).value) for column, cell, want in cells.drawn(cells.READ)]
    assert [row for row in found if said(row[3]) != row[2]] == []


def test_what_is_none_comes_back_unread_or_breaks_the_rule_of_its_column(cells):
    found = [(column, cell, reading(column, cell).value) for column, cell in cells.drawn(cells.NO_NUMBER)]
    assert [row for row in found if row[2] is not None and re.search(MEANINGS[row[0]].pattern or "", row[2])] == []


def test_days_with_two_digits_of_the_year_first_are_told_by_those_that_are_no_day_otherwise():
    found = evidence(["24-11-23", "24-11-29", "25-02-03"], latest_year=2026)
    assert (found.year_first, found.year_last, found.day_first) == (
        2,
        0,
        1,
    )  # the 29th and the 3rd: 2029 is to come, 2003 long past
    found = evidence(["23-11-24", "31-12-24"], latest_year=2026)
    assert (found.year_first, found.year_last) == (0, 1)


@pytest.mark.parametrize("column", ["height_hands", "minutes", "angle_arrival_deg", "bruise_grade", "foot"])
def test_no_message_points_back_to_a_word_that_is_itself_refused(column, cells):
    offered = {
        word
        for own, cell, _ in cells.drawn(cells.TWO_MEANINGS)
        if own == column
        for word in re.findall(r"(?:write|or|and) ([0-9][a-z0-9 ]*?|[A-Z]{2})(?=,| or |$)", reading(own, cell).why)
    }
    assert [word for word in offered if reading(column, word).value is None] == []
