from math import exp, log, sqrt

import pytest
from scipy.stats import t

from pipelines.analyses import bruise_patterns as analysis
from schemas.derived import BruiseSteps
from schemas.exports import Feet, Horses, Visits
from tests.analyses.drawing import draw, fill

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
    assert found["end", "hind"]["note"] == "fewer than 5 horses: no limits"
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


# Each horse's looks at both fronts: (left bruised, right bruised) at every visit.
LOOKS = {
    "ash": [(1, 1), (1, 0), (0, 0), (0, 0)],
    "bay": [(0, 0), (0, 0), (0, 1), (1, 1)],
    "cob": [(0, 0), (0, 0)],
    "dun": [(1, 1), (0, 0), (0, 0)],
    "elm": [(1, 0), (0, 0), (0, 1), (0, 0)],
}


def fronts(record, looks):
    visits, feet = [], []
    for horse, pairs in looks.items():
        for place, (left, right) in enumerate(pairs):
            visit = f"{horse}{place}"
            visits.append({"visit_id": visit, "horse_id": horse, "visit_date": "2025-02-01"})
            feet += [{"visit_id": visit, "foot": "LF", "bruise_grade": left}]
            feet += [{"visit_id": visit, "foot": "RF", "bruise_grade": 2 * right}]
    horses = fill(Horses, [{"horse_id": horse, "discipline": "trail"} for horse in looks])
    found = record(horses=horses, visits=fill(Visits, visits), feet=fill(Feet, feet)).results(analysis)
    return levels(found["both_fronts"])["all", "all"]


def tallies(looks):
    """(both, left, right, looks) of each horse."""
    return [(sum(a * b for a, b in each), *map(sum, zip(*each, strict=True)), len(each)) for each in looks.values()]


def jackknifed(parts, measure):
    """measure of the sums over horses, with limits from leaving each horse out in turn, on the log."""
    whole = measure([sum(column) for column in zip(*parts, strict=True)])
    moves = []
    for out in range(len(parts)):
        rest = parts[:out] + parts[out + 1 :]
        moves.append(log(measure([sum(column) for column in zip(*rest, strict=True)]) / whole))
    error = t.ppf(0.975, len(parts) - 1) * sqrt((len(parts) - 1) / len(parts) * sum(move**2 for move in moves))
    return whole, whole * exp(-error), whole * exp(error)


def test_both_fronts_over_chance_have_limits_that_leave_each_horse_out_in_turn(record):
    everything = fronts(record, LOOKS)
    expected = jackknifed(tallies(LOOKS), lambda sums: sums[0] * sums[3] / (sums[1] * sums[2]))
    assert [everything[name] for name in ("ratio", "ratio_low", "ratio_high")] == pytest.approx(expected)
    assert everything["ratio"] == pytest.approx(everything["both_share"] / everything["share_by_chance"])


def test_the_own_ratio_sets_each_horse_beside_its_own_feet_only(record):
    everything = fronts(record, LOOKS)
    parts = [(both, left * right / looks) for both, left, right, looks in tallies(LOOKS)]
    expected = jackknifed(parts, lambda sums: sums[0] / sums[1])
    assert [everything[f"own_ratio{end}"] for end in ("", "_low", "_high")] == pytest.approx(expected)


def test_horses_that_bruise_more_than_others_bring_feet_together_overall_but_not_within_a_horse(record):
    # within each horse the two feet have nothing to do with one another; two horses bruise often, eight hardly
    often = [(1, 1), (1, 0), (0, 1), (0, 0)] * 4
    never = [(0, 0)] * 16
    looks = {f"often{place}": often for place in range(2)} | {f"never{place}": never for place in range(8)}
    everything = fronts(record, looks)
    assert everything["ratio"] == pytest.approx(5)
    assert everything["own_ratio"] == pytest.approx(1)


def test_below_five_horses_there_are_no_limits_and_the_note_says_so(record):
    four = fronts(record, {horse: LOOKS[horse] for horse in ("ash", "bay", "dun", "elm")})
    assert four["note"] == "fewer than 5 horses: no limits"
    assert [four[name] for name in ("low", "high", "ratio_low", "ratio_high", "own_ratio_low")] == [None] * 5
    assert four["ratio"] is not None
    five = fronts(record, LOOKS)
    assert five["note"] is None
    assert five["low"] < five["both_share"] < five["high"]


def test_without_a_bruise_on_one_side_nothing_is_said_of_chance(record):
    none = fronts(record, {horse: [(0, 0), (0, 1)] for horse in LOOKS})
    assert (none["both_bruised"], none["ratio"], none["own_ratio"], none["ratio_low"]) == (0, None, None, None)


def test_an_empty_record_gives_empty_tables(record):
    assert {frame.height for frame in record().results(analysis).values()} == {0}
