"""Headers, totals and repeats as they stand in sheets that people lay out themselves."""

import csv
import io
from datetime import date

import polars as pl
import pytest

from pipelines.intake import read_export
from pipelines.intake.practice import read_practice
from schemas.problem import Problem
from schemas.records import Known
from tests.intake.conftest import as_csv

FLAT = """
    Horse | Yard | Use      | Date       | Farrier | Kind    | Leg | Came in | Done  | Angle in
    Ash   | Top  | Eventing | 13/02/2024 | A       | routine | NF  | on      | new   | 52
    Ash   | Top  | Eventing | 13/02/2024 | A       | routine | OF  | on      | refit | 51
    Bay   | Top  | Polo     | 14/02/2024 | A       | routine | NH  | bare    | trim  | 50
"""
FEET = [("LF", "fit_new"), ("RF", "reset"), ("LH", "trim")]
HORSES = """
    Horse ID | Horse | Yard | Use      | Foaled
    H1       | Ash   | Top  | Eventing | 2010
    H2       | Bay   | Top  | Polo     | 2011
"""
VISITS = """
    Visit ID | Horse ID | Date       | Farrier | Kind
    V1       | H1       | 13/02/2024 | A       | routine
    V2       | H2       | 14/02/2024 | A       | routine
"""


def lines(drawn: str) -> list[list[str]]:
    return [[cell.strip() for cell in line.split("|")] for line in drawn.strip().splitlines()]


@pytest.fixture
def read(tmp_path):
    """Read drawn sheets, each a file of its name, as one export."""

    def write_and_read(**sheets: str):
        for name, drawn in sheets.items():
            text = io.StringIO()
            csv.writer(text, lineterminator="\n").writerows(lines(drawn))
            (tmp_path / f"{name}.csv").write_text(text.getvalue(), encoding="utf-8")
        return read_export([tmp_path], Known(), None, date(2024, 6, 30))

    return write_and_read


def works(records) -> list[tuple[str, str]]:
    return records.tables["feet"].select("foot", "work").rows()


def disciplines(records) -> list[str]:
    return records.tables["horses"]["discipline"].to_list()


AMBIGUOUS = {
    "work for the horse's and done for the foot's": ("Work", "Done"),
    "job for the horse's and work for the foot's": ("Job", "Work"),
    "work for both": ("Work", "Work"),
}


@pytest.mark.parametrize(("of_the_horse", "of_the_foot"), AMBIGUOUS.values(), ids=AMBIGUOUS)
def test_a_header_that_may_mean_two_columns_is_read_by_what_its_cells_say(read, of_the_horse, of_the_foot):
    records = read(book=FLAT.replace("Use", of_the_horse).replace("Done", of_the_foot))
    assert (works(records), disciplines(records)) == (FEET, ["eventing", "polo"])


def test_when_and_who_are_day_and_farrier_and_a_foot_alone_is_left_unread(read):
    """A foot alone may head sizes or ticks as well as work."""
    records = read(
        book="""
        When       | Horse | Yard | Use  | Who | Kind    | LF came in | LF done | Near fore | Off fore
        13/02/2024 | Ash   | Top  | Polo | Sam | routine | on         | new     | 5x3       | 5x3
    """
    )
    assert works(records) == [("LF", "fit_new")]
    assert records.tables["visits"].select("visit_date", "farrier").rows() == [(date(2024, 2, 13), "Sam")]


def test_and_how_it_was_read_is_said(read):
    assert '"Work" read as discipline' in read(book=FLAT.replace("Use", "Work")).taken[0].line()


def test_two_columns_that_can_only_mean_one_are_refused(read):
    with pytest.raises(Problem, match="columns 1 and 5 are both horse_name"):
        read(book=FLAT.replace("Farrier", "Name"))


TWO_LINES = {
    "the horse's headers beside the feet": """
        Horse | Yard | Use      | Date       | Kind    | NF      |      | OF      |       | Notes | Fee
              |      |          |            |         | Came in | Done | Came in | Done  |       |
        Ash   | Top  | Eventing | 13/02/2024 | routine | on      | new  | on      | refit | good  | 120
    """,
    "the horse's headers under them": """
              |      |          |            |         | NF      |      | OF      |       |       |
        Horse | Yard | Use      | Date       | Kind    | Came in | Done | Came in | Done  | Notes | Fee
        Ash   | Top  | Eventing | 13/02/2024 | routine | on      | new  | on      | refit | good  | 120
    """,
}


@pytest.mark.parametrize("drawn", TWO_LINES.values(), ids=TWO_LINES)
def test_a_header_of_two_lines_is_read_whole_with(read, drawn):
    records = read(book=drawn)
    assert works(records) == FEET[:2]
    assert records.tables["visits"].select("notes", "fee").rows() == [("good", 120.0)]
    assert records.warnings.is_empty()


def test_one_foot_alone_may_have_columns(read):
    records = read(book="Horse|Use|Date|Kind|LF came in|LF done \n Ash|Polo|13/02/2024|routine|on|new")
    assert works(records) == FEET[:1]


TOTALS = {
    "with the word first": "Total:    |   |   |   |   |   |   |   |   | 153",
    "with the word later": "          |   |   |   | Totals |   |   |   |   | 153",
    "of horses":           "Total horses: 2 |   |   |   |   |   |   |   |   |",
    "with a count by it":  "Total     | 2 |   |   |   |   |   |   |   | 153",
    "without a word":      "          |   |   |   |   |   |   |   |   | 153",
}  # fmt: skip


@pytest.mark.parametrize("last", TOTALS.values(), ids=TOTALS)
def test_a_row_of_totals_is_left_out_and_named(read, last):
    records = read(book=f"{FLAT.rstrip()}\n{last}")
    assert (works(records), records.set_aside.height) == (FEET, 0)
    assert records.warnings.select("source_row", "rule").rows() == [(5, "row_not_read")]


def test_a_row_that_tells_a_visit_and_two_feet_is_one_row_of_its_file(read):
    records = read(
        book="Horse|Use|Date|Kind|LF came in|LF done|RF came in|RF done \n Ash|polo|13/02/2024|routine|on|new|on|new"
    )
    assert (records.files["rows"].to_list(), records.rows_read["feet"]) == ([1], 2)


def test_a_horse_called_count_is_no_row_of_totals(read):
    records = read(book=FLAT.replace("Ash", "Count"))
    assert (works(records), records.warnings.height) == (FEET, 0)


def test_every_row_is_counted_for_each_table_it_feeds_and_a_repeat_is_a_copy(read):
    records = read(book=FLAT)
    assert records.rows_read == {"horses": 3, "visits": 3, "feet": 3, "losses": 0}
    assert records.collapsed == {"horses": 1, "visits": 1, "feet": 0, "losses": 0}
    assert records.files["rows"].to_list() == [3]


@pytest.mark.parametrize("keyed", [True, False], ids=["by their codes", "by their names"])
def test_horses_apart_and_told_again_on_each_foot_are_one(read, keyed):
    drawn = HORSES if keyed else "\n".join(line.split("|", 1)[1] for line in HORSES.strip().splitlines())
    records = read(Horses=drawn, book=FLAT)
    assert records.set_aside.is_empty()
    assert records.tables["horses"].select("horse_name", "foaled_year").rows() == [("Ash", 2010), ("Bay", 2011)]
    assert set(records.tables["visits"]["horse_id"]) == set(records.tables["horses"]["horse_id"])


def test_feet_that_repeat_their_horse_and_day_beside_sheets_of_visits_and_horses(read):
    feet = "\n".join("|".join(line.split("|")[at] for at in (0, 3, 6, 7, 8)) for line in FLAT.strip().splitlines())
    records = read(Horses=HORSES, Visits=VISITS, Feet=feet)
    assert records.set_aside.is_empty()
    assert records.tables["feet"].select("visit_id", "foot").rows() == [("V1", "LF"), ("V1", "RF"), ("V2", "LH")]
    assert records.rows_read["visits"] == 2


def test_a_horse_of_two_disciplines_is_set_aside_whole(read):
    records = read(
        book=FLAT.replace("Eventing | 13/02/2024 | A       | routine | OF", "Dressage|13/02/2024|A|routine|OF")
    )
    assert records.set_aside.filter(rule="same_key_twice")["source_row"].to_list() == [2, 3]
    assert works(records) == FEET[2:]


CHANGING = """
    Horse | Use      | Kg  | Date       | Kind    | Foot | Arrival | Done
    Ash   | Eventing | 500 | 2024-01-02 | routine | LF   | bare    | trim
    Bay   | Polo     | 450 | 2024-01-02 | routine | LF   | bare    | trim
    Ash   | Eventing | 510 | 2024-03-02 | routine | LF   | bare    | trim
    Ash   | Eventing |     | 2024-04-02 | routine | LF   | bare    | trim
    Ash   | Eventing | 500 | 2024-02-01 | routine | LF   | bare    | trim
"""


def test_what_a_horse_changed_in_is_taken_from_its_last_visit_that_tells_it_wherever_that_stands(read):
    records = read(book=CHANGING)
    assert records.set_aside.is_empty()
    assert records.tables["horses"].select("horse_name", "mass_kg").rows() == [("Ash", 510.0), ("Bay", 450.0)]
    assert records.warnings.select("source_row", "rule", "reason").rows() == [
        (2, "latest_taken", 'Ash: column "Kg" (mass_kg) says "500" and on the last visit "510": the last is taken')
    ]


def test_a_horse_told_in_two_ways_on_one_day_is_set_aside_and_the_column_is_named(read):
    records = read(book=CHANGING.replace("2024-02-01", "2024-03-02"))
    told = records.set_aside.filter(rule="same_key_twice")
    assert told["reason"].str.contains("the rows differ in mass_kg", literal=True).all()
    assert records.tables["horses"]["horse_name"].to_list() == ["Bay"]


def test_a_year_of_birth_that_changes_is_never_taken_from_the_last_visit(read):
    records = read(
        book=CHANGING.replace("Kg ", "Foaled").replace("500", "2010").replace("510", "2011").replace("450", "2012")
    )
    assert records.set_aside.filter(rule="same_key_twice").height == 4


WITH_LOSSES = """
    Horse | Use  | Date       | Kind      | Foot | Arrival | Done    | Lost       | Why
    Ash   | Polo | 2024-01-02 | routine   | LF   | bare    | fit new |            |
    Ash   | Polo | 2024-03-02 | lost shoe | LF   | off     | fit new | 20/02/2024 | caught
    Ash   | Polo | 2024-05-02 | lost shoe | LF   | off     | fit new |            | deep ground
"""


def test_a_row_a_foot_that_says_when_its_shoe_was_found_off_tells_a_loss_too(read):
    records = read(book=WITH_LOSSES)
    assert records.taken[0].says == "one row a foot, visits, horses and losses folded in"
    assert records.tables["losses"].select("foot", "found_off", "cause").rows() == [("LF", date(2024, 2, 20), "caught")]
    assert records.set_aside.select("table_name", "source_row", "rule", "column_name").rows() == [
        ("losses", 4, "required", "found_off")
    ]
    assert (works(records), records.rows_read["losses"]) == ([("LF", "fit_new")] * 3, 2)


def test_a_column_lost_that_holds_no_days_is_left_unread_and_named(read):
    records = read(book=WITH_LOSSES.replace("20/02/2024", "yes"))
    assert records.taken[0].unknown == ("Lost", "Why")
    assert (records.tables["losses"].height, records.set_aside.height) == (0, 0)


def test_changes_that_were_tried_come_in_by_name_and_their_notes_stay_private(read):
    records = read(
        book=FLAT,
        Changes="""
            Horse | Yard | Foot      | Date       | What            | Note
            Ash   | Top  | all four  | 13/02/2024 | heels closer    | owner cross
            Bay   | Top  | near hind | 14/02/2024 | toe set back    |
            Cob   | Top  | LF        | 14/02/2024 | wider           |
            Ash   | Top  |           | 13/02/2024 | nothing else    |
        """,
    )
    told = records.tables["changes"].select("horse_id", "foot", "changed_on", "what", "note").rows()
    assert told == [
        ("ash, top", "all", date(2024, 2, 13), "heels closer", "owner cross"),
        ("bay, top", "LH", date(2024, 2, 14), "toe set back", None),
    ]
    assert records.set_aside.select("source_row", "rule").rows() == [(4, "unknown_horse"), (5, "required")]
    assert records.rows_read["changes"] == 4


def test_a_foot_row_of_all_feet_is_still_refused(read):
    assert "one row is one foot" in read(book=FLAT.replace("NF ", "all")).set_aside["reason"][0]


def test_a_discipline_that_goes_back_and_forth_is_of_two_horses_rather_and_is_never_taken_from_the_last(read):
    back = CHANGING.replace("Eventing | 510", "Polo | 500").replace("500", "510")
    told = read(book=back).set_aside.filter(rule="same_key_twice")
    assert told["reason"].str.contains("differ in discipline", literal=True).all()
    once = CHANGING.replace("Eventing |     | 2024-04-02", "Polo | 510 | 2024-04-02").replace("500", "510")
    records = read(book=once)
    assert disciplines(records) == ["polo", "polo"]
    assert "if they are two horses, say in a layout file" in records.warnings.filter(rule="latest_taken")["reason"][0]


def test_a_name_in_capitals_now_and_then_is_the_same_name(read):
    records = read(book=FLAT.replace("Ash   | Top  | Eventing | 13/02/2024 | A       | routine | OF", "ASH | TOP | "
                                     "Eventing | 13/02/2024 | A | routine | OF"))  # fmt: skip
    assert (works(records), records.tables["horses"]["horse_name"].to_list()) == (FEET, ["Ash", "Bay"])


UNITS = """
    Horse | Use  | Weight (lbs) | Height (cm) | Date       | Kind    | Hours | Travel (miles) | Foot | Arrival | Done | Toe in (cm) | Toe out
    Ash   | Polo | 1100         | 158         | 2024-01-02 | routine | 1.5   | 12             | LF   | bare    | trim | 8.4         | 8.1 cm
    Ash   | Polo | 499 kg       | 158         | 2024-01-02 | routine | 1.5   | 12             | RF   | bare    | trim | 84 mm       | 81
"""  # noqa: E501


def test_a_unit_that_a_header_names_is_that_of_its_bare_numbers(read):
    records = read(book=UNITS.replace("499 kg", "1100"))
    assert records.set_aside.is_empty()
    assert records.tables["horses"].select("mass_kg", "height_hands").rows() == [(498.951607, "15.2")]
    assert records.tables["visits"].select("minutes", "travel_km").rows() == [(90.0, 19.312128)]
    assert records.tables["feet"].select("toe_arrival_mm", "toe_leaving_mm").rows() == [(84.0, 81.0)] * 2


def test_a_unit_of_a_layout_file_goes_back_with_the_row_that_is_set_aside(tmp_path):
    records = read_with(tmp_path, UNITS.replace("499 kg", "1100"), '[units]\ntoe_leaving_mm = "cm"\n')
    rows = records.set_aside.filter(table_name="feet")["row_json"].to_list()
    assert len(rows) == 1
    assert '"toe_leaving_mm":"81 cm"' in rows[0]


def test_a_practice_that_measures_in_inches_may_write_a_fraction_either_way(tmp_path):
    told = with_column(FLAT, "Toe in", ["3.25", "3 1/4", "3¼"])
    records = read_with(tmp_path, told, '[units]\ntoe_arrival_mm = "in"\n')
    assert records.tables["feet"]["toe_arrival_mm"].to_list() == [82.55] * 3


def test_one_day_that_cannot_be_read_does_not_hide_the_losses_of_a_sheet(read):
    told = WITH_LOSSES.replace("fit new |            |\n", "fit new | Tues       | caught\n", 1)
    records = read(book=told)
    assert records.tables["losses"]["found_off"].to_list() == [date(2024, 2, 20)]
    assert records.set_aside.filter(table_name="losses", rule="cannot_read")["value"].to_list() == ["Tues"]


def test_a_layout_file_leaves_a_column_out_and_names_those_of_a_foot(tmp_path):
    records = read_with(
        tmp_path, with_column(FLAT, "Coat", ["bay", "", ""]), '[headers]\n"Angle in" = ""\n"Coat" = ""\n'
    )
    assert records.tables["feet"]["angle_arrival_deg"].null_count() == 3
    assert records.taken[0].unknown == ()
    drawn = """
        Horse | Use  | Date       | Kind    | LF Came in | LF Done | RF Came in | RF Done | Left front Eisen | Right front Eisen
        Ash   | Polo | 2024-01-02 | routine | bare       | fit new | bare       | fit new | bar              | plain
    """  # noqa: E501
    wide = read_with(
        tmp_path, drawn, '[headers]\n"Left front Eisen" = "shoe_style"\n"Right front Eisen" = "shoe_style"\n'
    )
    assert wide.tables["feet"].select("foot", "shoe_style").rows() == [("LF", "bar"), ("RF", "plain")]


@pytest.mark.parametrize(
    ("data", "said"),
    [
        ('\ufeff[dates]\norder = "day-first"\n'.encode(), None),
        ("[dates]\norder = “day-first”\n".encode(), "“ is no quotation mark here"),
        ("# Hufeisen für\n".encode("cp1252"), "no plain text in UTF-8"),
    ],
)
def test_a_layout_file_of_another_program_is_read_or_says_what_is_wrong_with_it(tmp_path, data, said):
    (tmp_path / "practice.toml").write_bytes(data)
    if said is None:
        assert read_practice(tmp_path / "practice.toml").dates == "day-first"
        return
    with pytest.raises(Problem, match=said):
        read_practice(tmp_path / "practice.toml")


def test_a_visit_told_with_and_without_its_farrier_is_one_visit(read):
    told = FLAT.replace("13/02/2024 | A       | routine | OF", "13/02/2024 |         | routine | OF")
    records = read(book=told)
    assert (works(records), records.set_aside.height) == (FEET, 0)
    assert records.tables["visits"].select("visit_id", "farrier").rows()[0] == ("ash, top, 2024-02-13, a", "A")
    assert records.tables["visits"].height == 2


def test_one_misspelt_repeat_is_taken_as_the_others_have_it_and_named(read):
    records = read(
        book=FLAT.replace("Eventing | 13/02/2024 | A       | routine | OF", "Evntng|13/02/2024|A|routine|OF")
    )
    assert (works(records), disciplines(records)) == (FEET, ["eventing", "polo"])
    assert records.warnings.select("source_row", "rule", "value").rows() == [(3, "told_otherwise", "Evntng")]


def test_a_line_that_does_not_fit_the_header_does_not_take_its_visit_with_it(read, tmp_path):
    rows = lines(FLAT)
    text = "\n".join(",".join(row) for row in [rows[0], rows[1][:-1], *rows[2:]])
    (tmp_path / "book.csv").write_text(text, encoding="utf-8")
    records = read()
    assert works(records) == FEET[1:]
    assert records.set_aside.select("table_name", "source_row", "rule").rows() == [("feet", 2, "wrong_cell_count")]


def test_a_row_that_names_no_horse_says_so_in_words_of_the_sheet(read):
    records = read(book=FLAT.replace("Bay   |", "      |"))
    told = records.set_aside.filter(table_name="feet")["reason"].to_list()
    assert told == ["the row does not say which horse it is about: fill in its name"]


@pytest.mark.parametrize("lacking", ["Date", "Done", "Kind"])
def test_a_column_that_a_sheet_cannot_do_without_is_named(read, lacking):
    with pytest.raises(Problem, match={"Date": "visit_date", "Done": "work", "Kind": "visit_kind"}[lacking]) as problem:
        read(book=FLAT.replace(lacking, "Other thing"))
    assert str(problem.value).startswith("book.csv was taken for one row a foot")
    assert 'nothing is understood by "Other thing"' in str(problem.value)


def test_of_a_sheet_without_a_kind_of_visit_is_said_what_to_type_and_no_other_header_is_named(read):
    with pytest.raises(Problem, match=r'what it always is, like visit_kind = "routine" under \[defaults\]') as problem:
        read(book=with_column(without_column(FLAT, "Kind"), "Nails per shoe", ["6", "6", "7"]))
    assert "Nails" not in str(problem.value)


def test_a_month_alone_is_told_of_the_store_first_and_a_folder_of_one_that_it_is_no_file(tmp_path):
    (tmp_path / "may.csv").write_text(as_csv(without_column(FLAT, "Use")), encoding="utf-8")
    with pytest.raises(Problem, match="if your store holds them already, name that store with --store; if not, add a"):
        read_export([tmp_path / "may.csv"], Known(), None, date(2024, 6, 30))
    known = Known(pl.Series("horse_id", ["H1"]))
    with pytest.raises(Problem, match="if your store holds them already, give the file itself and not its folder"):
        read_export([tmp_path], known, None, date(2024, 6, 30))


def without_column(drawn: str, header: str) -> str:
    lines = [[cell.strip() for cell in line.split("|")] for line in drawn.strip().splitlines()]
    at = lines[0].index(header)
    return "\n".join(" | ".join(line[:at] + line[at + 1 :]) for line in lines)


def test_an_export_of_headers_alone_is_read(read):
    records = read(horses="horse_id|horse_name|discipline", visits="visit_id|horse_id|visit_date|visit_kind",
                   feet="visit_id|foot|arrival|work")  # fmt: skip
    assert records.rows_read == {"horses": 0, "visits": 0, "feet": 0, "losses": 0}


def test_a_flat_sheet_without_a_discipline_says_what_to_add_and_a_layout_file_may_say_what_it_always_is(read, tmp_path):
    with pytest.raises(Problem, match=r"book\.csv names its horses and no sheet tells of them: if your store holds"):
        read(book=FLAT.replace("Use", "Coat"))
    (tmp_path / "practice.toml").write_text('[defaults]\ndiscipline = "polo"\n', encoding="utf-8")
    records = read_export([tmp_path / "book.csv"], Known(), None, date(2024, 6, 30), layout=tmp_path / "practice.toml")
    assert disciplines(records) == ["polo", "polo"]


def with_column(drawn: str, header: str, cells: list[str]) -> str:
    first, *rest = drawn.strip().splitlines()
    return "\n".join([f"{first} | {header}", *(f"{line} | {text}" for line, text in zip(rest, cells, strict=True))])


def test_one_chip_at_two_horses_is_doubted_with_the_way_out(read):
    records = read(book=with_column(FLAT, "Chip", ["985102001234567"] * 3))
    doubts = records.warnings.filter(rule="one_number_two_horses")
    assert doubts["source_row"].to_list() == [2, 4]
    assert "say so in a layout file under [horses]" in doubts["reason"][0]


def test_a_chip_told_again_for_the_same_horse_is_no_doubt(read):
    assert read(book=with_column(FLAT, "Chip", ["985102001234567"] * 2 + [""])).warnings.is_empty()


def test_two_horses_of_one_name_in_one_yard_are_told_the_way_out(read):
    records = read(book=with_column(FLAT, "Foaled", ["2010", "2015", "2011"]))
    reasons = records.set_aside.filter(rule="same_key_twice")["reason"]
    way_out = "if they are two horses, give each a horse_id or say in a layout file what tells them apart"
    assert reasons.str.ends_with(way_out).to_list() == [True, True]


def read_with(folder, drawn, layout):
    (folder / "practice.toml").write_text(layout, encoding="utf-8")
    rows = [",".join(cell.strip() for cell in line.split("|")) for line in drawn.strip().splitlines()]
    (folder / "book.csv").write_text("\n".join(rows), encoding="utf-8")
    return read_export([folder / "book.csv"], Known(), None, date(2024, 6, 30), layout=folder / "practice.toml")


def test_a_layout_file_says_what_tells_two_horses_of_one_name_apart(tmp_path):
    told = with_column(FLAT, "Foaled", ["2010", "2015", "2011"])
    with pytest.raises(Problem, match='line 2: "foaled" is no column of horses'):
        read_with(tmp_path, told, '[horses]\napart = [["Ash, Top", "foaled"]]\n')
    records = read_with(tmp_path, told, '[horses]\napart = [["Ash, Top", "foaled_year"]]\n')
    assert records.set_aside.is_empty()
    assert records.tables["horses"].select("horse_id", "foaled_year").rows() == [
        ("ash, top, 2010", 2010), ("ash, top, 2015", 2015), ("bay, top", 2011),
    ]  # fmt: skip
    ids = records.tables["feet"].join(records.tables["visits"], on="visit_id", maintain_order="left")["horse_id"]
    assert ids.to_list() == ["ash, top, 2010", "ash, top, 2015", "bay, top"]


def test_the_job_on_a_foot_is_its_work_and_that_of_the_horse_its_discipline(read):
    records = read(
        book="""
        Date       | Horse | Yard | Job  | Kind    | Near fore found | Near fore job
        13/02/2024 | Ash   | Top  | Polo | routine | on              | new
    """
    )
    assert works(records) == [("LF", "fit_new")]
    assert disciplines(records) == ["polo"]
