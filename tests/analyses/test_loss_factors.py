from datetime import date, timedelta
from math import log

import numpy as np
import polars as pl
import pytest

from pipelines.analyses import loss_factors as analysis
from pipelines.analyses.fit_by_pace import BRANCHES
from schemas.derived import ShoeSpells
from schemas.exports import Feet, Horses, Visits
from tests.analyses.drawing import draw, fill

HORSES, SHOES_A_HORSE = 120, 40
TRUE = {"hind": 0.5, "broken": 2.0, "branch 5 mm": {"fast": 1.6, "slow": 1.0}, "bare behind": 0.7, "past the plan": 2.0}


@pytest.fixture(scope="module")
def practice():
    """A practice of 4,800 shoes whose true ratios are known; the horses differ among themselves as well."""
    draw_from = np.random.default_rng(5)
    horses = [{"horse_id": f"h{n}", "discipline": "polo" if n % 2 else "trail"} for n in range(HORSES)]
    spells, feet, visits = [], [], []
    for number, horse in enumerate(horses):
        frailty = draw_from.gamma(4, 0.25)
        for visit in range(SHOES_A_HORSE // 2):
            visit_id, day = f"v{number}-{visit}", date(2024, 1, 1) + timedelta(days=60 * (visit % 6))
            bare = bool(draw_from.random() < 0.4)
            visits.append({"visit_id": visit_id, "horse_id": horse["horse_id"], "visit_date": day, "planned_weeks": 5})
            visits[-1]["visit_kind"] = "routine"
            feet.append({"visit_id": visit_id, "foot": "LH", "arrival": "bare", "work": "trim" if bare else "reset"})
            for foot in ("LF", "RH"):
                branch = float(np.clip(draw_from.normal(4, 4), -5, 14).round(1))
                wall = "broken" if draw_from.random() < 0.3 else "sound"
                pace = "fast" if number % 2 else "slow"
                rate = 0.004 * frailty * TRUE["branch 5 mm"][pace] ** (branch / 5)
                rate *= (TRUE["broken"] if wall == "broken" else 1) * (TRUE["hind"] if foot == "RH" else 1)
                rate *= TRUE["bare behind"] if foot == "LF" and bare else 1
                worn, lost = life(draw_from, rate, due=35, visit=int(draw_from.integers(30, 50)))
                spells.append(
                    {
                        "horse_id": horse["horse_id"], "foot": foot, "fitted_visit_id": visit_id, "fitted_on": day,
                        "ended_on": day + timedelta(days=worn), "end_reason": "lost" if lost else "renewed",
                        "discipline": horse["discipline"], "pace": pace, "branch_past_heel_mm": branch,
                        "wall_state": wall, "season": "summer", "spell_id": f"{visit_id}:{foot}",
                    }
                )  # fmt: skip
    return {
        "shoe_spells": fill(ShoeSpells, spells),
        "feet": fill(Feet, feet),
        "visits": fill(Visits, visits),
        "horses": fill(Horses, [horse | {"horse_name": horse["horse_id"]} for horse in horses]),
    }


def life(draw_from, rate, due, visit):
    spent = draw_from.exponential() / rate
    age = spent if spent <= due else due + (spent - due) / TRUE["past the plan"]
    return (visit, False) if np.ceil(age) > visit else (int(np.ceil(age)), True)


@pytest.fixture(scope="module")
def factors(practice):
    from tests.analyses.recorded import Record

    record = Record(practice, date(2026, 1, 1), None)
    tables = record.results(analysis)
    record.connection.close()
    return tables


def row(tables, factor, level):
    found = tables["loss_factors"].filter(pl.col("factor") == factor, pl.col("level") == level)
    assert found.height == 1, (factor, level)
    return found.to_dicts()[0]


KNOWN = {
    "a hind shoe": ("end", "hind", TRUE["hind"]),
    "a broken wall": ("wall_state", "broken", TRUE["broken"]),
    "5 mm more branch at a fast pace": ("branch_by_pace", "fast", TRUE["branch 5 mm"]["fast"]),
    "5 mm more branch at a slow pace": ("branch_by_pace", "slow", TRUE["branch 5 mm"]["slow"]),
    "bare behind": ("hind_shod", "bare", TRUE["bare behind"]),
    "days past the planned date": ("days_late", "past the planned date", TRUE["past the plan"]),
}


@pytest.mark.parametrize(("factor", "level", "truth"), KNOWN.values(), ids=KNOWN)
def test_a_known_ratio_is_found_to_three_standard_errors_over_all_horses_and_within_them(factors, factor, level, truth):
    found = row(factors, factor, level)
    for ratio, low, high in (("rate_ratio", "low", "high"), ("within_horse_ratio", "within_low", "within_high")):
        error = log(found[high] / found[low]) / (2 * 1.96)
        assert abs(log(found[ratio] / truth)) < 3 * error
        assert error < 0.35


def test_limits_of_leaving_horses_out_lie_around_the_ratio_that_is_set_to_the_middle(factors):
    told = factors["loss_factors"].filter(pl.col("low_left_out").is_not_null())
    assert told.height >= len(KNOWN)
    centre = (told["low_left_out"] * told["high_left_out"]).sqrt()
    assert told["ratio_median_unbiased"].to_list() == pytest.approx(centre.to_list())
    # 120 horses of 40 shoes: little to set right
    moved = (told["ratio_median_unbiased"] / told["rate_ratio"]).log().abs()
    assert 0 < moved.max() < 0.02


def test_a_discipline_never_changes_within_a_horse_so_that_ratio_is_blank(factors):
    found = [row(factors, "discipline", level) for level in ("polo", "trail")]
    assert sorted(level["note"] or "" for level in found) == ["", "reference"]
    assert all(level["within_horse_ratio"] is None for level in found)


def test_a_column_that_is_hardly_ever_filled_in_is_left_out_and_says_so(factors):
    assert row(factors, "clips", "all")["note"] == "left out: filled in for 0 % of shoes"
    assert row(factors, "ground", "all")["note"].startswith("left out: the ground is recorded for losses only")


def test_fit_by_pace_counts_every_shoe_once_and_expects_as_many_losses_as_there_were(factors, practice):
    table = factors["fit_by_pace"]
    lost = practice["shoe_spells"].filter(pl.col("end_reason") == "lost").height
    assert table["shoes"].sum() == practice["shoe_spells"].height
    assert table["losses"].sum() == lost
    assert table["expected"].sum() == pytest.approx(lost)
    fast = table.filter(pl.col("pace") == "fast")
    assert fast["branch_band"].to_list() == list(BRANCHES)
    assert fast["per_1000_days"][3] > fast["per_1000_days"][0]


def test_with_few_losses_every_factor_says_what_is_missing(record):
    spells = draw(
        ShoeSpells,
        """
        horse_id | foot | fitted_on  | ended_on   | end_reason | wall_state
        ash      | LF   | 2025-01-01 | 2025-01-21 | lost       | broken
        bay      | LF   | 2025-01-01 | 2025-02-10 | renewed    | sound
        """,
    )
    table = record(shoe_spells=spells).results(analysis)["loss_factors"]
    assert table["rate_ratio"].is_null().all()
    assert table["note"].is_not_null().all()


def test_an_empty_record_says_that_too(record):
    tables = record().results(analysis)
    assert tables["loss_factors"]["note"].str.starts_with("left out").all()
    assert tables["fit_by_pace"].is_empty()
