"""With the order of days declared, one that fits only the other way round is taken and doubted."""

from datetime import date

import pytest

from pipelines.intake import read_export
from schemas.records import Known
from tests.intake.conftest import as_csv

BOOK = """
    Horse | Use  | Date     | Type    | Leg | On arrival | Work done
    Ash   | polo | {}       | routine | LF  | bare       | trim
"""


@pytest.mark.parametrize(
    ("declared", "written", "taken", "says"),
    [
        ("day-first", "05/13/26", date(2026, 5, 13), "13 May although these days are written day first"),
        ("month-first", "13/05/26", date(2026, 5, 13), "13 May although these days are written month first"),
        ("day-first", "13/05/26", date(2026, 5, 13), None),
        ("month-first", "05/13/26", date(2026, 5, 13), None),
        (None, "05/13/26", date(2026, 5, 13), None),
    ],
)
def test_a_day_that_fits_only_the_other_way_round_is_accepted_and_to_be_looked_at(
    tmp_path, declared, written, taken, says
):
    (tmp_path / "book.csv").write_text(as_csv(BOOK.format(written)), encoding="utf-8")
    records = read_export([tmp_path / "book.csv"], Known(), None, date(2026, 6, 30), dates=declared)
    assert records.tables["visits"]["visit_date"].to_list() == [taken]
    doubts = records.warnings.filter(rule="read_with_doubt")["reason"].to_list()
    assert len(doubts) == (says is not None)
    assert all(f'"{written}", which can only be {says}' in doubt for doubt in doubts)
