import pytest

from pipelines.analyses import bruise_patterns as analysis
from schemas.derived import BruiseSteps
from schemas.exports import Feet, Horses, Visits
from tests.analyses.drawing import draw

# Five bruises were there again with a site both times; three of them lay where they had lain.
STEPS = """
    horse_id | foot | bruise_from | bruise_to | site_from    | site_to
    ash      | LF   | 1           | 2         | toe          | toe
    ash      | LF   | 2           | 1         | toe          | heel_lateral
    ash      | RF   | 1           | 1         | heel_medial  | heel_medial
    bay      | LH   | 1           | 1         | toe          | toe
    bay      | LH   | 1           | 1         | body         | toe
    bay      | LH   | 1           | 1         | toe          |
    bay      | LH   | 1           | 0         | toe          | toe
    cob      | LF   | 0           | 1         | toe          | toe
"""
HORSES = "horse_id | discipline\n ash | trail\n bay | trail\n cob | polo"
VISITS = """
    visit_id | horse_id | visit_date
    a1       | ash      | 2025-01-01
    a2       | ash      | 2025-02-01
    a3       | ash      | 2025-03-01
    b1       | bay      | 2025-01-01
    b2       | bay      | 2025-02-01
    b9       | bay      | 2026-02-01
"""
FEET = """
    visit_id | foot | bruise_grade
    a1       | LF   | 1
    a1       | RF   | 2
    a2       | LF   | 1
    a2       | RF   | 0
    a3       | LF   | 1
    a3       | RF   |
    b1       | LF   | 0
    b1       | RF   | 0
    b2       | RF   | 1
    b2       | LF   | 0
    b2       | LH   | 3
    b9       | LF   | 1
    b9       | RF   | 1
"""


@pytest.fixture
def results(record):
    tables = {"horses": draw(Horses, HORSES), "visits": draw(Visits, VISITS), "feet": draw(Feet, FEET)}
    return record(bruise_steps=draw(BruiseSteps, STEPS), **tables).results(analysis)


def levels(table):
    return {(row["dimension"], row["level"]): row for row in table.to_dicts()}


def test_only_a_bruise_that_is_there_again_with_a_site_both_times_returns(results):
    found = levels(results["bruise_returns"])
    everything = found["all", "all"]
    assert (everything["returns"], everything["same_site"], everything["same_share"]) == (5, 3, 0.6)
    assert found["end", "hind"]["same_share"] == 0.5
    assert found["end", "hind"]["note"] == "one horse only: no limits"
    assert ("discipline", "polo") not in found


def test_a_site_is_told_by_where_the_bruise_first_lay_and_has_no_share_by_chance(results):
    toe = levels(results["bruise_returns"])["site", "toe"]
    assert (toe["returns"], toe["same_site"], toe["share_by_chance"]) == (3, 2, None)


def test_the_share_by_chance_is_the_product_of_the_margins_over_sites(results):
    # First: toe 3, body 1, inner heel 1. Second: toe 3, outer heel 1, inner heel 1.
    assert levels(results["bruise_returns"])["all", "all"]["share_by_chance"] == pytest.approx((9 + 1) / 25)


def test_both_fronts_are_counted_where_both_were_looked_at(results):
    everything = levels(results["both_fronts"])["all", "all"]
    counted = ("horses", "pair_looks", "one_bruised", "both_bruised", "both_share")
    assert tuple(everything[name] for name in counted) == (2, 4, 2, 1, 0.25)
    assert everything["share_by_chance"] == pytest.approx(2 / 4 * 2 / 4)


def test_limits_have_horses_as_the_sampling_units(results):
    everything = levels(results["both_fronts"])["all", "all"]
    # Ash has 1 of 2 and bay 0 of 2: each half a look from the share, twice over one, over 4 looks, on the logit.
    error = (2 * (0.5**2 + 0.5**2)) ** 0.5 / 4 / (0.25 * 0.75)
    odds = (1 / 3) * 2.718281828459045 ** (1.959963984540054 * error)
    assert everything["high"] == pytest.approx(odds / (1 + odds))
    assert everything["low"] < 0.25 < everything["high"]


def test_an_empty_record_gives_empty_tables(record):
    assert {frame.height for frame in record().results(analysis).values()} == {0}
