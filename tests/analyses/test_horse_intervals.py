from datetime import date

import pytest

from pipelines.analyses import horse_intervals as analysis
from schemas.derived import VisitIntervals
from tests.analyses.drawing import draw

INTERVALS = """
    horse_id | from_date  | to_date    | planned_weeks | days_late
    ash      | 2025-03-01 | 2025-04-12 | 6             | 0
    ash      | 2025-01-01 | 2025-03-01 | 7             | 10
    ash      | 2025-04-12 | 2025-05-12 |               |
    bay      | 2025-01-01 | 2025-01-31 |               |
"""


@pytest.fixture
def results(record):
    return record(visit_intervals=draw(VisitIntervals, INTERVALS)).results(analysis)


def test_each_horse_has_the_figures_of_its_own_intervals_and_plans(results):
    ash, bay = results["horse_intervals"].to_dicts()
    # 30, 42 and 59 days; agreed 42 and 49, of which one ran more than 7 days late
    assert (ash["intervals"], ash["median_days"], ash["intervals_planned"]) == (3, 42, 2)
    assert (ash["planned_days"], ash["done_days"]) == (45.5, 50.5)
    assert (ash["median_days_late"], ash["late_share"]) == (5, 0.5)
    assert (bay["intervals"], bay["median_days"], bay["intervals_planned"]) == (1, 30, 0)
    assert (bay["planned_days"], bay["done_days"], bay["late_share"]) == (None, None, None)


def test_intervals_of_a_horse_stand_in_the_order_of_their_days(results):
    rounds = results["horse_rounds"].select("horse_id", "from_date", "days", "days_late").rows()
    assert rounds == [
        ("ash", date(2025, 1, 1), 59, 10),
        ("ash", date(2025, 3, 1), 42, 0),
        ("ash", date(2025, 4, 12), 30, None),
        ("bay", date(2025, 1, 1), 30, None),
    ]
