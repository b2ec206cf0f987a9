"""Which horse a row is about where it leaves the yard blank, or names no horse at all."""

import polars as pl
import pytest

from pipelines.intake import read_export
from schemas.records import Known
from tests.intake.conftest import TODAY, as_csv, told

FLAT = """
    Horse | Yard         | Use    | Date       | Kind    | Leg | Came in | Done
    Star  | Brook House  | polo   | 2025-01-01 | routine | NF  | bare    | trim
    Star  |              | polo   | 2025-02-02 | routine | NF  | bare    | trim
    Star  |              | polo   | 2025-02-02 | routine | OF  | bare    | trim
"""
OTHER = "    Star | Manor Livery | polo | 2025-03-03 | routine | NF | bare | trim\n"
LATER = """
    Horse | Date       | Kind    | Leg | Came in | Done
    Star  | 2025-04-04 | routine | NF  | bare    | trim
    Star  | 2025-05-05 | routine | NF  | bare    | trim
"""
LOST = "Horse | Foot | Found off \n Star | NF | 2025-04-14"
TWO = "Star stands in Brook House and in Manor Livery: write which yard"


def store(*yards: str | None) -> Known:
    ids = [f"star, {yard}".lower() for yard in yards]
    horses = pl.DataFrame({"horse_id": ids, "horse_name": ["Star"] * len(yards), "yard": list(yards)})
    return Known(horses["horse_id"], horses=horses)


@pytest.fixture
def read(tmp_path):
    def write_and_read(known=None, layout="", **drawn: str):
        for name, text in drawn.items():
            (tmp_path / f"{name}.csv").write_text(as_csv(text), encoding="utf-8")
        (tmp_path / "practice.toml").write_text(layout, encoding="utf-8")
        paths = [tmp_path / f"{name}.csv" for name in drawn]
        return read_export(paths, known or Known(), None, TODAY, layout=tmp_path / "practice.toml")

    return write_and_read


def test_a_blank_yard_is_that_of_the_one_horse_of_the_name_and_said(read):
    records = read(book=FLAT)
    assert records.tables["horses"].select("horse_id", "yard").rows() == [("star, brook house", "Brook House")]
    assert records.tables["visits"]["horse_id"].unique().to_list() == ["star, brook house"]
    assert (records.tables["feet"].height, records.set_aside.height) == (3, 0)
    assert told(records.warnings) == [
        "book.csv row 3: Star stands here without a yard: taken as Star of Brook House, the only one in these records"
    ]


def test_where_two_horses_have_the_name_a_blank_yard_is_asked_for(read):
    records = read(book=FLAT + OTHER)
    aside = records.set_aside.group_by("table_name", maintain_order=True).agg("reason")
    assert aside.rows() == [("horses", [TWO]), ("visits", [TWO]), ("feet", [TWO, TWO])]
    assert records.tables["horses"]["yard"].to_list() == ["Brook House", "Manor Livery"]


def test_two_horses_in_a_sheet_of_horses_and_a_visit_that_names_no_yard(read):
    horses = "Name | Stable | Use \n Star | Brook House | polo \n Star | Manor Livery | polo"
    records = read(horses=horses, feet=LATER, losses=LOST)
    assert set(records.set_aside["reason"]) == {TWO}
    assert records.rows_read["feet"] == 2 == records.set_aside.filter(table_name="feet").height


def test_a_later_month_alone_takes_the_one_horse_of_the_store_and_says_so_once(read):
    records = read(store("Brook House"), feet=LATER, losses=LOST)
    assert records.set_aside.is_empty()
    assert set(records.tables["visits"]["horse_id"]) == {"star, brook house"}
    says = "Star stands here without a yard: taken as Star of Brook House, the only one in the store"
    assert told(records.warnings) == [f"feet.csv row 2: {says}", f"losses.csv row 2: {says}"]
    assert set(read(store("Brook House", "Manor Livery"), feet=LATER).set_aside["reason"]) == {TWO}


def test_a_later_flat_month_without_yards_changes_nothing_of_the_horse_in_the_store(read):
    records = read(store("Brook House"), book=FLAT.replace("Brook House", ""))
    assert records.tables["horses"].select("horse_id", "yard").rows() == [("star, brook house", "Brook House")]
    assert records.set_aside.is_empty()
    assert [why for why in told(records.warnings) if "the only one in the store" in why]


NOWHERE = Known(
    pl.Series("horse_id", ["star"]),
    horses=pl.DataFrame({"horse_id": ["star"], "horse_name": ["Star"], "yard": pl.Series([None], dtype=pl.String)}),
)
ONE = FLAT.replace("Star  |              |", "Star  | Brook House  |")
MET = (
    "Star is kept in the store without a yard and stands here with one: taken as the same horse; if it is another of "
    "that name, give it a horse_id of its own"
)


@pytest.mark.parametrize("book", [FLAT, ONE], ids=["some rows without", "every row with"])
def test_a_horse_of_the_store_without_a_yard_is_the_one_whose_yard_arrives_later_and_it_is_said(read, book):
    records = read(NOWHERE, book=book)
    assert records.tables["horses"].select("horse_id", "yard").rows() == [("star", "Brook House")]
    assert records.tables["visits"]["horse_id"].unique().to_list() == ["star"]
    assert (records.tables["feet"].height, records.set_aside.height) == (3, 0)
    assert f"book.csv row 2: {MET}" in told(records.warnings)


@pytest.mark.parametrize("column", ["", " | Yard"])
def test_a_sheet_of_horses_without_yards_is_about_the_one_horse_of_the_store_and_it_is_said(read, column):
    horses = f"Name | Use | Chip{column} \n Star | polo | 985102001234567{column and ' | '}"
    records = read(store("Brook House"), horses=horses, feet=LATER)
    assert records.tables["horses"].select("horse_id", "yard").rows() == [("star, brook house", "Brook House")]
    assert set(records.tables["visits"]["horse_id"]) == {"star, brook house"}
    says = "Star stands here without a yard: taken as Star of Brook House, the only one in the store"
    assert f"horses.csv row 2: {says}" in told(records.warnings)


def test_where_two_yards_arrive_neither_is_that_of_the_horse_without(read):
    records = read(NOWHERE, book=ONE + OTHER)
    assert set(records.tables["visits"]["horse_id"]) == {"star, brook house", "star, manor livery"}
    assert "yard_for_one_without" not in records.warnings["rule"]


def test_a_horse_with_a_code_of_its_own_is_not_the_one_of_the_store(read):
    coded = ONE.replace("Horse ", "horse_id | Horse ").replace("Star ", "S1 | Star ")
    records = read(NOWHERE, book=coded)
    assert (records.tables["horses"]["horse_id"].to_list(), records.warnings.height) == (["S1"], 0)


def test_the_export_is_asked_before_the_store(read):
    records = read(store("Old Yard"), book=FLAT)
    assert set(records.tables["visits"]["horse_id"]) == {"star, brook house"}


def test_one_horse_of_two_yards_by_the_layout_file_is_one_for_a_blank_yard(read):
    same = '[horses]\nsame = [["star, brook house", "star, manor livery"]]\n'
    records = read(book=FLAT + OTHER, layout=same)
    assert set(records.tables["visits"]["horse_id"]) == {"star, brook house"}
    assert records.set_aside.is_empty()


def test_horses_that_the_layout_file_tells_apart_are_not_said_to_stand_in_two_yards(read):
    book = FLAT + "    Star | Brook House | dressage | 2025-03-03 | routine | NF | bare | trim\n"
    records = read(book=book, layout='[horses]\napart = [["star, brook house", "discipline"]]\n')
    assert records.tables["horses"]["horse_id"].to_list() == ["star, brook house, polo", "star, brook house, dressage"]
    assert records.warnings["rule"].to_list() == ["yard_taken"]


def test_two_horses_of_one_name_in_one_yard_are_never_guessed(read):
    horses = "horse_id | horse_name | yard | discipline \n H1 | Star | Low | polo \n H2 | Star | Low | polo"
    records = read(horses=horses, feet=LATER)
    assert records.tables["visits"].is_empty()
    assert set(records.set_aside["reason"]) == {
        "two horses are called Star in Low: write the horse_id of the one that is meant, or say in a layout file what "
        "tells them apart"
    }


def test_a_name_that_is_nowhere_is_said_as_it_is_written_with_the_nearest(read):
    horses = "Name | Stable | Use \n Biscuit | Low | polo"
    feet = LATER.replace("Star", "Bisciut").replace("Horse ", "Yard | Horse ").replace("    Bis", "    Low | Bis")
    assert told(read(horses=horses, feet=feet).set_aside)[0] == (
        "feet.csv row 2: Bisciut, Low stands nowhere in horses: correct the name or yard, or add that horse; "
        "the nearest is Biscuit, Low"
    )


@pytest.mark.parametrize("name", ["-", "--", "..", "?"])
def test_a_name_of_marks_alone_is_no_horse(read, name):
    records = read(book=FLAT.replace("    Star  | Brook", f"    {name} | Brook"))
    aside = records.set_aside.filter(pl.col("source_row") == 2)
    assert aside["table_name"].to_list() == ["horses", "visits", "feet"]
    assert "name" in aside["reason"][0]
    assert records.tables["horses"]["horse_id"].null_count() == 0


def test_a_few_codes_among_many_blanks_are_kept_and_the_others_made(read):
    book = FLAT.replace("Horse ", "visit_id | Horse ").replace("Star ", " | Star ").replace(" | Star", "A | Star", 1)
    records = read(book=book)
    assert records.tables["visits"]["visit_id"].to_list() == ["A", "star, brook house, 2025-02-02"]
    assert records.set_aside.is_empty()


def test_a_column_of_codes_that_is_mostly_blank_lends_no_visit_the_cells_of_another(read):
    book = FLAT.replace("Horse ", "visit_id | Fee | Horse ").replace("Star ", " | | Star ")
    records = read(book=book.replace(" | | Star", " | 90 | Star", 1))
    assert records.tables["visits"].sort("visit_date")["fee"].to_list() == [90.0, None]
