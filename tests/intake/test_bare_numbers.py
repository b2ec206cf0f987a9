"""A bare number among cells in another unit, and a mark with three digits behind it: read in one way only, or asked."""

import csv
import re
from datetime import date

import pytest

from pipelines.intake import read_export
from schemas.records import Known

TODAY = date(2026, 11, 25)
HEADER = ["Horse", "Use", "Date", "Kind", "Leg", "Came in", "Done"]


@pytest.fixture
def read(tmp_path):
    """Read a book with one column more, a horse a row; lay: a layout file."""

    def write_and_read(header, cells, lay=None, **more):
        columns = {header: cells, **more}
        with (tmp_path / "book.csv").open("w", encoding="utf-8", newline="") as book:
            writer = csv.writer(book, delimiter=";")
            writer.writerow([*HEADER, *columns])
            for at, own in enumerate(zip(*columns.values(), strict=True)):
                writer.writerow([f"Made Up {at}", "polo", "2024-01-02", "routine", "LF", "bare", "trim", *own])
        (tmp_path / "practice.toml").write_text(lay or "", encoding="utf-8")
        layout = tmp_path / "practice.toml" if lay else None
        return read_export([tmp_path / "book.csv"], Known(), None, TODAY, layout=layout)

    return write_and_read


def masses(records):
    return records.tables["horses"]["mass_kg"].to_list()


def own_reasons(records):
    """Row, column and reason of each cell that was not read, the reason from what the cell says on."""
    aside = records.set_aside.filter(rule="cannot_read").select("source_row", "column_name", "reason").rows()
    return [(row, column, reason[reason.index('says "') :]) for row, column, reason in aside]


POUNDS = ["1100 lb", "1,080 lbs", "1050 lb"]


def test_a_bare_weight_among_pounds_is_set_aside_and_told_what_to_write(read):
    records = read("Weight", [*POUNDS, "1150"])
    assert masses(records) == [498.951607, 489.87976, 476.271989]
    assert own_reasons(records) == [
        (5, "mass_kg", 'says "1150 (no unit, others in lb)": write 1150 lb or 1150 kg, or say the unit in a '
         "layout file")
    ]  # fmt: skip


@pytest.mark.parametrize("bare", ["500", "c. 500", "500.0"])
def test_so_is_one_that_would_do_as_kilograms_too(read, bare):
    assert [row for row, _, _ in own_reasons(read("mass_kg", [*POUNDS, bare]))] == [5]


def test_a_layout_file_or_the_header_says_what_the_bare_ones_are_in(read):
    assert masses(read("Weight", [*POUNDS, "1100"], lay='[units]\nmass_kg = "lb"\n'))[3] == 498.951607
    assert masses(read("Weight", [*POUNDS, "500"], lay='[units]\nmass_kg = "kg"\n'))[3] == 500.0
    assert masses(read("Weight (kg)", [*POUNDS, "500"]))[3] == 500.0
    assert masses(read("Weight (lbs)", [*POUNDS, "1100"]))[3] == 498.951607


def test_a_toe_that_can_only_be_in_the_unit_of_the_others_is_taken_so_and_named(read):
    records = read("Toe in", ["8,2 cm", "8,5 cm", "8,4", "84"])
    assert records.tables["feet"]["toe_arrival_mm"].to_list() == [82.0, 85.0, 84.0, 84.0]
    assert records.warnings.select("source_row", "rule").rows() == [(4, "read_with_doubt")]
    taken = 'says "8,4" without a unit among cells in cm: taken as 84 mm, the row is kept, look again'
    assert records.warnings["reason"][0].endswith(taken)


@pytest.mark.parametrize(
    ("header", "column", "cells", "value"),
    [
        ("Next", "planned_weeks", ["42 days", "35 days", "42"], 6.0),
        ("Next", "planned_weeks", ["42 days", "35 days", "6"], 6.0),
        ("Time", "minutes", ["1.5 h", "2 hrs", "45"], 45.0),
        ("Branch", "branch_past_heel_mm", ["1/4 in", "3/8 in", "0"], 0.0),
        ("Web", "web_mm", ["7/8 in", "3/4 in", "22"], 22.0),
        ("Web", "web_mm", ["7/8 in", "3/4 in", "1"], 25.4),
    ],
)
def test_one_reading_that_is_possible_is_taken(read, header, column, cells, value):
    records = read(header, cells)
    table = "visits" if column in ("planned_weeks", "minutes") else "feet"
    assert records.tables[table][column][2] == value


@pytest.mark.parametrize(
    ("header", "cells"),
    [
        ("Travel", ["12 miles", "8 miles", "10"]),
        ("Next", ["42 days", "35 days", "14"]),
        ("Time", ["1.5 h", "2 hrs", "2"]),
        ("Branch", ["1/4 in", "3/8 in", "0.5"]),
        ("Weight", ["80 stone", "1100 lb", "95"]),
    ],
)
def test_where_both_are_possible_nothing_is_guessed(read, header, cells):
    assert [row for row, _, _ in own_reasons(read(header, cells))] == [4]


def test_where_most_are_bare_and_of_the_declared_units_size_they_stay_as_they_are(read):
    records = read("Weight", ["500", "480", "1100 lb", "520", "505"])
    assert masses(records) == [500.0, 480.0, 498.951607, 520.0, 505.0]
    assert records.warnings.is_empty()


def test_where_most_are_bare_and_of_the_other_units_size_they_are_asked_about(read):
    assert [row for row, _, _ in own_reasons(read("Weight", ["1100", "1080", "1100 lb", "1120"]))] == [2, 3, 5]


def test_a_few_cells_in_the_declared_unit_leave_a_bare_one_open(read):
    assert [row for row, _, _ in own_reasons(read("Weight", ["500 kg", "1100 lb", "1150 lb", "1080 lb", "600"]))] == [6]


def test_a_row_set_aside_for_want_of_a_unit_is_not_read_otherwise_when_it_comes_back_alone(read):
    row = read("Weight", [*POUNDS, "1150"]).set_aside.filter(rule="cannot_read")["row_json"][0]
    assert '"mass_kg":"1150 (no unit, others in lb)"' in row
    assert [row for row, _, _ in own_reasons(read("Weight", ["1150 (no unit, others in lb)"]))] == [2]


def fees(records):
    return records.tables["visits"]["fee"].to_list()


@pytest.mark.parametrize(
    ("fee", "others", "value"),
    [
        ("1.200", ["45,50", "60"], 1200.0),
        ("£1.050", ["45,50", "60"], 1050.0),
        ("1,200", ["45,50", "60"], 1.2),
        ("1,200", ["45.50", "60"], 1200.0),
        ("1.200", ["45.50", "60"], 1.2),
        ("1.050,25", ["60", "70"], 1050.25),
    ],
)
def test_three_digits_behind_a_mark_are_read_as_the_file_writes_its_other_numbers(read, fee, others, value):
    assert fees(read("Fee", [fee, *others]))[0] == value


def test_the_other_numbers_may_stand_in_any_column_of_the_file(read):
    records = read("Fee", ["1.200", "1.050"], **{"Angle in": ["52,5", "51"]})
    assert fees(records) == [1200.0, 1050.0]


@pytest.mark.parametrize("others", [["60", "70"], ["45,50", "45.50"]])
@pytest.mark.parametrize(
    ("fee", "use"), [("1.200", "1200 or 1.2"), ("1,050", "1050 or 1.05"), ("£1.234", "1234 or 1.2340")]
)
def test_where_a_file_shows_no_mark_or_both_such_a_fee_is_asked_about(read, fee, use, others):
    assert own_reasons(read("Fee", [fee, *others])) == [
        (2, "fee", f'says "{fee}": a thousand, or parts of one? write {use}')
    ]


def test_where_the_limits_leave_one_reading_it_is_taken_and_a_thousand_named(read):
    records = read("Travel", ["12.500", "3.250"], Weight=["1.150", "1,100 lb"], lay='[units]\nmass_kg = "kg"\n')
    assert records.tables["visits"]["travel_km"].to_list() == [12.5, 3.25]
    assert masses(records) == [1150.0, 498.951607]
    doubted = records.warnings.filter(rule="read_with_doubt")["value"].to_list()
    assert doubted == ["1.150 kg", "1,100 lb"]


def test_sums_in_two_kinds_of_money_are_never_added_up(read):
    records = read("Fee", ["£45", "50 GBP", "€60", "55", "60 euros"])
    assert fees(records) == [45.0, 50.0, 55.0]
    why = "two kinds of money in one column: write it in £"
    assert own_reasons(records) == [
        (4, "fee", f'says "€60 (others in £)": {why}'), (6, "fee", f'says "60 euros (others in £)": {why}'),
    ]  # fmt: skip


def test_one_kind_of_money_however_it_is_written_is_one(read):
    assert fees(read("Fee", ["€45,50", "50 EUR", "60 euros", "55 €", "40"])) == [45.5, 50.0, 60.0, 55.0, 40.0]


def test_weights_that_are_pounds_rather_though_no_cell_says_so_are_kept_and_named(read):
    records = read("Weight", ["1100", "980", "550"])
    assert masses(records) == [1100.0, 980.0, 550.0]
    assert records.warnings["source_row", "rule"].rows() == [(2, "unusual_value"), (3, "unusual_value")]


def test_a_part_of_nothing_is_no_span(read):
    says = 'says "½": of what? write the whole figure, with its unit where it has one'
    assert own_reasons(read("Fee", ["½"])) == [(2, "fee", says)]


OTHER_HEADERS = {
    "Miles": ("visits", "travel_km", {"52 ish": 83.685888, "30?": 48.28032, "about 5": 8.04672, ".5": 0.804672,
                                      "7½?": 12.07008}),
    "Weight (lbs)": ("horses", "mass_kg", {"1000 ish": 453.59237, "1'100": 498.951607, "1\u00a0050": 476.271989,
                                           "1,000 approx": 453.59237}),
    "Hours": ("visits", "minutes", {"about 1": 60.0, "1.5 ish": 90.0, "1½?": 90.0, ".5": 30.0}),
    "Toe in (cm)": ("feet", "toe_arrival_mm", {"8.4 ish": 84.0, "8,4?": 84.0}),
}  # fmt: skip


@pytest.mark.parametrize("header", OTHER_HEADERS)
def test_a_number_in_doubt_or_in_another_form_is_in_the_unit_of_its_header_too(read, header):
    table, column, said = OTHER_HEADERS[header]
    records = read(header, list(said))
    assert records.tables[table][column].to_list() == list(said.values())
    doubted = records.warnings.filter(rule="read_with_doubt")["source_row"].to_list()
    assert doubted == [row for row, cell in enumerate(said, start=2) if re.search(r"ish|\?|about|approx", cell)]


def test_a_number_in_doubt_among_cells_in_another_unit_is_asked_for(read):
    assert own_reasons(read("Travel", ["20 miles", "25 miles", "31 miles", "30 ish"])) == [
        (5, "travel_km", 'says "30 ish (no unit, others in miles)": write 30 ish miles or 30 ish km, or say the unit '
         "in a layout file")
    ]  # fmt: skip
