from collections import Counter

import pytest
from hypothesis import given, settings

from pipelines.analyses import loss_causes as analysis
from schemas.derived import ShoeSpells
from tests.analyses import worlds
from tests.analyses.drawing import draw
from tests.analyses.recorded import results_of


def test_a_blank_cause_is_unknown_and_a_shoe_that_was_kept_has_none(record):
    spells = """
    end_reason | cause
    lost       | caught
    lost       |
    lost       | unknown
    lost       | pawing
    renewed    | caught
    """
    causes = record(shoe_spells=draw(ShoeSpells, spells)).results(analysis)["loss_causes"]
    assert causes.rows() == [("unknown", 2, 0.5), ("caught", 1, 0.25), ("pawing", 1, 0.25)]


@settings(deadline=None, max_examples=30)
@given(worlds.spells())
def test_causes_agree_with_a_count_by_hand(rows):
    causes = results_of(analysis, shoe_spells=worlds.frame("shoe_spells", rows))["loss_causes"]
    expected = Counter(row["cause"] or "unknown" for row in rows if row["end_reason"] == "lost")
    assert dict(causes.select("cause", "losses").rows()) == expected
    assert causes["cause_share"].sum() == pytest.approx(1 if expected else 0)
