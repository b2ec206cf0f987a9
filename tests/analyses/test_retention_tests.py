import pytest

from pipelines.analyses import retention_tests as analysis
from schemas.derived import ShoeSpells
from tests.analyses.drawing import draw

SPELLS = """
    foot | fitted_on  | ended_on   | end_reason | pace
    LF   | 2025-01-01 | 2025-01-02 | lost       | fast
    RF   | 2025-01-01 | 2025-01-03 | lost       | fast
    LH   | 2025-01-01 | 2025-01-03 | lost       | fast
    RH   | 2025-01-01 | 2025-01-04 | renewed    |
"""


def compared(record, drawing):
    table = record(shoe_spells=draw(ShoeSpells, drawing)).results(analysis)["retention_tests"]
    return {row.pop("dimension"): row for row in table.to_dicts()}


def test_front_against_hind_worked_by_hand(record):
    expected = 1 * 2 / 4 + 2 * 1 / 3
    variance = 1 / 4 + 2 * (1 / 3) * (2 / 3) * (1 / 2)
    found = compared(record, SPELLS)["end"]
    assert found["chi2"] == pytest.approx((2 - expected) ** 2 / variance)
    assert found["df"] == 1
    assert 0 < found["p_value"] < 1


def test_a_level_that_is_not_recorded_is_no_level(record):
    assert compared(record, SPELLS)["pace"] == {
        "chi2": None,
        "df": 0,
        "p_value": None,
        "chi2_clustered": None,
        "p_clustered": None,
    }


def test_every_dimension_has_a_row_even_of_an_empty_record(record):
    found = compared(record, "")
    assert list(found) == ["discipline", "pace", "end", "foot", "season", "shoe_style"]
    assert all(row["chi2"] is None for row in found.values())


def test_one_horse_that_pulls_every_shoe_is_no_proof_against_its_kind_of_work(record):
    """By shoe it looks certain; with horses as the units it is one horse of eight."""
    rows = [
        f"{horse}-{place} | {horse} | LF | 2025-01-01 | 2025-02-{10 + place:02} | "
        f"{'lost' if horse == 'a' else 'renewed'} | {'polo' if horse in 'abcd' else 'hunting'}"
        for horse in "abcdefgh"
        for place in range(12)
    ]
    head = "spell_id | horse_id | foot | fitted_on | ended_on | end_reason | discipline"
    found = compared(record, "\n".join([head, *rows]))["discipline"]
    assert found["p_value"] < 0.01
    assert found["p_clustered"] > 0.2
