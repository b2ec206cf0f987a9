from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from pipelines.analyses import bruise_burden as analysis
from schemas.derived import BruiseSteps
from schemas.exports import Feet, Horses, Visits
from tests.analyses.drawing import draw, fill
from tests.analyses.recorded import results_of

HORSES = "horse_id | discipline\n ash | trail\n bay | polo"
VISITS = """
    visit_id | horse_id | visit_date
    a1       | ash      | 2025-01-01
    a2       | ash      | 2025-01-11
    a3       | ash      | 2025-01-21
    a4       | ash      | 2025-01-31
    b1       | bay      | 2025-03-01
    b2       | bay      | 2025-03-11
    b9       | bay      | 2026-02-01
"""
# Ash's left fore: bruised at the first look, still bruised, clear, bruised again. Bay's is seen after the as-of date.
FEET = """
    visit_id | foot | bruise_grade | bruise_site
    a1       | LF   | 1            | toe
    a2       | LF   | 2            | toe
    a3       | LF   | 0            |
    a4       | LF   | 1            | body
    a1       | RF   | 0            |
    a2       | RF   |              |
    b1       | LF   | 0            |
    b2       | LF   | 3            |
    b9       | LF   | 1            | toe
"""
STEPS = """
    horse_id | foot | from_date  | to_date    | bruise_from | bruise_to | sole_relief
    ash      | LF   | 2025-01-01 | 2025-01-11 | 1           | 2         | true
    ash      | LF   | 2025-01-11 | 2025-01-21 | 2           | 0         | false
    ash      | LF   | 2025-01-21 | 2025-01-31 | 0           | 1         | true
    bay      | LF   | 2025-03-01 | 2025-03-11 | 0           | 3         |
    ash      | RF   | 2025-01-01 | 2025-01-01 | 0           | 1         | false
"""


@pytest.fixture
def results(record):
    tables = {"horses": draw(Horses, HORSES), "visits": draw(Visits, VISITS), "feet": draw(Feet, FEET)}
    return record(bruise_steps=draw(BruiseSteps, STEPS), **tables).results(analysis)


def curve(results, dimension, level):
    rows = results["bruise_burden"].filter(dimension=dimension, level=level)
    return {row["day"]: (row["feet"], row["mean_episodes"]) for row in rows.to_dicts()}


def test_an_episode_begins_at_a_bruised_first_look_and_from_clear_to_bruised(results):
    # Three feet at their first look, one of them bruised; RF is not looked at again, so two are followed from then on.
    third = 1 / 3
    assert curve(results, "all", "all") == {
        0: (3, pytest.approx(third)),
        10: (2, pytest.approx(third + 1 / 2)),
        30: (1, pytest.approx(third + 1 / 2 + 1)),
    }


def test_a_discipline_counts_its_own_feet_alone(results):
    assert curve(results, "discipline", "polo") == {0: (1, 0), 10: (1, 1)}
    assert curve(results, "discipline", "trail") == {0: (2, 0.5), 30: (1, 1.5)}


def test_by_sole_relief_a_foot_counts_where_it_stands_on_each_day(results):
    assert curve(results, "sole_relief", "yes") == {0: (0, 0), 30: (1, 1)}
    assert curve(results, "sole_relief", "no") == {0: (0, 0), 20: (1, 0)}


def test_no_shoe_is_worn_between_two_looks_of_one_day(results):
    rows = results["bruise_burden"].filter(dimension="sole_relief", level="no")
    assert rows["mean_episodes"].to_list() == [0, 0]


def test_limits_take_feet_as_independent_and_beside_that_horses(record):
    feet = "visit_id | foot | bruise_grade\n" + "\n".join(
        f"{visit} | {foot} | {int(visit == 'a1')}" for visit in ("a1", "b1") for foot in ("LF", "RF", "LH")
    )
    tables = {"horses": draw(Horses, HORSES), "visits": draw(Visits, VISITS), "feet": draw(Feet, feet)}
    row = record(**tables).results(analysis)["bruise_burden"].row(0, named=True)
    # Each of 6 feet is half an episode off, over 6 feet; three of a horse go together.
    feet_error, horse_error = (6 * (0.5 / 6) ** 2) ** 0.5, (2 * (1.5 / 6) ** 2) ** 0.5
    for name, error in (("high", feet_error), ("high_by_horse", horse_error)):
        assert row[name] == pytest.approx(0.5 * 2.718281828459045 ** (1.959963984540054 * error / 0.5)), name


def test_sites_count_each_look_at_a_bruise_and_where_episodes_begin(results):
    ash = results["bruise_sites"].filter(dimension="horse", level="ash")
    assert ash.select("end", "site", "episodes", "bruised_looks").rows() == [
        ("front", "body", 1, 1),
        ("front", "toe", 1, 2),
    ]
    bay = results["bruise_sites"].filter(dimension="horse", level="bay")
    assert bay.select("site", "episodes").rows() == [("not recorded", 1)]


def test_feet_not_looked_at_are_counted_and_not_taken_for_clear(results):
    everything = results["bruise_looks"].row(0, named=True)
    assert (everything["feet_at_visits"], everything["feet_looked"], everything["bruised_looks"]) == (8, 7, 4)
    assert everything["looked_share"] == 7 / 8


def test_a_long_curve_is_written_on_a_grid_that_keeps_its_first_and_last_day():
    rises = list(range(0, 300, 2))
    assert list(analysis._days(rises[:100], 300))[-2:] == [198, 300]
    days = list(analysis._days(rises, 300))
    assert (days[0], days[1], days[-2], days[-1]) == (0, 14, 294, 300)


def test_a_record_without_a_look_gives_empty_tables(record):
    results = record().results(analysis)
    assert {name: frame.height for name, frame in results.items()} == dict.fromkeys(results, 0)


LOOK = some.tuples(
    some.sampled_from(["ash", "bay"]),
    some.sampled_from(["LF", "RH"]),
    some.integers(1, 5),
    some.sampled_from([None, 0, 0, 1]),
)


@settings(deadline=None, max_examples=25)
@given(some.lists(LOOK, max_size=14))
def test_in_any_small_world_the_mean_is_that_of_a_plain_second_reading(looks):
    rows = [
        {"visit_id": f"v{place:02}", "horse_id": look[0], "visit_date": date(2025, 1, look[2])}
        for place, look in enumerate(looks)
    ]
    feet = [{"visit_id": f"v{place:02}", "foot": look[1], "bruise_grade": look[3]} for place, look in enumerate(looks)]
    found = results_of(analysis, horses=draw(Horses, HORSES), visits=fill(Visits, rows), feet=fill(Feet, feet))
    told = {}
    for _, (horse, foot, day, grade) in sorted(enumerate(looks), key=lambda each: (each[1][2], each[0])):
        if grade is not None:
            told.setdefault((horse, foot), []).append((day, grade))
    mean, expected = 0.0, {}
    for day in range(5):
        watched = [story for story in told.values() if story[-1][0] - story[0][0] >= day]
        begun = sum(
            1
            for story in told.values()
            for before, now in zip([(0, 0), *story], story, strict=False)
            if now[0] - story[0][0] == day and before[1] == 0 and now[1] > 0
        )
        mean += begun / len(watched) if begun else 0
        expected[day] = (len(watched), pytest.approx(mean))
    rows = found["bruise_burden"].filter(dimension="all").to_dicts()
    assert {row["day"]: (row["feet"], row["mean_episodes"]) for row in rows} == {
        row["day"]: expected[row["day"]] for row in rows
    }
    assert bool(rows) == bool(told)
