from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest

from pipelines.analyses import angle_changes, angle_peers
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


def steps_of(feet, seed=3, error=0.6, slopes=(-0.45, -0.1)):
    """Steps of six weeks, eight a foot: half the feet are shod and half bare, each reading with its own error."""
    rng = np.random.default_rng(seed)
    lines = ["horse_id | foot | days | angle_change_deg | shod"]
    for foot in range(feet):
        own = slopes[foot % 2] + rng.normal(0, 0.08)
        changes = own * 6 + rng.normal(0, error, 8) - rng.normal(0, error, 8)
        lines += [f"h{foot} | LF | 42 | {change:.3f} | {str(foot % 2 == 0).lower()}" for change in changes]
    return draw(FootSteps, "\n".join(lines))


def by_stage(frame):
    return {row["angle_at"]: row for row in frame.to_dicts()}


def test_the_error_of_a_reading_is_that_of_growth_over_root_2_shod_and_bare_apart(record):
    """As it was drawn, though the spread about the lines over years is larger: feet are left differently."""
    tables, feet = herd(error=2.0)
    found = by_stage(record(foot_steps=steps_of(120), **tables).results(analysis)["angle_precision"])
    for row in found.values():
        assert row["error_sd_deg"] == pytest.approx(0.6, abs=0.04)
        assert row["smallest_change_deg"] == pytest.approx(1.959964 * 2**0.5 * row["error_sd_deg"])
    assert found["arrival"]["residual_sd_deg"] == pytest.approx(spread(feet, "angle_arrival_deg"), rel=1e-4)
    assert found["leaving"]["residual_sd_deg"] == pytest.approx(spread(feet, "angle_leaving_deg"), rel=1e-4)
    assert found["growth"]["residual_sd_deg"] is None
    assert (found["leaving"]["feet"], found["leaving"]["angles_read"], found["leaving"]["changes"]) == (6, 24, 18)
    own = steps_of(120).filter(pl.col("horse_id").is_in([f"h{foot}" for foot in range(6)]))  # the horses on record
    beyond = own.filter(pl.col("angle_change_deg").abs() > found["growth"]["smallest_change_deg"]).height
    assert (found["growth"]["changes"], found["growth"]["changes_beyond"]) == (48, beyond)


def test_the_share_beyond_error_is_not_one_in_twenty_whatever_feet_do(record):
    """Leavings that differ by 2 degrees of their own are beyond an error of 0.6 in more than 5 of 100."""
    tables, _ = herd(error=2.0)
    leaving = by_stage(record(foot_steps=steps_of(40), **tables).results(analysis)["angle_precision"])["leaving"]
    assert leaving["changes_beyond"] / leaving["changes"] > 0.3


def test_from_few_steps_beyond_the_first_of_each_foot_no_error_is_told(record):
    tables, _ = herd()
    few = steps_of(8).group_by("horse_id", maintain_order=True).head(2)
    found = record(foot_steps=few, **tables).results(analysis)
    assert set(found["angle_precision"]["error_sd_deg"]) == {None}
    assert set(found["angle_precision"]["changes_beyond"]) == {None}
    assert found["angle_changes"].height == 0


ARRIVALS = """
    visit_id | horse_id | visit_date | foot | work   | angle_arrival_deg | angle_leaving_deg
    v0       | h0       | 2025-01-01 | LF   | reset  |                   | 52
    v1       | h0       | 2025-01-05 | LF   | reset  | 52.0              | 52
    v2       | h0       | 2025-02-13 | LF   | trim   | 49.4              | 52
    v3       | h0       | 2025-04-10 | LF   | none   | 48.0              |
    v4       | h0       | 2025-06-19 | LF   | reset  | 50.5              | 52
"""


def arrivals(record, drawing=ARRIVALS, steps=None):
    lines = [[cell.strip() for cell in line.split("|")] for line in drawing.strip().splitlines()]
    rows = [dict(zip(lines[0], line, strict=True)) for line in lines[1:]]
    visits = [{name: row[name] for name in ("visit_id", "horse_id", "visit_date")} for row in rows]
    feet = [
        {name: row[name] for name in ("visit_id", "foot", "work")}
        | {name: float(row[name]) for name in ("angle_arrival_deg", "angle_leaving_deg") if row[name]}
        for row in rows
    ]
    tables = {
        "horses": fill(Horses, [{"horse_id": "h0", "horse_name": "Ash"}]),
        "visits": fill(Visits, visits), "feet": fill(Feet, feet),
    }  # fmt: skip
    return record(foot_steps=steps_of(40) if steps is None else steps, **tables)


def test_growth_before_each_arrival_is_taken_away_by_how_long_and_how_the_foot_grew(record):
    """4 days shod, 39 days shod, 8 weeks bare, then 18 weeks bare: a visit that did nothing to it starts nothing."""
    kept = arrivals(record)
    counted = kept.counts(analysis)
    pairs = counted["arrivals"].sort("to_date").select("grown_from", "grown_to", "shod_from", "shod_to").rows()
    assert pairs == [(4, 39, "yes", "yes"), (39, 56, "yes", "no"), (56, 126, "no", "no")]
    known = angle_peers.peers(counted["growth"])
    error = angle_peers.reading_error(known)
    shod = known["yes"].own.filter(horse_id="h0").row(0, named=True)
    bare = known["no"].fit.slope, known["no"].stranger
    told = angle_changes._beyond_growth(counted["arrivals"].sort("to_date"), known, error)
    expected = [35 / 7 * shod["slope"], 8 * bare[0] - 39 / 7 * shod["slope"], 10 * bare[0]]
    assert told["growth_deg"].to_list() == pytest.approx(expected)
    unsure = [5 * shod["error"], np.hypot(8 * bare[1], 39 / 7 * shod["error"]), 10 * bare[1]]
    limits = [1.959964 * np.sqrt(2 * error**2 + part**2) for part in unsure]
    assert told["smallest_change_deg"].to_list() == pytest.approx(limits, rel=1e-6)


def test_a_fall_by_growth_alone_is_no_change_and_a_change_without_it_is(record):
    until = "\n".join(ARRIVALS.strip().splitlines()[:4])
    fall = arrivals(record, until).results(analysis)  # 52.0 to 49.4: 2.6 lower after five weeks more of growth
    assert fall["angle_changes"].filter(angle_at="arrival").height == 0
    assert fall["angle_precision"].filter(angle_at="arrival")["changes_beyond"][0] == 0
    rise = arrivals(record, until.replace("49.4", "52.5")).results(analysis)["angle_changes"].filter(angle_at="arrival")
    row = rise.row(0, named=True)
    assert (row["change_deg"], row["from_date"], row["to_date"]) == (0.5, date(2025, 1, 5), date(2025, 2, 13))
    assert row["growth_deg"] < -1.5
    assert row["change_deg"] - row["growth_deg"] > row["smallest_change_deg"]


def test_an_arrival_after_no_known_visit_or_among_feet_of_unknown_growth_is_not_judged(record):
    first = ARRIVALS.replace("|                   | 52\n    v1", "| 51.0              | 52\n    v1")
    told = by_stage(arrivals(record, first).results(analysis)["angle_precision"])["arrival"]
    assert (told["changes"], told["changes_judged"]) == (4, 3)
    shod_only = steps_of(40).filter("shod")
    told = by_stage(arrivals(record, steps=shod_only).results(analysis)["angle_precision"])["arrival"]
    assert (told["changes"], told["changes_judged"]) == (3, 1)


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
    tables["foot_steps"] = steps_of(40)
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
    assert set(results["angle_precision"]["error_sd_deg"]) == {None}
    assert results["angle_precision"]["note"].unique().to_list() == [
        "too few feet read often enough to judge the error"
    ]
    assert results["angle_changes"].height == 0


def test_an_empty_record_gives_empty_tables(record):
    assert {frame.height for frame in record().results(analysis).values()} == {0}
