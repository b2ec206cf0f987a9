"""A horse told in several rows, one of them faulty: blanks are filled from sound cells, and the fault is named."""

import csv
from datetime import date

import pytest

from pipelines.intake import read_export
from schemas.records import Known

BOOK = """
    Horse | Use  | Height | Kg  | Date       | Kind    | Foot | Arrival | Done
    Ash   | Polo | {}     | {}  | 2024-01-02 | routine | LF   | bare    | trim
    Ash   | Polo | {}     | {}  | 2024-01-02 | routine | RF   | bare    | trim
    Bay   | Polo | 15.1   | 450 | 2024-01-02 | routine | LF   | bare    | trim
"""
OWN = """
    Horse | Use  | Height | Kg
    Bay   | Polo |        |
    Ash   | Polo | {}     | {}
"""


@pytest.fixture
def read(tmp_path):
    """Read a book with these heights and masses of Ash on its two rows, and on its row in a sheet of horses."""

    def write_and_read(*book, own=None):
        drawn = {"book": BOOK.format(*book)} | ({"horses": OWN.format(*own)} if own else {})
        for name, text in drawn.items():
            with (tmp_path / f"{name}.csv").open("w", encoding="utf-8", newline="") as file:
                rows = [[cell.strip() for cell in line.split("|")] for line in text.strip().splitlines()]
                csv.writer(file).writerows(rows)
        return read_export([tmp_path], Known(), None, date(2026, 11, 25))

    return write_and_read


def horses(records):
    return {
        name: told for name, *told in records.tables["horses"].select("horse_name", "height_hands", "mass_kg").rows()
    }


@pytest.mark.parametrize("book", [("15.2", "", "", ""), ("", "", "15.2", ""), ("15.2", "", "15.2", "")])
def test_a_faulty_cell_of_another_file_is_taken_as_the_sound_rows_have_it_and_named(read, book):
    records = read(*book, own=("15.5", ""))
    assert (horses(records)["Ash"], records.set_aside.height, records.tables["feet"].height) == (["15.2", None], 0, 3)
    told = records.warnings.filter(rule="told_otherwise").select("source_file", "source_row", "column_name", "value")
    assert told.rows() == [("horses.csv", 3, "height_hands", "15.5")]
    assert "taken as 15.2 from the other rows that tell it" in records.warnings["reason"][0]


@pytest.mark.parametrize(("column", "own"), [("mass_kg", ("", "heavy")), ("mass_kg", ("", "9000"))])
def test_what_cannot_be_read_and_what_is_beyond_the_limits_are_treated_alike(read, column, own):
    records = read("", "500", "", "", own=own)
    assert (horses(records)["Ash"], records.set_aside.height) == ([None, 500.0], 0)
    assert records.warnings["column_name"].to_list() == [column]


@pytest.mark.parametrize("own", [("15.5", ""), ("", "heavy"), ("", "9000")])
def test_where_the_only_telling_is_faulty_the_row_that_holds_it_is_named_to_all_that_hang_on_it(read, own):
    records = read("", "", "", "", own=own)
    assert list(horses(records)) == ["Bay"]
    aside = records.set_aside.filter(table_name="horses").select("source_file", "source_row", "rule").rows()
    assert [place for *place, rule in aside if rule != "told_wrong"] == [["horses.csv", 3]]
    assert [place for *place, rule in aside if rule == "told_wrong"] == [["book.csv", 2]]
    blank = records.set_aside.filter(rule="told_wrong")["reason"].item()
    assert "is told in horses.csv row 3, and wrongly: mend that row first" in blank
    visit = records.set_aside.filter(rule="horse_set_aside")["reason"].item()
    assert "(horses.csv row 3): mend that row first" in visit


def test_in_one_file_a_faulty_cell_alone_sets_the_horse_aside_and_beside_a_sound_one_it_does_not(read):
    records = read("", "", "15.5", "")
    assert (list(horses(records)), records.set_aside.filter(rule="wrong_form").height) == (["Bay"], 1)
    at = records.set_aside.filter(rule="wrong_form").select("source_file", "source_row", "column_name").row(0)
    assert at == ("book.csv", 3, "height_hands"), "the row in which the cell stands, not the horse's first"
    records = read("15.2", "", "15.5", "")
    assert (horses(records)["Ash"], records.set_aside.height) == (["15.2", None], 0)


def test_two_faulty_tellings_are_two_faults_and_not_a_difference_as_well(read):
    found = read("15.5", "500", "15.7", "500").set_aside.filter(table_name="horses")
    assert found.select("source_row", "rule").rows() == [(2, "wrong_form"), (3, "wrong_form")]
    both = read("15.5", "", "15.7", "", own=("15.2", "9000")).set_aside.filter(
        table_name="horses", rule="same_key_twice"
    )
    assert both.is_empty()


def test_a_faulty_cell_of_the_last_visit_does_not_hold_against_sound_ones_that_changed(tmp_path):
    rows = [("2024-01-02", "500"), ("2024-03-02", "510"), ("2024-04-02", "9000")]
    lines = [f"Ash,Polo,{mass},{day},routine,LF,bare,trim" for day, mass in rows]
    (tmp_path / "book.csv").write_text("\n".join(["Horse,Use,Kg,Date,Kind,Foot,Arrival,Done", *lines]))
    records = read_export([tmp_path / "book.csv"], Known(), None, date(2026, 11, 25))
    assert (records.tables["horses"]["mass_kg"].to_list(), records.set_aside.height) == ([510.0], 0)
    assert records.warnings["rule", "source_row"].rows() == [("latest_taken", 2), ("told_otherwise", 4)]


def test_a_discipline_that_only_another_row_tells_in_no_word_of_the_list_is_other_and_named(read, tmp_path):
    read("", "", "", "", own=("", ""))
    for name in ("book", "horses"):
        text = (tmp_path / f"{name}.csv").read_text().replace("Ash,Polo", "Ash,Bronc" if name == "horses" else "Ash,")
        (tmp_path / f"{name}.csv").write_text(text)
    records = read_export([tmp_path], Known(), None, date(2026, 11, 25))
    assert (records.tables["horses"]["discipline"].to_list(), records.set_aside.height) == (["other", "polo"], 0)
    assert "taken as other" in records.warnings["reason"].item()
