"""A report of rows set aside is never lost, comes back as it was meant, and each command that is printed can be run."""

import csv
import shlex
from pathlib import Path

import pytest

BOOK = """Horse,Yard,Use,Date,Farrier,Kind,Leg,Came in,Done,Fee
Ash,Top,Eventing,13/02/2024,A,routine,NF,on,refit,90
Ash,Top,Eventing,03/04/2024,A,routine,OF,on,refit,cash
"""


@pytest.fixture
def book(tmp_path, monkeypatch) -> Path:
    monkeypatch.chdir(tmp_path)
    Path("book.csv").write_text(BOOK, encoding="utf-8")
    return Path("book.csv")


def rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize("name", ["mend.csv", "mend.xlsx"])
def test_a_report_is_written_over_only_where_it_says_the_same(shoeing, book, name):
    Path(name).write_bytes(b"")
    assert shoeing("check", book, "--report", name).code == 1
    assert shoeing("check", book, "--report", name).code == 1, "the same rows make the same file"
    written = Path(name).read_bytes()
    book.write_text(BOOK.replace("cash", "card"), encoding="utf-8")
    said = shoeing("check", book, "--report", name)
    assert said.code == 2
    other = name.replace("mend", "mend-2")
    assert f"{name} is there already and may hold what you mended: name a new file, like {other}" in said.err
    assert Path(name).read_bytes() == written
    assert not Path(other).exists()


def printed(out: str) -> list[list[str]]:
    return [shlex.split(line)[1:] for line in out.splitlines() if line.startswith("  shoeing ")]


def test_the_next_step_names_a_file_that_is_not_there_yet(shoeing, book):
    [command] = printed(shoeing("check", book).out)
    assert command[-2:] == ["--report", "mend.xlsx"]
    shoeing(*command)
    shoeing("publish", book, "--store", "s.duckdb", "--site", "site")
    [command] = printed(shoeing("check", "mend.xlsx", "--dates", "day-first", "--store", "s.duckdb").out)
    assert command == [
        "check", "mend.xlsx", "--dates", "day-first", "--store", "s.duckdb", "--report", "mend-2.xlsx",
    ]  # fmt: skip
    assert shoeing(*command).code == 1
    assert Path("mend-2.xlsx").exists()


def test_after_a_publish_the_whole_command_stands_there_that_says_what_was_set_aside(shoeing, book):
    Path("mine.toml").write_text('[headers]\n"Fee" = "fee"\n', encoding="utf-8")
    said = shoeing("publish", book, "--store", "s.duckdb", "--site", "site", "--layout", "mine.toml")
    [command] = printed(said.out)
    assert command == ["check", "book.csv", "--layout", "mine.toml", "--store", "s.duckdb"]
    said = shoeing(*command)
    assert (said.code, "cash" in said.out) == (1, True)


def test_the_demo_names_no_command_for_files_that_nobody_has(shoeing, book):
    assert "shoeing check" not in shoeing("demo", "--site", "site").out


def test_a_day_that_only_other_rows_tell_the_order_of_comes_back_as_it_was_meant(shoeing, book):
    report = Path("mend.csv")
    shoeing("check", book, "--report", report)
    assert {row["visit_date"] for row in rows(report)} == {"2024-04-03"}
    report.write_text(report.read_text(encoding="utf-8-sig").replace("cash", "80"), encoding="utf-8")
    places = ["--store", "s.duckdb", "--site", "site"]
    assert shoeing("publish", book, *places).code == 1
    assert shoeing("publish", report, *places).code == 0
    said = shoeing("check", "book.csv", "--store", "s.duckdb")
    assert said.code == 1


def test_a_report_names_the_row_it_is_about_and_the_reasons_stay_last(shoeing, book):
    report = Path("mend.csv")
    shoeing("check", book, "--report", report)
    found = rows(report)
    assert list(found[0])[-2:] == ["row of your records", "set aside because"]
    assert {row["row of your records"] for row in found} == {"book.csv row 3"}
    shoeing("publish", book, "--store", "s.duckdb", "--site", "site")
    said = shoeing("check", report, "--store", "s.duckdb")
    assert "mend.csv (visits): one row a visit" in said.out
    assert "row of your records" not in said.out
    assert "not understood" not in said.out
