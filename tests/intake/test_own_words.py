"""What is said of a cell names it as the person who has to mend it knows it."""

import re
import tomllib

import polars as pl
import pytest

from pipelines.intake import read_export
from pipelines.intake.drafting import draft
from pipelines.intake.own_words import FOOT, headers_of, in_own_words, nearest_word, teachable
from schemas.problem import Problem
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


SEVERAL = (
    "both fronts", "both hinds", "Fronts", "LF/RF", "lf + rh", "near fore and off hind", "all round", "All four feet",
    "front and hind", "near and off fore", "fronts only",
)  # fmt: skip
COULD_BE_TWO = (
    ("foot", "off"), ("foot", "right"), ("foot", "near"), ("foot", "rigth"), ("foot", "FL"), ("foot", '"'),
    ("arrival", "on/off"), ("arrival", "off?"), ("work", "new/reset"), ("work", "pulled"),
    ("bruise_site", "seat of corn"), ("bruise_grade", "corn"), ("bruise_grade", "moderate or severe"),
    ("share_with_vet", "y/n"), ("visit_kind", "emergency"), ("discipline", "hunter"),
)  # fmt: skip


@pytest.mark.parametrize("cell", SEVERAL)
def test_several_feet_in_one_row_are_never_taught_as_one(reasons, cell):
    ((row, column, why),) = reasons(FLAT.replace("| 9", "| 52").replace("NH ", cell))
    assert (row, column) == (2, "foot")
    assert re.search(r": one row is one foot: write (two|four) rows", why)
    assert "layout" not in why


@pytest.mark.parametrize(("column", "cell"), COULD_BE_TWO)
def test_a_word_that_could_mean_two_things_is_never_offered_to_be_taught(column, cell):
    assert not teachable(column, cell)


@pytest.mark.parametrize(
    ("column", "cell", "word"),
    [("foot", "near forr", "LF"), ("foot", "vorne links", None), ("work", "trim and reset", None),
     ("arrival", "sprungg", "sprung"), ("share_with_vet", "agreed", None), ("bruise_grade", "awful", None)],
)  # fmt: skip
def test_a_word_with_one_meaning_is(column, cell, word):
    assert teachable(column, cell)
    assert nearest_word(column, cell) == word


def test_a_discipline_that_could_be_two_says_which_to_write():
    found = in_own_words(finding("discipline", "hunter", "taken_as_other"), headers_of([]))
    assert found["reason"][0] == "as found; a show hunter or the hunting field? write hunting, show_jumping or other"


def finding(column: str, value: str, rule: str) -> pl.DataFrame:
    columns = {"source_file": "book.csv", "column_name": column, "value": value, "rule": rule, "reason": "as found"}
    return pl.DataFrame({**columns, FOOT: None}, schema=dict.fromkeys([*columns, FOOT], pl.String))


def test_a_draft_offers_only_what_can_be_taught():
    words = [("foot", word) for word in ("off", "both fronts", "vorne links")] + [("arrival", "on/off")]
    text = draft([], pl.concat([finding(column, word, "not_in_list") for column, word in words]))
    part = text[text.index("[words.foot]") :].splitlines()
    assert part == ["[words.foot]", "# one of: LF, RF, LH, RH", '# "vorne links" = ""']


@pytest.mark.parametrize(
    ("word", "meant", "why"),
    [("fronts", "RF", "one row is one foot: write two rows, LF and RF"), ("alle", "all", "use one of LF, RF, LH, RH"),
     ("LF/RF", "LF", "one row is one foot"), ("do", "LF", "write it out in full")],
)  # fmt: skip
def test_a_layout_file_that_teaches_several_feet_as_one_is_refused_with_its_line(reasons, word, meant, why):
    with pytest.raises(Problem, match=f"practice.toml line 3: .*{why}"):
        reasons(FLAT, f'[words.foot]\n"vr" = "RF"\n"{word}" = "{meant}"\n')
