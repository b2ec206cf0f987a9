from datetime import date, timedelta
from math import exp

import polars as pl
import pytest

from pipelines.analyses import horse_losses, shoe_risk
from pipelines.analyses import interval_guide as analysis
from pipelines.stats.poisson import exact_limits
from schemas.derived import ShoeSpells
from schemas.exports import Horses
from tests.analyses.drawing import fill


def practice(losses):
    """Each horse wears four shoes at a time for 70 days, six times over; so many of its 24 come off on the last day."""
    spells = [
        {
            "horse_id": horse, "foot": foot, "fitted_visit_id": f"{horse}-{visit}", "discipline": "polo",
            "spell_id": f"{horse}-{visit}-{foot}", "fitted_on": date(2025, 1, 1) + timedelta(days=70 * visit),
            "ended_on": date(2025, 1, 1) + timedelta(days=70 * visit + 70),
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


UNEVEN = {"ash": 24, "bay": 0, "elm": 4, "fir": 2, "oak": 14, "yew": 2}


def test_a_discipline_loses_by_its_own_hazard_summed_over_the_bands_up_to_the_booking(record):
    found = guide(record, UNEVEN)
    # All 26 front and 20 hind losses fall on day 70, in the band of days 57 to 84. Bands that would hold under 5 losses
    # at the rate of all ages go together: in front days 0 to 14, behind 0 to 28 and 28 to 84.
    at_ten = 2 * 26 / (72 * 14) * 14 + 2 * 20 / (72 * 42) * 42
    row = found["polo", 10]
    assert row["shoes_at_once"] == 4
    assert row["chance_of_a_loss"] == pytest.approx(1 - exp(-at_ten))
    assert row["expected_losses"] == pytest.approx(2 * (1 - exp(-26 / 72)) + 2 * (1 - exp(-20 / 72)))
    assert row["losses_per_year"] == pytest.approx(row["expected_losses"] * 365.25 / 70)
    assert found["polo", 8]["chance_of_a_loss"] == pytest.approx(1 - exp(-2 * 20 / (72 * 42) * 28))
    assert found["polo", 4]["chance_of_a_loss"] == 0


def test_a_discipline_s_limits_take_horses_as_the_units(record):
    row = guide(record, UNEVEN)["polo", 10]
    by_shoe = [1 - exp(-limit / 46 * (52 + 40) / 72) for limit in exact_limits(46)]
    assert row["low"] < by_shoe[0]
    assert row["high"] > by_shoe[1]


def test_a_horse_s_guide_brings_over_its_own_days_what_its_shrunk_ratio_says(record):
    """Also the horse that holds a share of its group so large that it is none of its own peers."""
    made = record(**practice(UNEVEN | {"bay": 7, "yew": 5}))
    counts = made.counts(analysis)
    sums = shoe_risk.horse_sums(counts["cells"], shoe_risk.hazard_by_age(counts))
    found = made.results(horse_losses)["horse_losses"]
    own = sums.join(shoe_risk.peers_ratios(sums, found), on="horse_id").join(found, on="horse_id")
    assert (own["peers"] * own["usual"] - own["expected"]).abs().max() < 1e-9


def test_a_booking_nobody_was_followed_to_is_left_blank(record):
    made = practice(UNEVEN)
    made["shoe_spells"] = made["shoe_spells"].with_columns(
        ended_on=pl.col("fitted_on") + pl.duration(days=40), days_on=pl.lit(40, pl.Int64)
    )
    table = record(**made).results(analysis)["interval_guide"].filter(level="polo", weeks=6)
    assert table["chance_of_a_loss"][0] is None
    assert table["note"][0] == "fewer than 10 shoes of this discipline were followed so long"


def test_a_horse_that_pulls_shoes_has_a_higher_chance_and_a_quiet_one_not_none(record):
    found = guide(record, UNEVEN)
    worst, usual, best = (found[level, 10] for level in ("ash", "polo", "bay"))
    assert worst["chance_of_a_loss"] > usual["chance_of_a_loss"] > best["chance_of_a_loss"] > 0
    assert all(row["low"] < row["chance_of_a_loss"] < row["high"] for row in (worst, usual, best))


def test_horses_alike_beyond_chance_share_their_discipline_s_chance(record):
    found = guide(record, dict.fromkeys(UNEVEN, 2))
    assert found["ash", 10]["chance_of_a_loss"] == pytest.approx(found["polo", 10]["chance_of_a_loss"])
    assert (found["ash", 10]["low"], found["ash", 10]["note"]) == (None, analysis.ALIKE)


def test_with_few_peers_a_horse_has_no_range_and_with_few_horses_a_kind_of_work_has_none(record):
    found = guide(record, {"ash": 12, "bay": 2, "elm": 0})
    assert (found["ash", 10]["low"], found["ash", 10]["note"]) == (None, analysis.FEW_PEERS)
    assert found["polo", 10]["low"] is None
    assert "fewer than 5 horses" in found["polo", 10]["note"]


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
