"""Ranges of a season's loss rate and of its ratio to the season before take horses as the units, not shoes."""

from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest
from scipy.stats import chi2, t

from pipelines.analyses import loss_rates, season_compare, season_review
from pipelines.analyses.season_rates import rate_limits, ratio_limits
from reports.picking import rate_limits as rate_limits_shown
from schemas.derived import ShoeSpells
from tests.analyses.drawing import fill

SEASON = (date(2025, 1, 1), date(2025, 12, 31))
ALIKE = [(2, 400.0)] * 12
# As many losses and days, but half of the losses are of one horse.
APART = [(12, 400.0)] + [(2, 400.0)] * 6 + [(0, 400.0)] * 5


def herd(figures):
    rows = [(f"h{place:02}", *both) for place, both in enumerate(figures)]
    return pl.DataFrame(rows, schema={"horse_id": pl.String, "losses": pl.Int64, "shoe_days": pl.Float64}, orient="row")


def exact(figures):
    losses, days = (sum(part) for part in zip(*figures, strict=True))
    return tuple(chi2.ppf([0.025, 0.975], [2 * losses, 2 * losses + 2]) / 2 / days)


def test_horses_that_differ_widen_the_range_and_horses_that_are_alike_leave_it_exact():
    assert rate_limits(herd(ALIKE)) == pytest.approx(exact(ALIKE))
    low, high = rate_limits(herd(APART))
    exact_low, exact_high = exact(APART)
    assert low < 0.8 * exact_low
    assert high > 1.2 * exact_high


@pytest.mark.parametrize("figures", [[], [(3, 400.0)] * 4, [(3, 400.0)] * 4 + [(0, 0.0)] * 3])
def test_of_fewer_than_5_horses_with_a_shoe_on_no_range_is_told(figures):
    assert rate_limits(herd(figures)) == (None, None)
    assert ratio_limits(herd(figures), herd(ALIKE)) == ratio_limits(herd(ALIKE), herd(figures)) == (None, None)


def test_losses_that_are_all_of_one_horse_do_not_make_a_narrow_range():
    alone = [(9, 400.0)] + [(0, 400.0)] * 7
    assert rate_limits(herd(alone)) == (None, None)
    assert ratio_limits(herd(alone), herd(ALIKE)) == (None, None)


def test_the_ratio_leaves_each_horse_out_of_both_seasons_at_once():
    before = [(1, 380.0), (4, 300.0), *[(1, 350.0)] * 9]
    low, high = ratio_limits(herd(APART), herd(before).sort("losses"))
    sides = np.array([[*APART[place], *(before[place] if place < 11 else (0, 0.0))] for place in range(12)])

    def ratio(rows):
        a, b, c, d = rows.sum(axis=0)
        return np.log(a / b / (c / d))

    moves = np.array([ratio(np.delete(sides, place, 0)) for place in range(12)]) - ratio(sides)
    half = t.ppf(0.975, 11) * np.sqrt(11 / 12 * np.sum(moves**2))
    assert (low, high) == pytest.approx((np.exp(ratio(sides) - half), np.exp(ratio(sides) + half)))


@pytest.fixture
def practice():
    """Seven horses of uneven luck; each shoe is on for 30 days of 2025, and 2024 has one more of each horse."""
    rows = []
    for place, losses in enumerate((6, 0, 1, 0, 2, 0, 1)):
        for shoe in range(8):
            fitted = date(2025, 1, 1) + timedelta(40 * shoe) if shoe < 7 else date(2024, 6, 1)
            reason = "lost" if shoe < losses or (shoe == 7 and place % 2) else "renewed"
            ends = {"ended_on": fitted + timedelta(30), "days_on": 30, "end_reason": reason}
            rows.append({"horse_id": f"h{place}", "foot": "LF", "fitted_on": fitted, **ends})
    return fill(ShoeSpells, rows)


def test_a_season_that_is_the_whole_record_has_the_range_of_the_whole_record(record, practice):
    # Days count from the day after nailing, and the first shoe is nailed on the first day of the season.
    spells = practice.filter(pl.col("fitted_on") >= SEASON[0])
    kept = record(season=SEASON, shoe_spells=spells)
    review = kept.results(season_review)["season_review"].row(0, named=True)
    compared = kept.results(season_compare)["season_compare"].row(0, named=True)
    rates = kept.results(loss_rates)["loss_rates"].filter(dimension="all").row(0, named=True)
    assert (review["low"], review["high"]) == pytest.approx(rate_limits_shown(rates))
    assert (compared["low"], compared["high"]) == (review["low"], review["high"])
    assert review["low"] < rates["low"], "shoes of one horse go together"


def test_the_ratio_has_a_range_with_enough_horses_and_the_note_says_where_there_are_too_few(record, practice):
    this, before = record(season=SEASON, shoe_spells=practice).results(season_compare)["season_compare"].to_dicts()
    assert this["ratio_low"] < this["ratio"] < this["ratio_high"]
    assert (this["note"], before["note"]) == (None, None)
    few = practice.filter(pl.col("horse_id") < "h4")
    this, before = record(season=SEASON, shoe_spells=few).results(season_compare)["season_compare"].to_dicts()
    assert this["ratio"] > 0
    assert (this["low"], this["high"], this["ratio_low"], this["ratio_high"]) == (None,) * 4
    assert this["note"] == before["note"] == "fewer than 5 horses, or one has most of the losses: no range"
