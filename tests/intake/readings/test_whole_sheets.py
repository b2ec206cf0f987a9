from datetime import date

import pytest

from pipelines.intake.export import read_export
from schemas.problem import Problem
from schemas.records import Known

TODAY = date(2026, 11, 25)
HEADER = "Horse,Yard,Use,Chip,Height,Seen on,Type,Mins,Foot,Shoe in,Done,Bruise,Branch"


@pytest.fixture
def taken(tmp_path):
    """Reads a flat sheet of these rows."""

    def take(*rows):
        (tmp_path / "book.csv").write_text("\n".join((HEADER, *rows)) + "\n", encoding="utf-8")
        return read_export([tmp_path / "book.csv"], Known(), None, TODAY)

    return take


def test_a_dash_for_the_chip_loses_neither_the_horse_nor_its_visits(taken):
    records = taken("Bramble,Low,dressage,-,n/a,2024-11-23,routine,45,LF,on,reset,0,5")
    assert [records.tables[name].height for name in ("horses", "visits", "feet")] == [1, 1, 1]
    assert records.set_aside.height == 0


@pytest.mark.parametrize("figure", ["9" * 400, "1e30", "9" * 5000])
def test_a_figure_longer_than_any_count_is_set_aside_and_the_load_goes_on(figure, taken):
    records = taken(
        f"Bramble,Low,dressage,,15.2,2024-11-23,routine,45,LF,on,reset,{figure},5",
        "Bramble,Low,dressage,,15.2,2024-11-23,routine,45,RF,on,reset,0,5",
    )
    assert records.tables["feet"]["foot"].to_list() == ["RF"]
    assert records.set_aside["column_name"].to_list() == ["bruise_grade"]


def test_a_clear_bruise_is_asked_about_and_its_row_set_aside(taken):
    records = taken("Bramble,Low,dressage,,15.2,2024-11-23,routine,45,LF,on,reset,clear,5")
    assert "0 or 2" in records.set_aside["reason"].item()


def test_a_sheet_with_two_digits_of_the_year_first_stops_the_load(taken):
    row = "Bramble,Low,dressage,,15.2,{},routine,45,LF,on,reset,0,5"
    with pytest.raises(Problem, match="two digits of the year first"):
        taken(row.format("24-11-23"), row.format("25-01-29"))


def test_minutes_that_may_be_hours_are_taken_and_named(taken):
    records = taken("Bramble,Low,dressage,,15.2,2024-11-23,routine,1.15,LF,on,reset,0,5")
    assert records.warnings.filter(rule="unusual_value")["column_name"].to_list() == ["minutes"]
