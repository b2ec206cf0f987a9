from pipelines.analyses import retention_interval as analysis
from schemas.derived import ShoeSpells
from tests.analyses.drawing import draw


def curve(record, drawing, level="all"):
    table = record(shoe_spells=draw(ShoeSpells, drawing)).results(analysis)["retention_interval"]
    return [(r["day_from"], r["day_to"], r["kept"]) for r in table.to_dicts() if r["level"] == level]


def test_a_loss_between_two_days_and_one_reported_that_day_come_each_to_their_own_interval(record):
    # The first was found off on day 10 and seen on day 6; the second was reported on day 9, no day seen being given.
    spells = """
    fitted_on  | ended_on   | end_reason | lost_after | lost_by
    2025-01-01 | 2025-01-09 | lost       | 2025-01-07 | 2025-01-11
    2025-01-01 | 2025-01-20 | lost       | 2025-01-01 | 2025-01-20
    2025-01-01 | 2025-02-10 | renewed    |            |
    2025-01-01 | 2025-02-10 | renewed    |            |
    """
    assert curve(record, spells) == [(6, 10, 0.75), (18, 19, 0.5), (40, None, 0.0)]


def test_a_shoe_lost_on_the_day_of_nailing_has_its_interval(record):
    spells = """
    fitted_on  | ended_on   | end_reason | lost_after | lost_by
    2025-01-01 | 2025-01-01 | lost       | 2025-01-01 | 2025-01-01
    2025-01-01 | 2025-02-10 | renewed    |            |
    """
    assert curve(record, spells) == [(0, 0, 0.5), (40, None, 0.0)]


def test_a_loss_that_could_be_on_the_day_of_nailing_or_after_shares_the_row_of_day_0(record):
    spells = """
    fitted_on  | ended_on   | end_reason | lost_after | lost_by
    2025-01-01 | 2025-01-01 | lost       | 2025-01-01 | 2025-01-01
    2025-01-01 | 2025-01-06 | lost       | 2025-01-01 | 2025-01-11
    """
    assert curve(record, spells) == [(0, 10, 0.0)]


def test_levels_each_have_their_curve_and_one_without_losses_has_none(record):
    spells = """
    foot | fitted_on  | ended_on   | end_reason | lost_after | lost_by
    LF   | 2025-01-01 | 2025-01-09 | lost       | 2025-01-07 | 2025-01-11
    LH   | 2025-01-01 | 2025-02-10 | renewed    |            |
    """
    assert curve(record, spells, "front") == [(6, 10, 0.0)]
    assert curve(record, spells, "hind") == []


def test_an_empty_record_gives_an_empty_table(record):
    assert record().results(analysis)["retention_interval"].is_empty()
