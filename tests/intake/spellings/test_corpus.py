import importlib.util
from pathlib import Path

import pytest

from pipelines.intake.spellings import Habits, read
from schemas.fields import MEANINGS


def load():
    spec = importlib.util.spec_from_file_location("corpus", Path(__file__).with_name("corpus.py"))
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


CORPUS = load()
HABITS = Habits(day_first=True, latest_year=2026)


def as_expected(reading):
    """A reading in the words of the corpus."""
    if reading.blank:
        return CORPUS.BLANK
    if reading.value is None:
        return CORPUS.REFUSED
    return CORPUS.Doubted(reading.value) if reading.doubt else reading.value


@pytest.mark.parametrize("kind", CORPUS.KINDS)
def test_every_odd_cell_is_read_as_a_person_means_it(kind):
    wrong = [
        (cell, column, expected, found)
        for cell, column, expected in CORPUS.KINDS[kind]
        if (found := as_expected(read(cell, column, MEANINGS[column], HABITS))) != expected
    ]
    assert wrong == []


@pytest.mark.parametrize("kind", CORPUS.KINDS)
def test_each_kind_has_at_least_150_different_cells(kind):
    assert len({(cell, column) for cell, column, _ in CORPUS.KINDS[kind]}) >= 150


def test_a_numeric_day_that_nothing_settles_is_never_guessed():
    nothing = Habits(latest_year=2026)
    assert read("03/04/2024", "visit_date", MEANINGS["visit_date"], nothing).value is None
    assert "2026-03-05" in read("03/04/2024", "visit_date", MEANINGS["visit_date"], nothing).why
    assert read("13/04/2024", "visit_date", MEANINGS["visit_date"], nothing).value.isoformat() == "2024-04-13"
    assert read("04/04/2024", "visit_date", MEANINGS["visit_date"], nothing).value.isoformat() == "2024-04-04"


def test_the_same_day_is_month_first_where_the_file_is():
    american = Habits(day_first=False, latest_year=2026)
    assert read("03/04/2024", "visit_date", MEANINGS["visit_date"], american).value.isoformat() == "2024-03-04"


WORDS = [(name, meaning, word) for name, meaning in MEANINGS.items() for word in meaning.words]


def test_every_declared_word_reads_as_itself_and_is_not_called_changed():
    said = [(name, word, read(word, name, meaning, HABITS)) for name, meaning, word in WORDS]
    assert [(name, word) for name, word, found in said if found[:2] != (word, None)] == []


def test_no_other_word_stands_for_two():
    from schemas.synonyms import SYNONYMS, plain

    twice = [
        (column, plain(other))
        for column, words in SYNONYMS.items()
        for word, others in words.items()
        for other in others
        for second, seconds in words.items()
        if second != word and plain(other) in {plain(text) for text in (second, *seconds)}
    ]
    assert twice == []
