import pytest

from pipelines.analyses import loss_hazard as analysis
from schemas.derived import ShoeSpells
from schemas.exports import Visits
from tests.analyses.drawing import draw

SPELLS = draw(
    ShoeSpells,
    """
    fitted_visit_id | horse_id | foot | fitted_on  | ended_on   | end_reason
    plan            | ash      | LF   | 2025-01-01 | 2025-01-08 | lost
    plan            | ash      | RF   | 2025-01-01 | 2025-02-22 | lost
    none            | bay      | LH   | 2025-01-01 | 2025-01-01 | lost
    none            | bay      | RH   | 2025-01-01 | 2025-05-01 | running
    """,
)
VISITS = draw(
    Visits,
    """
    visit_id | horse_id | visit_date | visit_kind | planned_weeks
    plan     | ash      | 2025-01-01 | routine    | 6
    none     | bay      | 2025-01-01 | routine    |
    """,
)


def hazard(record, phase, level="all"):
    rows = record(shoe_spells=SPELLS, visits=VISITS).results(analysis)["loss_hazard"].to_dicts()
    return [
        (row["day_from"], row["day_to"], row["losses"], row["shoe_days"])
        for row in rows
        if (row["phase"], row["level"]) == (phase, level)
    ]


def test_a_loss_on_day_7_belongs_to_the_first_week_and_days_fall_to_the_bands_they_were_worn_in(record):
    assert hazard(record, "age") == [
        (0, 7, 2, 21.5),
        (7, 14, 0, 14.0),
        (14, 28, 0, 28.0),
        (28, 42, 0, 28.0),
        (42, 56, 1, 24.0),
        (56, 84, 0, 28.0),
        (84, None, 0, 36.0),
    ]


def test_days_about_the_planned_date_are_those_of_shoes_with_a_plan(record):
    # Planned for day 42: early to day 14, late from day 28, lost on day 52, ten days past the plan.
    found = {phase: hazard(record, phase) for phase in ("early", "middle", "late", "after_planned")}
    assert found == {
        "early": [(None, None, 1, 21.0)],
        "middle": [(None, None, 0, 14.0)],
        "late": [(None, None, 0, 14.0)],
        "after_planned": [(None, None, 1, 10.0)],
    }


def test_rates_have_limits_around_them(record):
    rows = record(shoe_spells=SPELLS, visits=VISITS).results(analysis)["loss_hazard"].to_dicts()
    assert rows[0]["per_1000_days"] == pytest.approx(1000 * 2 / 21.5)
    assert all(row["low"] <= row["per_1000_days"] <= row["high"] for row in rows)


def test_an_empty_record_gives_an_empty_table(record):
    assert record().results(analysis)["loss_hazard"].is_empty()
