from collections import defaultdict
from math import exp, factorial

import numpy as np
import pytest
from hypothesis import given, settings
from scipy.optimize import minimize
from scipy.special import pdtr
from scipy.stats import gamma, poisson

from pipelines.analyses import horse_losses as analysis
from schemas.derived import ShoeSpells
from schemas.exports import Horses
from tests.analyses import worlds
from tests.analyses.agreement import assert_agree
from tests.analyses.drawing import draw, fill
from tests.analyses.recorded import results_of

HORSES = """
    horse_id | horse_name | discipline
    ash      | Ash Made Up | trail
    bay      | Bay Made Up | trail
    cob      | Cob Made Up | trail
    dun      | Dun Made Up | trail
    elk      | Elk Made Up | trail
    fox      | Fox Made Up | trail
"""


def horses(record, spells, drawn=HORSES):
    tables = {"shoe_spells": fill(ShoeSpells, spells), "horses": draw(Horses, drawn)}
    return {row["horse_id"]: row for row in record(**tables).results(analysis)["horse_losses"].to_dicts()}


def shoe(horse, days_on, lost=False, foot="LF"):
    return {"horse_id": horse, "days_on": days_on, "end_reason": "lost" if lost else "renewed", "foot": foot}


def test_a_horse_with_no_more_than_a_quarter_of_the_shoe_days_stays_among_its_own_peers(record):
    found = horses(record, [shoe("ash", 7, lost=True), *(shoe(horse, 7) for horse in ("bay", "cob", "dun"))])
    assert found["ash"]["expected"] == pytest.approx(7 * 1 / 28)
    assert found["bay"]["expected"] == pytest.approx(7 * 1 / 28)


def test_a_horse_with_over_a_quarter_is_left_out_of_its_own_peers_but_not_of_the_others(record):
    spells = [shoe("ash", 7, lost=True), shoe("ash", 7, lost=True), shoe("bay", 7, lost=True)]
    spells += [shoe(horse, 7) for horse in ("cob", "dun", "elk")]
    found = horses(record, spells)
    assert found["ash"]["expected"] == pytest.approx(14 * 1 / 28)
    assert found["bay"]["expected"] == pytest.approx(7 * 3 / 42)


def test_the_quarter_is_of_one_age_band_discipline_and_end(record):
    # cob's hind shoe is alone at its end; its front shoes are among four equals.
    spells = [shoe(horse, 7, lost=horse == "ash") for horse in ("ash", "bay", "cob", "dun")]
    spells += [shoe("cob", 7, lost=True, foot="LH"), shoe("bay", 14, lost=True, foot="LH")]
    found = horses(record, spells)
    hind_first_week = 7 * 0 / 7
    assert found["cob"]["expected"] == pytest.approx(7 * 1 / 28 + hind_first_week)


def test_shoe_days_are_split_at_the_ends_of_the_age_bands_which_belong_to_the_younger_band(record):
    # ash's loss on day 14 belongs to the band 7-14, in which bay spends its days 8 to 14.
    spells = [shoe("ash", 14, lost=True), *(shoe(horse, 15) for horse in ("bay", "cob", "dun"))]
    found = horses(record, spells)
    assert found["bay"]["expected"] == pytest.approx(7 * 1 / 28)
    assert found["ash"]["expected"] == pytest.approx(7 * 1 / 28)


def test_where_no_peer_shoe_was_that_old_the_wider_rate_of_the_discipline_stands_in(record):
    found = horses(record, [shoe("ash", 10), shoe("bay", 7, lost=True)])
    assert found["ash"]["expected"] == pytest.approx(7 * 1 / 7 + 3 * 1 / 7)
    assert "wider rate" in found["ash"]["note"]
    assert found["bay"]["note"] == "none of the peers lost a shoe, so there is no ratio"


def test_the_only_horse_of_its_discipline_has_no_ratio_and_a_reason(record):
    found = horses(record, [shoe("ash", 10, lost=True)])["ash"]
    assert (found["losses"], found["expected"], found["ratio"], found["funnel"]) == (1, None, None, None)
    assert found["note"] == "no other horse of this discipline to compare with"


def test_ratio_limits_are_exact_and_the_horse_far_over_its_peers_is_outside_the_funnel(record):
    calm = [shoe(horse, 7, lost=number == 0) for horse in ("bay", "cob", "dun", "elk") for number in range(5)]
    found = horses(record, [*(shoe("ash", 7, lost=True) for _ in range(10)), *calm])
    ash = found["ash"]
    assert ash["expected"] == pytest.approx(70 * 4 / 140)
    assert ash["ratio"] == pytest.approx(5)
    # Exact Poisson limits of 10: 4.795 and 18.390 (Garwood 1936, Biometrika 28:437).
    assert (ash["ratio_low"] * 2, ash["ratio_high"] * 2) == pytest.approx((4.795389, 18.390356))
    assert ash["funnel"] == "above_998"
    assert found["bay"]["funnel"] == "inside"


def test_a_horse_that_was_never_shod_is_not_listed(record):
    assert "fox" not in horses(record, [shoe("ash", 7), shoe("bay", 7, lost=True)])


def test_the_edges_of_the_funnel_put_every_horse_where_its_own_place_says(record):
    spells = [shoe(horse, 7, lost=n < 8) for horse in ("ash", "bay", "cob", "dun") for n in range(10)]
    spells += [shoe("elk", 7, lost=False) for _ in range(10)]
    tables = {"shoe_spells": fill(ShoeSpells, spells), "horses": draw(Horses, HORSES)}
    results = record(**tables).results(analysis)
    bands = {row["expected"]: row for row in results["funnel_bands"].to_dicts()}
    elk = next(row for row in results["horse_losses"].to_dicts() if row["horse_id"] == "elk")
    edge = bands[min(bands, key=lambda expected: abs(expected - elk["expected"]))]
    assert elk["funnel"] == "below_95"
    assert edge["low_998"] <= elk["ratio"] < edge["low_95"] < 1 < edge["high_95"] < edge["high_998"]


BANDS = ((0, 7), (7, 14), (14, 28), (28, 42), (42, 56), (56, 84), (84, 10**6))


def by_hand(rows):
    """Walk every shoe day by day through the bands, then compare each horse with its peers."""
    cells = defaultdict(lambda: [0, 0.0])
    for row in rows:
        for place, (start, stop) in enumerate(BANDS):
            days = sum(start < day <= stop for day in range(1, row["days_on"] + 1))
            if row["days_on"] == 0 and place == 0:
                days = 0.5
            here = start < row["days_on"] <= stop or (row["days_on"] == 0 and place == 0)
            cell = cells[row["horse_id"], row["discipline"], row["end"], place]
            cell[0] += here and row["end_reason"] == "lost"
            cell[1] += days
    cells = {key: cell for key, cell in cells.items() if cell[1]}
    return {horse: _expected(horse, cells) for horse in {row["horse_id"] for row in rows}}


def _expected(horse, cells):
    total = 0.0
    for key, (_, days) in cells.items():
        if key[0] != horse:
            continue
        rates = (_rate(horse, key[1 : 1 + width], cells) for width in (3, 2, 1))
        rate = next((rate for rate in rates if rate is not None), None)
        if rate is None:
            return None
        total += days * rate
    return total


def _rate(horse, group, cells):
    members = {key: cell for key, cell in cells.items() if key[1 : 1 + len(group)] == group}
    days = sum(cell[1] for cell in members.values())
    own = sum(cell[1] for key, cell in members.items() if key[0] == horse)
    if own > days / 4:
        members = {key: cell for key, cell in members.items() if key[0] != horse}
    days = sum(cell[1] for cell in members.values())
    return sum(cell[0] for cell in members.values()) / days if days else None


@settings(deadline=None, max_examples=30)
@given(worlds.spells(longest=90))
def test_every_horse_agrees_with_a_walk_through_the_days(rows):
    names = [{"horse_id": name, "horse_name": name, "discipline": kind} for name, kind in worlds.HORSES.items()]
    table = results_of(analysis, shoe_spells=worlds.frame("shoe_spells", rows), horses=fill(Horses, names))
    expected = by_hand(rows)
    assert set(table["horse_losses"]["horse_id"]) == set(expected)
    for row in table["horse_losses"].to_dicts():
        assert_agree([row["expected"]], [expected[row["horse_id"]]], row["horse_id"])
        assert (row["ratio"] is None) == (not row["expected"])
        if row["funnel"]:
            below, above = pdtr(row["losses"], row["expected"]), 1 - pdtr(row["losses"] - 1, row["expected"])
            outside = below < 0.025 or (row["losses"] > 0 and above <= 0.025)
            assert (row["funnel"] != "inside") == outside
        assert row["first_alarm"] == registry_marks(row)


def registry_marks(row):
    """Adds up the Poisson terms below the count, as one would by hand."""
    if not row["expected"]:
        return None
    fewer = sum(exp(-row["expected"]) * row["expected"] ** k / factorial(k) for k in range(row["losses"]))
    return row["shoes"] >= 10 and row["losses"] > 2 * row["expected"] and 1 - fewer < 0.05


def shod(losses_and_shoes):
    """Shoes of 7 days each, so that every horse is a peer of every other in the first week of front shoes."""
    return [
        shoe(horse, 7, lost=number < losses)
        for horse, (losses, shoes) in losses_and_shoes.items()
        for number in range(shoes)
    ]


UNLIKE = {"ash": (9, 20), "bay": (1, 20), "cob": (0, 20), "dun": (3, 20), "elk": (2, 4), "fox": (0, 4)}


LOGS = np.linspace(-40, 5, 40_001)
RATIOS = np.exp(LOGS)


def beliefs(rows, shape, rate):
    """Each horse's chance of its losses and of every true ratio at once, on a fine grid of the ratio's logarithm."""
    prior = gamma.pdf(RATIOS, shape, scale=1 / rate) * RATIOS * (LOGS[1] - LOGS[0])
    return [prior * poisson.pmf(row["losses"], row["expected"] * RATIOS) for row in rows]


def test_shrunk_ratios_are_those_of_the_likeliest_spread_by_adding_up_over_all_ratios(record):
    rows = list(horses(record, shod(UNLIKE)).values())

    def away(logs):
        return -sum(np.log(belief.sum()) for belief in beliefs(rows, *np.exp(logs)))

    best = np.exp(minimize(away, [0.0, 0.0], method="Nelder-Mead", options={"xatol": 1e-8, "fatol": 1e-12}).x)
    for row, belief in zip(rows, beliefs(rows, *best), strict=True):
        belief = belief / belief.sum()
        mean, double = belief @ RATIOS, belief[RATIOS > 2].sum()
        below, above = belief[row["shrunk_low"] > RATIOS].sum(), belief[row["shrunk_high"] < RATIOS].sum()
        assert row["shrunk_ratio"] == pytest.approx(mean, rel=1e-5)
        assert (row["chance_above_double"], below, above) == pytest.approx((double, 0.025, 0.025), abs=1e-3)


def test_horses_stand_in_the_order_of_the_shrunk_ratio_and_few_shoes_count_for_little(record):
    found = horses(record, shod(UNLIKE))
    assert list(found) == ["ash", "elk", "dun", "fox", "bay", "cob"]
    assert found["elk"]["ratio"] > found["ash"]["ratio"]
    assert found["bay"]["ratio"] > found["fox"]["ratio"]
    assert 1 < found["elk"]["shrunk_ratio"] < found["elk"]["ratio"]
    assert found["ash"]["chance_above_double"] > 0.5 > 0.1 > found["cob"]["chance_above_double"]


def test_horses_that_differ_no_more_than_chance_share_one_ratio_and_the_note_says_so(record):
    found = horses(record, shod(dict.fromkeys(("ash", "bay", "cob", "dun"), (2, 10))))["bay"]
    assert [found[name] for name in analysis.SHRUNK] == pytest.approx([1, 1, 1, 0])
    assert "no more than chance" in found["note"]


def test_a_horse_without_peers_stands_last_without_a_shrunk_ratio(record):
    drawn = HORSES + "    gum      | Gum Made Up | polo"
    alone = shoe("gum", 7, lost=True) | {"discipline": "polo"}
    found = horses(record, [*shod(UNLIKE), alone], drawn)
    assert list(found)[-1] == "gum"
    assert [found["gum"][name] for name in (*analysis.SHRUNK, "first_alarm")] == [None] * 5


def test_the_registrys_first_alarm_wants_ten_shoes_and_over_twice_the_losses_expected(record):
    # Peers of a large horse are the others alone: ash has 5 losses where 2 are expected (P(5 or more) = 0.0527),
    # or 6 (0.0166).
    calm = {horse: (1, 10) for horse in ("bay", "cob", "dun", "elk")}
    assert not horses(record, shod(calm | {"ash": (5, 20)}))["ash"]["first_alarm"]
    assert horses(record, shod(calm | {"ash": (6, 20)}))["ash"]["first_alarm"]
    many = {horse: (1, 20) for horse in ("bay", "cob", "dun", "elk")}
    few = horses(record, [*shod(many), *(shoe("ash", 28, lost=n < 6, foot="LF") for n in range(9))])["ash"]
    assert few["ratio"] > 2
    assert not few["first_alarm"]
