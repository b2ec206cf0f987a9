from pipelines.analyses import loss_dating as analysis
from schemas.derived import ShoeSpells
from schemas.exports import Losses, Visits
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
    assert found.filter(dimension="all").rows() == [("all", "all", 3, 1, 0)]


VISITS = """
    visit_id | horse_id | visit_date | visit_kind
    nailing  | ash      | 2025-01-01 | routine
    call     | ash      | 2025-01-30 | lost_shoe
    routine  | bay      | 2025-01-30 | routine
    told     | cob      | 2025-01-30 | lost_shoe
"""
SPELLS = """
    horse_id | fitted_on  | ended_on   | end_reason | lost_after | lost_by
    ash      | 2025-01-01 | 2025-01-16 | lost       | 2025-01-01 | 2025-01-30
    bay      | 2025-01-01 | 2025-01-16 | lost       | 2025-01-01 | 2025-01-30
    cob      | 2025-01-01 | 2025-01-16 | lost       | 2025-01-01 | 2025-01-30
"""
LOSSES = """
    loss_id | horse_id | foot | found_off
    other   | cob      | LH   | 2025-01-28
"""


def test_a_wide_loss_at_a_call_out_is_counted_where_nobody_gave_a_day_for_what_it_was_called_to(record):
    tables = {"shoe_spells": draw(ShoeSpells, SPELLS), "visits": draw(Visits, VISITS), "losses": draw(Losses, LOSSES)}
    found = record(**tables).results(analysis)["loss_dating"]
    assert found.filter(dimension="all").rows() == [("all", "all", 3, 3, 1)]
