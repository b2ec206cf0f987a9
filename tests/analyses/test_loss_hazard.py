import numpy as np
import pytest
from scipy import stats

from pipelines.analyses import loss_hazard as analysis
from schemas.derived import ShoeSpells
from schemas.exports import Visits
from tests.analyses.drawing import draw, fill

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


def three_horses(first, second):
    """Ash, bay and elm each wear ten shoes for 7 days and lose so many of them."""
    lost = {"ash": first, "bay": second, "elm": 0}
    return fill(ShoeSpells, [
        {"horse_id": horse, "days_on": 7, "end_reason": "lost" if place < many else "renewed"}
        for horse, many in lost.items() for place in range(10)
    ])  # fmt: skip


def first_week(record, first, second):
    return record(shoe_spells=three_horses(first, second)).results(analysis)["loss_hazard"].to_dicts()[0]


def test_limits_come_from_leaving_each_horse_out(record):
    row = first_week(record, 5, 1)
    without = np.log(np.array([1 / 140, 5 / 140, 6 / 140]) / (6 / 210))
    wide = np.exp(stats.t.ppf(0.975, 2) * np.sqrt(2 / 3 * (without**2).sum()))
    assert row["per_1000_days"] == pytest.approx(1000 * 6 / 210)
    assert (row["low"], row["high"]) == pytest.approx((row["per_1000_days"] / wide, row["per_1000_days"] * wide))


def test_one_loss_has_exact_limits_and_losses_of_one_horse_none(record):
    assert first_week(record, 1, 0)["high"] == pytest.approx(1000 * 5.5716 / 210, rel=1e-4)
    assert first_week(record, 4, 0)["high"] is None


def test_an_empty_record_gives_an_empty_table(record):
    assert record().results(analysis)["loss_hazard"].is_empty()
