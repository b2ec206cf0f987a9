"""What is said of a cell names it as the person who has to mend it knows it."""

import tomllib

import pytest

from pipelines.intake import read_export
from schemas.records import Known
from tests.intake.conftest import TODAY, as_csv

WIDE = """
    Horse | Use  | Date       | Type    | near hind came in | near hind done | Bruise, near hind | off fore came in | off fore done
    Ash   | Polo | 2025-01-02 | routine | bare              | trim           | 9                 | bare             | re-fitt
"""  # noqa: E501
FLAT = """
    Horse | Use  | Date       | Type    | Leg | On arrival | Work done | Angle in
    Ash   | Polo | 2025-01-02 | routine | NH  | bare       | trim      | 9
"""


@pytest.fixture
def reasons(tmp_path):
    def read(drawn: str, layout: str = "") -> list[tuple]:
        (tmp_path / "book.csv").write_text(as_csv(drawn), encoding="utf-8")
        (tmp_path / "practice.toml").write_text(layout, encoding="utf-8")
        records = read_export([tmp_path / "book.csv"], Known(), None, TODAY, layout=tmp_path / "practice.toml")
        return records.set_aside.select("source_row", "column_name", "reason").rows()

    return read


def test_a_group_of_columns_for_each_foot_is_named_by_its_header_and_its_foot(reasons):
    (place, of_a_word) = sorted(reasons(WIDE))
    assert place == (2, "bruise_grade", 'column "Bruise, near hind" (LH bruise_grade) 9 is too high: 0 to 3 is allowed')
    assert of_a_word[:2] == (2, "work")
    assert of_a_word[2].startswith('column "off fore done" (RF work) says "re-fitt", which is no word for it: use one')


def test_a_flat_sheet_is_named_by_its_own_header_and_the_ledger_keeps_the_declared_name(reasons):
    assert reasons(FLAT) == [
        (2, "angle_arrival_deg", 'column "Angle in" (angle_arrival_deg) 9 is too low: 30 to 75 degrees is allowed')
    ]


def test_a_header_that_says_just_the_declared_name_is_not_named_twice(reasons):
    told = reasons(FLAT.replace("Angle in", "Angle arrival DEG"))
    assert told[0][2] == 'column "Angle arrival DEG" 9 is too low: 30 to 75 degrees is allowed'


def test_a_header_that_a_layout_file_explains_is_named_as_it_stands(reasons):
    told = reasons(FLAT.replace("Angle in", "Winkel"), '[headers]\n"Winkel" = "angle_arrival_deg"\n')
    assert told[0][2].startswith('column "Winkel" (angle_arrival_deg) 9 is too low')


@pytest.mark.parametrize(
    ("cell", "line"),
    [("re-fitt", '"re-fitt" = "reset"'), ('said "x\\', '"said \\"x\\\\" = "one of them"')],
)
def test_a_word_that_is_not_known_comes_with_the_line_that_teaches_it(reasons, cell, line):
    told = reasons(FLAT.replace("| 9", "| 52").replace("trim ", cell))
    assert [why.split("; ")[1] for _, _, why in told] == [f"or teach it in a layout file, under [words.work]: {line}"]
    assert tomllib.loads(f"[words.work]\n{line}")["words"]["work"].keys() == {cell}


def test_the_line_once_written_brings_the_row_in(reasons):
    told = reasons(FLAT.replace("| 9", "| 52").replace("trim ", "re-fitt"), '[words.work]\n"re-fitt" = "reset"\n')
    assert told == []
