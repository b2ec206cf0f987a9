from datetime import date

import numpy as np
import polars as pl
import pytest
from scipy import stats

from pipelines.analyses import loss_hazard as analysis
from pipelines.analyses import shoe_risk
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
        (row["day_from"], row["day_to"], row["losses_spread"], row["shoe_days"])
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


def six_horses(*lost):
    """Each wears ten shoes for 7 days and loses so many of them."""
    return fill(ShoeSpells, [
        {"horse_id": horse, "days_on": 7, "end_reason": "lost" if place < many else "renewed"}
        for horse, many in zip("abcdef", lost, strict=True) for place in range(10)
    ])  # fmt: skip


def first_week(record, *lost):
    return record(shoe_spells=six_horses(*lost)).results(analysis)["loss_hazard"].to_dicts()[0]


def test_limits_come_from_leaving_each_horse_out(record):
    row = first_week(record, 5, 3, 1, 0, 0, 0)
    without = np.log(np.array([4, 6, 8, 9, 9, 9]) / 350 / (9 / 420))
    wide = np.exp(stats.t.ppf(0.975, 5) * np.sqrt(5 / 6 * (without**2).sum()))
    assert row["per_1000_days"] == pytest.approx(1000 * 9 / 420)
    assert (row["low"], row["high"]) == pytest.approx((row["per_1000_days"] / wide, row["per_1000_days"] * wide))


def test_they_are_never_narrower_than_by_shoe_and_exact_for_one_loss(record):
    row = first_week(record, 1, 1, 1, 1, 1, 1)
    assert (row["low"], row["high"]) == pytest.approx((1000 * 2.2019 / 420, 1000 * 13.0595 / 420), rel=1e-4)
    assert first_week(record, 1, 0, 0, 0, 0, 0)["high"] == pytest.approx(1000 * 5.5716 / 420, rel=1e-4)


def test_where_one_horse_has_most_of_the_losses_no_range_is_given(record):
    assert first_week(record, 9, 1, 0, 0, 0, 0)["high"] is None


UNREPORTED = draw(
    ShoeSpells,
    """
    fitted_visit_id | horse_id | foot | fitted_on  | ended_on   | end_reason | lost_after | lost_by
    plan            | ash      | LF   | 2025-01-01 | 2025-01-08 | lost       | 2025-01-08 | 2025-01-08
    plan            | ash      | RF   | 2025-01-01 | 2025-01-15 | lost       | 2025-01-01 | 2025-01-29
    none            | bay      | LF   | 2025-01-01 | 2025-01-29 | renewed    |            |
    """,
)


def test_a_loss_that_nobody_reported_is_spread_over_the_days_it_may_have_come_off(record):
    made = record(shoe_spells=UNREPORTED, visits=VISITS)
    rows = made.results(analysis)["loss_hazard"]
    ages = rows.filter(dimension="all", phase="age")
    # Two losses are too few to tell ages apart: one hazard for all, and what came off later had to outlast more days.
    rate = shoe_risk.hazard_by_age(made.counts(analysis))["front"][0]
    by_day = np.exp(-rate * np.array([0, 7, 14, 28]))
    week, next_week, rest = (by_day[:-1] - by_day[1:]) / (1 - by_day[-1])
    assert ages["losses_spread"].to_list() == pytest.approx([1 + week, next_week, rest])
    # The maximum: losses over days on, those of the shoe that was spread being expected ones.
    assert rate == pytest.approx(2 / ages["shoe_days"].sum(), rel=0.02)
    about = rows.filter(pl.col("dimension") == "all", pl.col("phase") != "age")
    assert about["losses_spread"].sum() == pytest.approx(2)


def test_an_empty_record_gives_an_empty_table(record):
    assert record().results(analysis)["loss_hazard"].is_empty()


def test_a_loss_found_at_a_call_out_that_nobody_dated_lies_in_the_week_before_it(record):
    """Twelve, called to on day 30: put anywhere since nailing, they would fall on the first week, which all share."""
    names = [f"h{place}" for place in range(12)]
    shoe = {"foot": "LF", "fitted_on": date(2025, 1, 1), "ended_on": date(2025, 1, 16), "end_reason": "lost"}
    shoe |= {"lost_after": date(2025, 1, 1), "lost_by": date(2025, 1, 31)}
    kept = {"foot": "LF", "fitted_on": date(2025, 1, 31), "ended_on": date(2025, 3, 10), "end_reason": "renewed"}
    spells = [{"horse_id": name, "fitted_visit_id": name} | part for name in names for part in (shoe, kept)]
    spells = [{"spell_id": str(place)} | part for place, part in enumerate(spells)]

    def bands(kind):
        visits = [
            {"visit_id": name, "horse_id": name, "visit_date": date(2025, 1, 31), "visit_kind": kind} for name in names
        ]
        tables = record(shoe_spells=fill(ShoeSpells, spells), visits=fill(Visits, visits)).results(analysis)
        ages = tables["loss_hazard"].filter(dimension="all", phase="age")
        return dict(ages.select("day_from", "losses_spread").rows())

    called = bands("lost_shoe")
    assert called[0] == called[7] == 0
    assert called[14] + called[28] == pytest.approx(12)
    assert bands("routine")[0] > 6
