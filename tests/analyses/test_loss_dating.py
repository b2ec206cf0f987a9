from pipelines.analyses import loss_dating as analysis
from schemas.derived import ShoeSpells
from tests.analyses.drawing import draw


def test_a_loss_known_only_within_over_a_week_is_wide_and_one_found_on_its_day_is_exact(record):
    spells = """
    fitted_on  | ended_on   | end_reason | lost_after | lost_by
    2025-01-01 | 2025-01-30 | lost       | 2025-01-01 | 2025-01-30
    2025-01-01 | 2025-01-05 | lost       | 2025-01-01 | 2025-01-08
    2025-01-01 | 2025-01-05 | lost       | 2025-01-01 | 2025-01-09
    2025-01-01 | 2025-02-20 | renewed    |            |
    """
    found = record(shoe_spells=draw(ShoeSpells, spells)).results(analysis)["loss_dating"]
    assert found.filter(dimension="all").rows() == [("all", "all", 3, 1)]
