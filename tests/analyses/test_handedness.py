import numpy as np
import pytest

from pipelines.analyses import handedness as analysis
from schemas.exports import Feet, Horses, Visits
from tests.analyses.drawing import draw, fill

# Left minus right leaving angle of Ada's six horses; the last is seen twice.
GAPS = (0.5, 1.0, -0.5, 2.0, 1.5, 0.0, 1.0)


def tables(gaps=GAPS, **more):
    visits = [
        {"visit_id": f"v{place}", "horse_id": f"h{min(place, 5)}", "farrier": "Ada"} for place in range(len(gaps))
    ]
    left = [
        {"visit_id": f"v{place}", "foot": "LF", "angle_leaving_deg": 50 + gap} | more for place, gap in enumerate(gaps)
    ]
    right = [{"visit_id": f"v{place}", "foot": "RF", "angle_leaving_deg": 50.0} | more for place in range(len(gaps))]
    return {"visits": fill(Visits, visits), "feet": fill(Feet, left + right), "horses": draw(Horses)}


def rows(record, tables):
    return {
        (row["farrier"], row["compared"]): row for row in record(**tables).results(analysis)["handedness"].to_dicts()
    }


def test_the_mean_is_over_pairs_with_limits_from_horses(record):
    ada = rows(record, tables())["Ada", "leaving_angle"]
    totals, pairs = np.array([0.5, 1.0, -0.5, 2.0, 1.5, 1.0]), np.array([1, 1, 1, 1, 1, 2])
    mean = sum(GAPS) / 7
    error = np.sqrt(6 / 5 * ((totals - mean * pairs) ** 2).sum()) / 7
    assert (ada["pairs"], ada["horses"]) == (7, 6)
    found = (ada["mean_difference"], ada["low"], ada["high"])
    assert found == pytest.approx((mean, mean - 1.959964 * error, mean + 1.959964 * error), rel=1e-6)


def test_feet_pair_front_with_front_and_at_one_visit(record):
    feet = draw(
        Feet,
        """
        visit_id | foot | angle_leaving_deg | toe_leaving_mm
        v0       | LF   | 52                | 81
        v0       | RH   | 50                | 80
        v1       | RF   | 51                |
        v1       | LH   | 54                | 83
        v1       | RH   | 55                | 81
        """,
    )
    found = rows(record, tables() | {"feet": feet})
    assert found["Ada", "leaving_angle"]["mean_difference"] == -1, "only the hinds of v1 are a pair"
    assert found["Ada", "leaving_toe"]["mean_difference"] == 2
    assert found["Ada", "leaving_angle"]["note"] == "fewer than 5 horses: no limits"
    assert found["Ada", "leaving_angle"]["low"] is None


def test_nails_inside_are_counted_against_those_outside(record):
    ada = rows(record, tables(nails_medial=3, nails_lateral=4))["Ada", "nails"]
    assert (ada["pairs"], ada["mean_difference"], ada["low"], ada["high"]) == (14, -1, -1, -1)


def test_wall_findings_at_one_side_are_a_share_and_those_at_both_do_not_count(record):
    drawn = tables()
    sides = ["medial"] * 4 + ["lateral"] * 8 + ["both", "toe"]
    walls = drawn["feet"].to_dicts()
    feet = fill(Feet, [foot | {"wall_side": side} for foot, side in zip(walls, sides, strict=True)])
    ada = rows(record, drawn | {"feet": feet})["Ada", "wall_findings"]
    assert (ada["pairs"], ada["mean_difference"]) == (12, pytest.approx(4 / 12))
    assert 0 < ada["low"] < 4 / 12 < ada["high"] < 1
    one_side = rows(record, tables(wall_side="medial"))["Ada", "wall_findings"]
    assert (one_side["mean_difference"], one_side["low"], one_side["note"]) == (1, None, "all on one side: no limits")


def test_farriers_stand_apart_by_name_and_blank_ones_together(record):
    drawn = tables()
    farriers = ["Bo", "Ada", None, "Ada", "Ada", "Ada", "Bo"]
    visits = fill(
        Visits, [row | {"farrier": who} for row, who in zip(drawn["visits"].to_dicts(), farriers, strict=True)]
    )
    found = record(**drawn | {"visits": visits}).results(analysis)["handedness"]
    assert found.select("farrier", "pairs").rows() == [("Ada", 4), ("Bo", 2), ("not recorded", 1)]


def test_a_visit_after_the_as_of_date_is_passed_over(record):
    drawn = tables()
    late = drawn["visits"].to_dicts()
    visits = fill(
        Visits, [row | {"visit_date": "2026-02-01" if row["visit_id"] == "v3" else "2025-02-01"} for row in late]
    )
    assert rows(record, drawn | {"visits": visits})["Ada", "leaving_angle"]["pairs"] == 6


def test_an_empty_record_gives_an_empty_table(record):
    assert record().results(analysis)["handedness"].height == 0
