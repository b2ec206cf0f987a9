"""The day a record is read as of: given, or the last date on record, and never later than today."""

from datetime import date

import pytest

from schemas.problem import Problem
from schemas.records import Known

VISITS = """
    visit_id | horse_id | visit_date | visit_kind
    V1       | H1       | 2025-01-01 | routine
    V2       | H1       | {}         | routine
    V3       | H2       | 2025-01-02 | first
"""


def test_without_a_day_it_is_that_of_the_last_visit_on_record(read):
    assert read().as_of == date(2025, 2, 12)


def test_or_that_of_a_later_loss(read):
    assert read(losses="loss_id|horse_id|foot|found_off \n L1|H1|LF|2025-03-01").as_of == date(2025, 3, 1)


def test_the_store_may_hold_a_later_one(read):
    assert read(known=Known(last_date=date(2025, 4, 1))).as_of == date(2025, 4, 1)


def test_a_row_that_is_set_aside_does_not_make_the_day(read):
    records = read(losses="loss_id|horse_id|foot|found_off \n L1|H1|no foot|2025-03-01")
    assert records.as_of == date(2025, 2, 12)


def test_a_visit_after_today_is_set_aside_with_its_feet(set_aside):
    assert set_aside(visits=VISITS.format("2025-07-01")) == [
        "visits.csv row 3: visit_date 2025-07-01 is after 2025-06-30, today: mend the day, or send the row in again "
        "once that day has come",
        "feet.csv row 3: visit_id V2 is a visit that is set aside itself (visits.csv row 3): mend that row first",
    ]


def test_a_row_after_the_day_given_is_set_aside_and_one_on_it_is_not(set_aside):
    told = set_aside(
        as_of=date(2025, 2, 11),
        losses="loss_id|horse_id|foot|found_off \n L1|H1|LF|2025-02-11 \n L2|H1|RF|2025-02-12",
    )
    because = "is after 2025-02-11, the day the record is read as of"
    assert told == [
        f"visits.csv row 3: visit_date 2025-02-12 {because}",
        "feet.csv row 3: visit_id V2 is a visit that is set aside itself (visits.csv row 3): mend that row first",
        f"losses.csv row 3: found_off 2025-02-12 {because}",
    ]


def test_a_day_after_today_is_refused(read):
    with pytest.raises(Problem, match="--as-of 2025-07-01 is after today, 2025-06-30"):
        read(as_of=date(2025, 7, 1))


def test_a_foal_of_a_year_after_the_last_date_on_record_is_set_aside_though_that_year_has_begun(set_aside):
    told = set_aside(
        today=date(2026, 1, 31),
        horses="horse_id|horse_name|discipline|foaled_year \n H1|Made Up Ash|polo| \n H2|Made Up Bay|polo|2026",
        losses=None,
    )
    assert told[0] == (
        "horses.csv row 3: foaled_year 2026 is after the year the record is read as of: 1980 to 2025 is allowed"
    )


def test_where_no_day_can_be_read_it_is_today_and_every_reason_is_told(read):
    records = read(
        visits="visit_id|horse_id|visit_date|visit_kind \n V1|H1|some day|routine", losses=None,
        feet="visit_id|foot|arrival|work \n V1|LF|bare|trim",
    )  # fmt: skip
    assert (records.as_of, records.set_aside.height) == (date(2025, 6, 30), 2)


@pytest.mark.parametrize("day", ["1925-02-12", "12 Feb 1925", "1 Jan 70"])
def test_a_visit_decades_before_the_others_is_kept_and_its_year_doubted(read, day):
    records = read(visits=VISITS.format(day))
    assert (records.tables["visits"].height, records.set_aside.height) == (3, 0)
    assert records.warnings.select("source_row", "rule", "column_name").rows() == [(3, "long_ago", "visit_date")]
    assert (
        records.warnings["reason"]
        .item()
        .endswith("over 20 years before most others: the row is kept, look at the year")
    )


def test_a_record_of_nineteen_years_is_no_doubt(read):
    assert read(visits=VISITS.format("2006-02-12")).warnings.is_empty()
