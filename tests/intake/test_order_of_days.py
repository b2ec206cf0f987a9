"""Days that can be read two ways: settled by the file, by the others of its export, or asked for."""

from datetime import datetime

import pytest

from pipelines.intake import read_export
from schemas.problem import Problem
from schemas.records import Known
from tests.intake.conftest import TODAY, as_csv

HEAD = "Horse | Use | Date | Type | Leg | On arrival | Work done"


@pytest.fixture
def visits(tmp_path):
    """Read one export of several files, each a horse with a visit on each of these days; the visits' days, sorted."""

    def read(dates=None, **files: list[str]):
        for name, days in files.items():
            rows = [f"{name} | polo | {day} | routine | LF | bare | trim" for day in days]
            (tmp_path / f"{name}.csv").write_text(as_csv("\n".join([HEAD, *rows])), encoding="utf-8")
        records = read_export([tmp_path], Known(), None, TODAY, dates=dates)
        return sorted(day.isoformat() for day in records.tables["visits"]["visit_date"])

    return read


def test_a_year_in_two_digits_that_may_stand_first_or_last_is_asked_for(visits):
    with pytest.raises(Problem, match=r"a\.csv: nothing tells whether days like 25/03/15 begin or end with their year"):
        visits(a=["25/03/15", "25/04/20"])


@pytest.mark.parametrize(
    "days",
    [["12/06/25", "19/06/25", "24/06/25"], ["15/03/25"], ["23/06/24", "19/07/24", "24/06/25", "17/03/25"]],
    ids=" ".join,
)
def test_days_that_lie_closer_together_with_the_year_last_end_with_it_and_it_is_said(tmp_path, days):
    rows = [f"Ash | polo | {day} | routine | LF | bare | trim" for day in days]
    (tmp_path / "a.csv").write_text(as_csv("\n".join([HEAD, *rows])), encoding="utf-8")
    records = read_export([tmp_path], Known(), None, TODAY)
    read = records.tables["visits"]["visit_date"].to_list()
    assert sorted(read) == sorted(datetime.strptime(day, "%d/%m/%y").date() for day in days)  # noqa: DTZ007
    [(file, why)] = records.warnings.filter(rule="year_taken_last").select("source_file", "reason").rows()
    assert file == "a.csv"
    assert why.startswith(f"days like {min(days)} are taken to end with their year")


@pytest.mark.parametrize(
    "days", [["24/03/25"], ["24/06/25", "25/06/24"], ["25/03/15", "25/03/16", "25/04/22"]], ids=" ".join
)
def test_days_that_lie_as_close_together_with_the_year_first_are_asked_for(visits, days):
    with pytest.raises(Problem, match=r"nothing tells whether days like .* begin or end with their year"):
        visits(a=days)


def test_days_told_by_one_that_can_only_end_with_its_year_are_no_doubt(tmp_path):
    rows = [f"Ash | polo | {day} | routine | LF | bare | trim" for day in ("12/06/25", "13/06/2025")]
    (tmp_path / "a.csv").write_text(as_csv("\n".join([HEAD, *rows])), encoding="utf-8")
    assert read_export([tmp_path], Known(), None, TODAY).warnings.filter(rule="year_taken_last").is_empty()


def test_one_day_that_can_only_end_with_its_year_settles_it_in_the_whole_export(visits):
    assert visits(a=["25/03/15"], b=["31/03/15"]) == ["2015-03-25", "2015-03-31"]


@pytest.mark.parametrize("other", ["3/4/15", "28/3/15", "25/03/2015"])
def test_so_does_a_day_in_one_digit_or_a_year_in_four(visits, other):
    assert visits(a=["25/03/15", "25/04/20", other])[-1] == "2020-04-25"


def test_a_day_that_is_the_same_either_way_needs_nothing(visits):
    assert visits(a=["25/1/25"]) == ["2025-01-25"]


def test_and_so_does_the_person(visits):
    assert visits("day-first", a=["25/03/15"]) == ["2015-03-25"]


MANY = ["3/4/2025", "5/4/2025", "6/4/2025", "7/4/2025"]


@pytest.mark.parametrize(("odd", "ways"), [("04/13/2025", ("month", "day")), ("13/04/2025", ("day", "month"))])
def test_one_odd_day_does_not_turn_a_file_round_against_the_others(visits, odd, ways):
    others = ["13/3/2025", "14/3/2025"] if ways[1] == "day" else ["3/13/2025", "3/14/2025"]
    said = f"b.csv: {odd} can only be written {ways[0]} first, and the other files write {ways[1]} first: mend that day"
    with pytest.raises(Problem, match=said):
        visits(a=others, b=[*MANY, odd])


def test_a_file_whose_days_say_so_more_than_once_is_written_its_own_way(visits):
    assert visits(a=["13/3/2025"], b=["3/4/2025", "4/13/2025", "4/14/2025"])[0] == "2025-03-04"


def test_one_odd_day_among_days_that_need_no_order_is_read(visits):
    assert visits(a=["13/3/2025"], b=["2025-03-04", "04/13/2025"]) == ["2025-03-04", "2025-03-13", "2025-04-13"]


@pytest.mark.parametrize(("cell", "asks"), [("3 May", True), ("May 3rd", True), ("3/5", True), ("10 lost", False)])
def test_only_a_day_without_its_year_is_asked_for_its_year(visits, tmp_path, cell, asks):
    (tmp_path / "a.csv").write_text(as_csv(f"{HEAD}\nAsh | polo | {cell} | routine | LF | bare | trim"))
    why = read_export([tmp_path], Known(), None, TODAY).set_aside.filter(column_name="visit_date")["reason"][0]
    assert ("write the year too" in why) == asks


FLAT = "Horse | Yard | Use | Date | Type | Leg | On arrival | Work done"


@pytest.mark.parametrize("many", [1, 2, 3, 6])
def test_a_day_of_a_flat_sheet_counts_once_though_its_feet_carry_it_too(tmp_path, many):
    typed = [f"{at + 1:02}/{at + 2:02}/2025" for at in range(many)]
    for name, days in (("a", [f"{day}/01/2025" for day in range(13, 20)]), ("b", [*typed, "04/13/2025"])):
        rows = [f"{name} | Low | polo | {day} | routine | {leg} | bare | trim" for day in days for leg in ("LF", "RF")]
        (tmp_path / f"{name}.csv").write_text(as_csv("\n".join([FLAT, *rows])), encoding="utf-8")
    with pytest.raises(Problem, match=r"b\.csv: 04/13/2025 can only be written month first"):
        read_export([tmp_path], Known(), None, TODAY)
