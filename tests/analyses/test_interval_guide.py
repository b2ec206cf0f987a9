from datetime import date, timedelta
from math import exp

import pytest

from pipelines.analyses import interval_guide as analysis
from schemas.derived import ShoeSpells
from schemas.exports import Horses
from tests.analyses.drawing import fill


def practice(losses):
    """Each horse wears four shoes at a time for 40 days, six times over; so many of its 24 come off on the last day."""
    spells = [
        {
            "horse_id": horse, "foot": foot, "fitted_visit_id": f"{horse}-{visit}", "discipline": "polo",
            "spell_id": f"{horse}-{visit}-{foot}", "fitted_on": date(2025, 1, 1) + timedelta(days=40 * visit),
            "ended_on": date(2025, 1, 1) + timedelta(days=40 * visit + 40),
            "end_reason": "lost" if 4 * visit + place < lost else "renewed",
        }
        for horse, lost in losses.items()
        for visit in range(6)
        for place, foot in enumerate(["LF", "RF", "LH", "RH"])
    ]  # fmt: skip
    horses = [{"horse_id": horse, "horse_name": horse, "discipline": "polo"} for horse in losses]
    return {"shoe_spells": fill(ShoeSpells, spells), "horses": fill(Horses, horses)}


def guide(record, losses):
    table = record(**practice(losses)).results(analysis)["interval_guide"]
    return {(row["level"], row["weeks"]): row for row in table.to_dicts()}


UNEVEN = {"ash": 14, "bay": 0, "elm": 0, "fir": 1, "oak": 2, "yew": 1}


def test_a_discipline_loses_by_its_own_hazard_summed_over_the_bands_up_to_the_booking(record):
    found = guide(record, UNEVEN)
    # The losses fall in the band of days 29 to 42, in which each shoe was worn for 12 days.
    rates = {"front": 12 / (72 * 12), "hind": 6 / (72 * 12)}
    shoes = sum(2 * rate * 14 for rate in rates.values())
    row = found["polo", 6]
    assert row["shoes_at_once"] == 4
    assert row["chance_of_a_loss"] == pytest.approx(1 - exp(-shoes))
    assert row["expected_losses"] == pytest.approx(sum(2 * (1 - exp(-rate * 14)) for rate in rates.values()))
    assert found["polo", 4]["chance_of_a_loss"] == 0


def test_a_horse_that_pulls_shoes_has_a_higher_chance_and_a_quiet_one_not_none(record):
    found = guide(record, UNEVEN)
    worst, usual, best = (found[level, 6] for level in ("ash", "polo", "bay"))
    assert worst["chance_of_a_loss"] > usual["chance_of_a_loss"] > best["chance_of_a_loss"] > 0
    assert all(row["low"] < row["chance_of_a_loss"] < row["high"] for row in (worst, usual, best))


def test_horses_alike_beyond_chance_share_their_discipline_s_chance(record):
    found = guide(record, dict.fromkeys(UNEVEN, 2))
    assert found["ash", 6]["chance_of_a_loss"] == pytest.approx(found["polo", 6]["chance_of_a_loss"])


def test_a_longer_interval_never_loses_fewer(record):
    found = guide(record, UNEVEN)
    for level in ("ash", "polo"):
        chances = [found[level, weeks]["chance_of_a_loss"] for weeks in range(4, 11)]
        assert chances == sorted(chances)


def test_where_no_shoe_was_lost_there_is_no_rate_and_the_note_says_so(record):
    row = guide(record, dict.fromkeys(UNEVEN, 0))["ash", 6]
    assert row["chance_of_a_loss"] is None
    assert row["note"] == "no horse of this discipline lost a shoe: no rate to go by"


def test_an_empty_record_gives_an_empty_table(record):
    assert record().results(analysis)["interval_guide"].is_empty()
