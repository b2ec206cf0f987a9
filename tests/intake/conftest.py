"""A small made-up practice, drawn; each test redraws the table it is about and reads the whole as an export."""

import csv
import io
from datetime import date

import pytest

from pipelines.intake import read_export
from schemas.records import Known

PRACTICE = {
    "horses": """
        horse_id | horse_name  | discipline
        H1       | Made Up Ash | eventing
        H2       | Made Up Bay | dressage
    """,
    "visits": """
        visit_id | horse_id | visit_date | visit_kind
        V1       | H1       | 2025-01-01 | routine
        V2       | H1       | 2025-02-12 | routine
        V3       | H2       | 2025-01-02 | first
    """,
    "feet": """
        visit_id | foot | arrival | work
        V1       | LF   | bare    | fit_new
        V2       | LF   | on      | reset
        V3       | RH   | bare    | trim
    """,
    "losses": """
        loss_id | horse_id | foot | found_off
        L1      | H1       | LF   | 2025-02-01
    """,
}
TODAY = date(2025, 6, 30)


def cells(drawn: str) -> list[list[str]]:
    return [[cell.strip() for cell in line.split("|")] for line in drawn.strip().splitlines()]


def as_csv(drawn: str) -> str:
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows(cells(drawn))
    return text.getvalue()


@pytest.fixture
def export(tmp_path):
    """Write the practice, with the named tables drawn anew, as CSV files into a folder. None leaves a table out."""

    def write(folder: str = "export", **drawn: str | None):
        (tmp_path / folder).mkdir()
        for table, text in (PRACTICE | drawn).items():
            if text is not None:
                (tmp_path / folder / f"{table}.csv").write_text(as_csv(text), encoding="utf-8")
        return tmp_path / folder

    return write


@pytest.fixture
def read(export):
    """Write and read it; options go to read_export."""

    def write_and_read(as_of=None, today=TODAY, known=None, **drawn):
        return read_export([export(**drawn)], known or Known(), as_of, today)

    return write_and_read


def told(findings) -> list[str]:
    """Each finding as a person reads it."""
    return [f"{file} row {row}: {why}" for file, row, why in findings["source_file", "source_row", "reason"].rows()]


@pytest.fixture
def set_aside(read):
    return lambda **changes: told(read(**changes).set_aside)


@pytest.fixture
def doubted(read):
    return lambda **changes: told(read(**changes).warnings)
