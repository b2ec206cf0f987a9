import re

import pytest

from pipelines.intake.spellings import Habits, read
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


@pytest.mark.parametrize("column", ["height_hands", "minutes", "angle_arrival_deg", "bruise_grade", "foot"])
def test_no_message_points_back_to_a_word_that_is_itself_refused(column, cells):
    offered = {
        word
        for own, cell, _ in cells.drawn(cells.TWO_MEANINGS)
        if own == column
        for word in re.findall(r"(?:write|or|and) ([0-9][a-z0-9 ]*?|[A-Z]{2})(?=,| or |$)", reading(own, cell).why)
    }
    assert [word for word in offered if reading(column, word).value is None] == []
