from collections import defaultdict

import numpy as np
import pytest
from hypothesis import given, settings

from pipelines.analyses import interval_lengths as analysis
from schemas.derived import VisitIntervals
from tests.analyses import worlds
from tests.analyses.agreement import assert_agree
from tests.analyses.drawing import draw
from tests.analyses.recorded import results_of

INTERVALS = """
    horse_id | yard | days | days_late
    ash      | Hill | 35   | -7
    ash      | Hill | 42   | 0
    bay      |      | 56   | 7
    bay      |      | 57   | 8
    cob      | Hill | 90   |
"""


def lengths(record, drawing=INTERVALS):
    table = record(visit_intervals=draw(VisitIntervals, drawing)).results(analysis)["interval_lengths"]
    return {(row["dimension"], row["level"]): row for row in table.to_dicts()}


def test_fifty_six_days_are_not_over_fifty_six_and_seven_days_past_the_plan_are_not_late(record):
    everything = lengths(record)["all", "all"]
    assert (everything["intervals"], everything["horses"]) == (5, 3)
    assert everything["share_over_56"] == 2 / 5
    assert everything["late_share"] == 1 / 4


def test_what_was_agreed_stands_beside_what_became_of_it(record):
    everything = lengths(record)["all", "all"]
    # agreed were 42, 42, 49 and 49 days; the visits came 7 early, on the day, and 7 and 8 late
    assert (everything["intervals_planned"], everything["planned_days"], everything["done_days"]) == (4, 45.5, 47.5)
    assert everything["median_days_late"] == 3.5


def test_quantiles_lie_between_neighbours_by_linear_interpolation(record):
    everything = lengths(record)["all", "all"]
    assert everything["median_days"] == 56
    assert everything["p10_days"] == pytest.approx(37.8)
    assert everything["p90_days"] == pytest.approx(76.8)


def test_few_intervals_and_intervals_without_a_plan_are_named(record):
    found = lengths(record, "yard | days\nHill | 40")
    assert found["yard", "Hill"]["late_share"] is None
    assert found["yard", "Hill"]["note"] == (
        "fewer than 10 intervals: the figures may change much with the next few; "
        "no interval had a plan, so none can be late"
    )


def test_a_blank_yard_is_not_recorded(record):
    assert lengths(record)["yard", "not recorded"]["intervals"] == 2


@settings(deadline=None, max_examples=30)
@given(worlds.intervals())
def test_every_level_agrees_with_numpy_on_the_written_out_intervals(rows):
    table = results_of(analysis, visit_intervals=worlds.frame("visit_intervals", rows))["interval_lengths"]
    levels = defaultdict(list)
    for row in rows:
        for dimension in ("all", "discipline", "season", "yard"):
            levels[dimension, "all" if dimension == "all" else row[dimension] or "not recorded"].append(row)
    assert {(row["dimension"], row["level"]) for row in table.to_dicts()} == set(levels)
    for found in table.to_dicts():
        members = levels[found["dimension"], found["level"]]
        days = np.array([row["days"] for row in members])
        planned = [(row["days"], row["days_late"]) for row in members if row["days_late"] is not None]
        expected = {
            "intervals": len(members),
            "horses": len({row["horse_id"] for row in members}),
            "share_over_56": (days > 56).mean(),
            "intervals_planned": len(planned),
            "planned_days": np.mean([days - late for days, late in planned]) if planned else None,
            "done_days": np.mean([days for days, _ in planned]) if planned else None,
            "median_days_late": np.median([late for _, late in planned]) if planned else None,
            "late_share": sum(late > 7 for _, late in planned) / len(planned) if planned else None,
        }
        quantiles = ("p10_days", "p25_days", "median_days", "p75_days", "p90_days")
        expected |= dict(zip(quantiles, np.quantile(days, [0.1, 0.25, 0.5, 0.75, 0.9]), strict=True))
        assert_agree(found, expected, found["level"])
