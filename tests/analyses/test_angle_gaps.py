from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest

from pipelines.analyses import angle_gaps as analysis
from pipelines.stats.random_slopes import LineSums, random_slopes
from schemas.derived import FootSteps
from schemas.exports import Feet, Horses, Visits
from tests.analyses.drawing import draw, fill

HORSES = draw(Horses, "horse_id | horse_name | discipline\n ash | Ash | trail\n bay | Bay | polo")
VISITS = draw(
    Visits,
    """
    visit_id | horse_id | visit_date | farrier
    a1       | ash      | 2025-01-01 | Ada
    a2       | ash      | 2025-02-01 | Ada
    a3       | ash      | 2025-03-01 | Bo
    b1       | bay      | 2025-03-01 | Ada
    b9       | bay      | 2026-03-01 | Ada
    """,
)
# Ash's fronts: 2.0 apart, then 1.5 which is 53.3 less 51.8, then one foot alone. Bay's are seen after the as-of date.
FEET = draw(
    Feet,
    """
    visit_id | foot | angle_leaving_deg
    a1       | LF   | 52.0
    a1       | RF   | 50.0
    a2       | LF   | 51.8
    a2       | RF   | 53.3
    a3       | LF   | 56.0
    b1       | LH   | 49.9
    b1       | RH   | 55.0
    b9       | LH   | 40.0
    b9       | RH   | 60.0
    """,
)


@pytest.fixture
def results(record):
    return record(horses=HORSES, visits=VISITS, feet=FEET).results(analysis)


def test_a_pair_is_measured_where_both_feet_are_and_uneven_above_the_cut_off(results):
    gaps = {(row["horse_id"], row["end"]): row for row in results["angle_gaps"].to_dicts()}
    ash, bay = gaps["ash", "front"], gaps["bay", "hind"]
    assert (ash["visits"], ash["measured_on"], ash["horse_name"]) == (2, date(2025, 2, 1), "Ash")
    assert (ash["latest_gap_deg"], ash["mean_gap_deg"], ash["uneven_visits"]) == (-1.5, 0.25, 1)
    assert not ash["latest_uneven"], "1.5 is not more than 1.5"
    assert (bay["latest_gap_deg"], bay["latest_uneven"], bay["cut_off_deg"]) == (-5.1, True, 1.5)


def test_feet_are_classed_by_their_latest_leaving_angle(results):
    found = results["hoof_classes"].filter(dimension="all").select("hoof_class", "feet", "class_share").rows()
    assert found == [("flat", 1, 0.25), ("medium", 2, 0.5), ("upright", 1, 0.25)], "49.9; 53.3 and 55.0; 56.0"
    polo = results["hoof_classes"].filter(level="polo")
    assert polo.select("hoof_class", "class_share").rows() == [("flat", 0.5), ("medium", 0.5)]


def herd(error=1.0):
    """Six feet read four times on leaving and on arrival, and what each reading is."""
    rng = np.random.default_rng(2)
    rows = [
        (foot, place, 50 + foot + rng.normal(0, error), 48 + foot + rng.normal(0, 2 * error))
        for foot in range(6)
        for place in range(4)
    ]
    visits = [
        {
            "visit_id": f"{f}{p}",
            "horse_id": f"h{f}",
            "visit_date": date(2025, 1, 1) + timedelta(60 * p),
            "farrier": "Ada" if p < 3 else "Bo",
        }
        for f, p, *_ in rows
    ]
    feet = [
        {"visit_id": f"{f}{p}", "foot": "LF", "angle_leaving_deg": round(left, 3), "angle_arrival_deg": round(back, 3)}
        for f, p, left, back in rows
    ]
    horses = fill(Horses, [{"horse_id": f"h{foot}", "horse_name": f"H{foot}"} for foot in range(6)])
    return {"horses": horses, "visits": fill(Visits, visits), "feet": fill(Feet, feet)}, feet


def spread(feet, name):
    years = np.tile(60 * np.arange(4), 6) / 365.25
    angle = np.array([foot[name] for foot in feet])
    parts = (years**0, years, years**2, angle, years * angle, angle**2)
    return random_slopes(LineSums(*(part.reshape(6, 4).sum(axis=1) for part in parts))).sd_residual


def test_the_error_of_a_reading_is_its_spread_about_its_foots_line_and_two_readings_have_two(record):
    tables, feet = herd()
    steps = """
        horse_id | foot | from_visit_id | to_visit_id | angle_change_deg
        h0       | LF   | 00            | 01          | -2.0
        h1       | LF   | 12            | 13          | 9.0
        h2       | LF   | 20            | 21          | -9.0
    """
    found = {
        row["angle_at"]: row
        for row in record(foot_steps=draw(FootSteps, steps), **tables).results(analysis)["angle_precision"].to_dicts()
    }
    arrival, leaving = spread(feet, "angle_arrival_deg"), spread(feet, "angle_leaving_deg")
    assert found["arrival"]["residual_sd_deg"] == pytest.approx(arrival, rel=1e-4)
    assert found["leaving"]["residual_sd_deg"] == pytest.approx(leaving, rel=1e-4)
    assert found["growth"]["residual_sd_deg"] == pytest.approx(((arrival**2 + leaving**2) / 2) ** 0.5, rel=1e-4)
    assert found["leaving"]["smallest_change_deg"] == pytest.approx(1.96 * 2**0.5 * leaving, rel=1e-4)
    assert (found["leaving"]["feet"], found["leaving"]["angles_read"], found["leaving"]["changes"]) == (6, 24, 18)
    assert (found["growth"]["changes"], found["growth"]["changes_beyond"]) == (3, 2)


def test_changes_between_two_hands_are_counted(record):
    tables, _ = herd()
    found = {row["angle_at"]: row for row in record(**tables).results(analysis)["angle_precision"].to_dicts()}
    assert found["leaving"]["other_farrier"] == 6
    assert found["arrival"]["other_farrier"] == 6


def test_only_a_foots_latest_change_is_listed_and_only_beyond_error(record):
    tables, feet = herd()
    tables["feet"] = fill(
        Feet, [foot | ({"angle_leaving_deg": 70.0} if foot["visit_id"] in ("02", "33") else {}) for foot in feet]
    )
    results = record(**tables).results(analysis)
    leaving = results["angle_changes"].filter(angle_at="leaving").to_dicts()
    smallest = results["angle_precision"].filter(angle_at="leaving")["smallest_change_deg"][0]
    by_foot = {row["horse_id"]: row for row in leaving}
    assert by_foot["h3"]["change_deg"] == pytest.approx(70 - feet[4 * 3 + 2]["angle_leaving_deg"])
    assert (by_foot["h3"]["from_date"], by_foot["h3"]["to_date"]) == (date(2025, 5, 1), date(2025, 6, 30))
    assert all(abs(row["change_deg"]) > smallest for row in leaving)
    assert len(leaving) == len(by_foot)
    assert by_foot["h3"]["hand_changed"] is True  # Ada read it, then Bo
    for farrier, changed in (("Ada", False), (None, None)):
        seen = tables["visits"].with_columns(farrier=pl.lit(farrier, pl.String))
        latest = record(**{**tables, "visits": seen}).results(analysis)["angle_changes"].filter(angle_at="leaving")
        assert set(latest["hand_changed"]) == {changed}


def test_few_feet_have_no_error_to_print_and_no_change_to_list(results):
    assert set(results["angle_precision"]["residual_sd_deg"]) == {None}
    assert results["angle_precision"]["note"].unique().to_list() == [
        "too few feet read often enough to judge the error"
    ]
    assert results["angle_changes"].height == 0


def test_an_empty_record_gives_empty_tables(record):
    assert {frame.height for frame in record().results(analysis).values()} == {0}
