from datetime import date

import pytest

from pipelines.intake.export import read_export
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


def test_minutes_that_may_be_hours_are_taken_and_named(taken):
    records = taken("Bramble,Low,dressage,,15.2,2024-11-23,routine,1.15,LF,on,reset,0,5")
    assert records.warnings.filter(rule="unusual_value")["column_name"].to_list() == ["minutes"]
