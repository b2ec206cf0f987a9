from collections import defaultdict

import numpy as np
import pytest
from hypothesis import given, settings
from scipy.optimize import minimize_scalar

from pipelines.analyses import angle_drift as analysis
from schemas.derived import FootSteps
from schemas.exports import Feet, Horses, Visits
from tests.analyses import worlds
from tests.analyses.agreement import assert_agree
from tests.analyses.drawing import draw, fill
from tests.analyses.recorded import results_of

# Six feet that lose about half a degree a week; one of them bare.
STEPS = """
    horse_id | foot | days | angle_change_deg | shod
    ash      | LF   | 42   | -3.0             | true
    ash      | LF   | 42   | -2.6             | true
    ash      | LF   | 35   | -2.9             | true
    ash      | RF   | 42   | -2.2             | true
    ash      | RF   | 28   | -1.0             | true
    bay      | LF   | 42   | -4.1             | true
    bay      | LF   | 56   | -4.9             | true
    bay      | RF   | 42   | -3.6             | true
    cob      | LF   | 42   | -0.6             | false
    cob      | LF   | 42   | -0.4             | false
    cob      | LF   | 42   |                  | false
    dun      | LH   | 49   | -3.1             | true
"""


def results(record, drawing=STEPS):
    return record(foot_steps=draw(FootSteps, drawing)).results(analysis)


def levels(record, drawing=STEPS):
    return {(row["dimension"], row["level"]): row for row in results(record, drawing)["angle_drift"].to_dicts()}


def test_a_step_without_an_angle_at_both_visits_is_no_step(record):
    everything = levels(record)["all", "all"]
    assert (everything["feet"], everything["steps"]) == (6, 11)


def test_the_drift_of_all_feet_is_their_degrees_over_their_weeks(record):
    everything = levels(record)["all", "all"]
    assert everything["low"] < everything["deg_per_week"] < everything["high"] < 0
    assert everything["deg_per_week"] == pytest.approx(-0.46, abs=0.06)
    assert everything["sd_between_feet"] > 0
    assert everything["residual_sd_deg"] > 0


def test_too_few_feet_or_too_few_with_two_steps_give_a_row_that_says_so(record):
    found = levels(record)
    assert found["shod", "no"]["note"].startswith("fewer than 5 feet")
    once = "horse_id | days | angle_change_deg\n" + "\n".join(f"h{number} | 42 | -3" for number in range(6))
    assert levels(record, once)["all", "all"]["note"].startswith("fewer than 3 feet with two steps")
    assert levels(record, once)["all", "all"]["deg_per_week"] is None


def test_feet_on_straight_lines_have_no_spread_to_judge_by(record):
    lines = "horse_id | days | angle_change_deg\n"
    lines += "\n".join(f"h{number} | {days} | {-days / 14}" for number in range(6) for days in (28, 42))
    assert levels(record, lines)["all", "all"]["note"].startswith("the angles lie exactly on straight lines")


def test_a_foot_has_its_own_slope_from_three_steps_on_drawn_to_that_of_all(record):
    found = results(record)
    common = found["angle_drift"].row(0, named=True)["deg_per_week"]
    feet = {(row["horse_id"], row["foot"]): row for row in found["horse_angle_drift"].to_dicts()}
    ash = feet["ash", "LF"]
    alone = sum(t * y for t, y in ((6, -3.0), (6, -2.6), (5, -2.9))) / (36 + 36 + 25)
    assert min(common, alone) < ash["deg_per_week"] < max(common, alone)
    assert ash["low"] < ash["deg_per_week"] < ash["high"]
    assert feet["bay", "LF"]["deg_per_week"] is None
    assert feet["bay", "LF"]["note"] == "fewer than 3 steps with an angle at both visits"


def test_a_foots_trend_of_the_angle_it_leaves_with_stands_beside_its_drift(record):
    left = {"ash": (52, 51, 49), "bay": (50, 49, 47), "cob": (54, 54, 55), "dun": (51, 51, 52), "elm": (50, 51, 50)}
    cells = [(f"{horse}{place}", horse, place, angle) for horse, own in left.items() for place, angle in enumerate(own)]
    visits = [
        {"visit_id": name, "horse_id": horse, "visit_date": f"202{place}-06-01"} for name, horse, place, _ in cells
    ]
    feet = [{"visit_id": name, "foot": "LF", "angle_leaving_deg": angle} for name, _, _, angle in cells]
    horses = fill(Horses, [{"horse_id": horse} for horse in left])
    tables = {"horses": horses, "visits": fill(Visits, visits), "feet": fill(Feet, feet)}
    found = record(foot_steps=draw(FootSteps, STEPS), **tables).results(analysis)["horse_angle_drift"]
    trends = {(row["horse_id"], row["foot"]): row["leaving_trend_deg_per_year"] for row in found.to_dicts()}
    assert -1.5 < trends["ash", "LF"] < -0.7
    assert 0.3 < trends["cob", "LF"] < 0.7
    assert trends["ash", "RF"] is None
    for row in found.filter(horse_id="ash", foot="LF").to_dicts():
        half = row["leaving_trend_high"] - row["leaving_trend_deg_per_year"]
        assert half == pytest.approx(row["leaving_trend_deg_per_year"] - row["leaving_trend_low"])
        assert half > 0


def readings(rows, dimension, level):
    """Foot, weeks and change of every step of one level, written out one by one."""
    kept = defaultdict(list)
    for row in rows:
        known = {
            "all": "all",
            "discipline": row["discipline"],
            "end": row["end"],
            "shod": "yes" if row["shod"] else "no",
        }
        if row["angle_change_deg"] is not None and known[dimension] == level:
            kept[row["horse_id"], row["foot"]].append((row["days"] / 7, row["angle_change_deg"]))
    unit = np.repeat(np.arange(len(kept)), [len(steps) for steps in kept.values()])
    return kept, unit, *np.array([step for steps in kept.values() for step in steps]).T


def by_hand(unit, t, y, ratio):
    """Generalised least squares on the whole covariance matrix: slope, its error, residual sd, −2 log likelihood."""
    spread = np.eye(t.size) + ratio * (unit[:, None] == unit) * np.outer(t, t)
    weighted = np.linalg.solve(spread, t)
    information = weighted @ t
    slope = weighted @ y / information
    variance = (y - slope * t) @ np.linalg.solve(spread, y - slope * t) / (t.size - 1)
    away = (t.size - 1) * np.log(variance) + np.linalg.slogdet(spread)[1] + np.log(information)
    return slope, np.sqrt(variance / information), np.sqrt(variance), away


def least_away(unit, t, y):
    return minimize_scalar(lambda log: by_hand(unit, t, y, np.exp(log))[3], bounds=(-14, 6), method="bounded").fun


@settings(deadline=None, max_examples=30)
@given(worlds.foot_steps())
def test_every_level_agrees_with_the_best_of_a_search_over_the_whole_matrix(rows):
    found = results_of(analysis, foot_steps=worlds.frame("foot_steps", rows))["angle_drift"]
    for row in found.to_dicts():
        kept, unit, t, y = readings(rows, row["dimension"], row["level"])
        assert (row["feet"], row["steps"]) == (len(kept), len(t))
        few = len(kept) < 5 or sum(len(steps) > 1 for steps in kept.values()) < 3
        if few or not t.any():
            assert row["deg_per_week"] is None
            continue
        if row["deg_per_week"] is None:
            assert "straight lines" in row["note"]
            continue
        ratio = (row["sd_between_feet"] / row["residual_sd_deg"]) ** 2
        slope, error, sd, away = by_hand(unit, t, y, ratio)
        ours = {"deg_per_week": slope, "low": slope - 1.959964 * error, "high": slope + 1.959964 * error}
        assert_agree(row, ours | {"residual_sd_deg": sd}, row["level"], rel=1e-5)
        assert away <= least_away(unit, t, y) + 1e-6
