from collections import defaultdict

import numpy as np
import pytest
from hypothesis import given, settings
from scipy.optimize import minimize_scalar
from scipy.stats import t as student

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


def test_a_foot_has_its_own_slope_from_three_steps_on_drawn_to_that_of_its_peers(record):
    found = results(record)
    common = found["angle_drift"].filter(dimension="shod", level="yes")["deg_per_week"][0]
    feet = {(row["horse_id"], row["foot"]): row for row in found["horse_angle_drift"].to_dicts()}
    ash = feet["ash", "LF"]
    alone = sum(t * y for t, y in ((6, -3.0), (6, -2.6), (5, -2.9))) / (36 + 36 + 25)
    assert min(common, alone) < ash["deg_per_week"] < max(common, alone)
    assert ash["low"] < ash["deg_per_week"] < ash["high"]
    assert feet["bay", "LF"]["deg_per_week"] is None
    assert feet["bay", "LF"]["note"] == "fewer than 3 steps with an angle at both visits"


def herd(shod=6, bare=6, both=1, seed=4):
    """Steps of feet of as many horses: shod ones lose 0.45 degrees a week, bare ones 0.1, none like another."""
    rng = np.random.default_rng(seed)
    kinds = ["shod"] * shod + ["bare"] * bare + ["both"] * both
    rows = []
    for place, kind in enumerate(kinds):
        own = rng.normal(0, 0.05)
        for turn in range(6):
            shoe = kind == "shod" or (kind == "both" and turn < 2)
            change = (own - (0.45 if shoe else 0.1)) * 6 + rng.normal(0, 0.8)
            rows.append(f"{kind}{place} | LF | 42 | {change:.1f} | {str(shoe).lower()} | trail")
    return "horse_id | foot | days | angle_change_deg | shod | discipline\n" + "\n".join(rows)


def test_a_foot_is_drawn_to_feet_shod_or_bare_as_it_was_and_one_that_was_both_to_either_by_its_steps(record):
    found = results(record, herd())
    level = {row["level"]: row["deg_per_week"] for row in found["angle_drift"].filter(dimension="shod").to_dicts()}
    feet = {row["horse_id"]: row for row in found["horse_angle_drift"].to_dicts()}
    peers = {name: row["peers_deg_per_week"] for name, row in feet.items()}
    assert (peers["shod0"], peers["bare6"]) == pytest.approx((level["yes"], level["no"]))
    assert peers["both12"] == pytest.approx((2 * level["yes"] + 4 * level["no"]) / 6)
    parts = []
    for way in ("yes", "no"):
        steps = [row for row in draw(FootSteps, herd()).to_dicts() if ("yes" if row["shod"] else "no") == way]
        row = found["angle_drift"].filter(dimension="shod", level=way).row(0, named=True)
        kept, *_ = readings(steps, "all", "all")
        ratio, tt = (row["sd_between_feet"] / row["residual_sd_deg"]) ** 2, 36.0 * len(kept["both12", "LF"])
        open_part, error = row["sd_between_feet"] / (1 + ratio * tt), (row["high"] - row["low"]) / 2 / 1.959964
        parts.append(
            (
                len(kept["both12", "LF"]) / 6,
                open_part,
                row["sd_between_feet"] * open_part + (error / (1 + ratio * tt)) ** 2,
            )
        )
    variance = sum(part**2 * own for part, _, own in parts) + 2 * np.prod([part * left for part, left, _ in parts])
    half = feet["both12"]["high"] - feet["both12"]["deg_per_week"]
    assert half == pytest.approx(1.959964 * np.sqrt(variance), rel=1e-6)
    assert [feet[name]["shod_or_bare"] for name in ("shod0", "bare6", "both12")] == ["shod", "bare", "both"]
    # Among all feet a bare one would be drawn far down: its own steps are 0.1 a week, those of all about 0.3.
    bare = [row["deg_per_week"] for row in feet.values() if row["shod_or_bare"] == "bare"]
    assert np.mean(bare) == pytest.approx(level["no"], abs=0.02)


def test_a_foot_among_too_few_peers_has_no_figure_though_there_are_others(record):
    found = results(record, herd(shod=6, bare=2, both=0))
    feet = {row["horse_id"]: row for row in found["horse_angle_drift"].to_dicts()}
    assert feet["bare6"]["deg_per_week"] is None
    assert feet["bare6"]["note"] == "fewer than 5 feet with an angle at both visits of a step"
    assert feet["shod0"]["deg_per_week"] is not None


def test_kinds_of_work_are_compared_by_shod_feet_too(record):
    rows = {(row["dimension"], row["level"]): row for row in results(record, herd())["angle_drift"].to_dicts()}
    shod, every = rows["discipline_shod", "trail"], rows["discipline", "trail"]
    assert (shod["feet"], shod["steps"]) == (7, 38)
    assert shod["deg_per_week"] == pytest.approx(rows["shod", "yes"]["deg_per_week"])
    assert every["deg_per_week"] > shod["deg_per_week"] + 0.1


def test_limits_by_horse_leave_each_horse_out_in_turn_and_need_five(record):
    rows = {(row["dimension"], row["level"]): row for row in results(record, herd())["angle_drift"].to_dicts()}
    row = rows["all", "all"]
    assert row["horses"] == 13
    kept, *_ = readings(draw(FootSteps, herd()).to_dicts(), "all", "all")
    ratio = (row["sd_between_feet"] / row["residual_sd_deg"]) ** 2
    slopes = []
    for left_out in kept:
        others = [(place, t, y) for place, (foot, own) in enumerate(kept.items()) if foot != left_out for t, y in own]
        unit, t, y = (np.array(part) for part in zip(*others, strict=True))
        slopes.append(by_hand(unit, t, y, ratio)[0])
    error = np.sqrt(12 / 13 * ((np.array(slopes) - row["deg_per_week"]) ** 2).sum())
    assert row["high_by_horse"] - row["deg_per_week"] == pytest.approx(student.ppf(0.975, 12) * error, rel=1e-6)
    few = results(record, STEPS)["angle_drift"].filter(dimension="all").row(0, named=True)
    assert (few["low_by_horse"], few["note"]) == (None, "fewer than 5 horses: no range is told")
    assert few["low"] is not None


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
            "discipline_shod": row["discipline"] if row["shod"] else None,
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
