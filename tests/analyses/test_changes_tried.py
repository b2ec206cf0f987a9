from collections import defaultdict
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import nbinom

from pipelines.analyses import changes_tried as analysis
from pipelines.analyses import horse_losses
from pipelines.simulate import simulate
from pipelines.stats.gamma_poisson import gamma_poisson
from schemas.derived import ShoeSpells
from schemas.exports import Changes, Horses
from tests.analyses import worlds
from tests.analyses.agreement import assert_agree
from tests.analyses.drawing import draw, fill
from tests.analyses.recorded import results_of

ENDS = (7, 14, 28, 42, 56, 84)
BEFORE_AFTER = ("before", "after")


def tried(spells, changes, module=analysis):
    names = [{"horse_id": name, "horse_name": name, "discipline": work} for name, work in worlds.HORSES.items()]
    tables = {"shoe_spells": fill(ShoeSpells, spells), "horses": fill(Horses, names), "changes": fill(Changes, changes)}
    return results_of(module, **tables)


def band_of(age):
    return sum(age > end for end in ENDS)


def a_day_at_a_time(spell):
    """Each day a shoe was at risk: its date, its length, its age band and whether the shoe was lost on it."""
    lost = spell["end_reason"] == "lost"
    if spell["days_on"] == 0:
        yield spell["fitted_on"], 0.5, 0, lost
    for age in range(1, spell["days_on"] + 1):
        yield spell["fitted_on"] + timedelta(age), 1.0, band_of(age), lost and age == spell["days_on"]


def side_of(spell, day, changed_on):
    """A shoe nailed on the day of the change comes after it, and any other day up to that day before it."""
    before = day <= changed_on and spell["fitted_on"] < changed_on
    if abs((day - changed_on).days) > 365 or (before and (changed_on - day).days == 365 and spell["days_on"]):
        return None
    return "before" if before else "after"


def counted(spells, change, rates):
    sums = defaultdict(float)
    for spell in spells:
        if spell["horse_id"] != change["horse_id"] or change["foot"] not in ("all", spell["foot"]):
            continue
        for day, length, band, lost in a_day_at_a_time(spell):
            side = side_of(spell, day, change["changed_on"])
            if side:
                sums[side, "shoe_days"] += length
                sums[side, "losses"] += lost
                sums[side, "expected"] += length * rates[spell["horse_id"], spell["end"], band]
    return sums


def peers_rates(spells):
    names = [{"horse_id": name, "horse_name": name, "discipline": work} for name, work in worlds.HORSES.items()]
    from tests.analyses.recorded import counts_of

    cells = counts_of(horse_losses, shoe_spells=fill(ShoeSpells, spells), horses=fill(Horses, names))["cells"]
    beside = horse_losses.beside_peers(cells).to_dicts()
    return {(row["horse_id"], row["end"], row["band"]): row["expected"] / row["shoe_days"] for row in beside
            if row["expected"] is not None}  # fmt: skip


CHANGES = st.lists(
    st.builds(
        lambda horse, foot, day, what: {
            "horse_id": horse,
            "foot": foot,
            "changed_on": worlds.START + timedelta(day),
            "what": what,
        },
        st.sampled_from(sorted(worlds.HORSES)),
        st.sampled_from(["all", "LF", "LH"]),
        st.integers(-2, 40),
        st.sampled_from(["wider", "closer"]),
    ),
    max_size=4,
    unique_by=lambda row: tuple(row.values()),
)


@settings(deadline=None, max_examples=25)
@given(worlds.spells(longest=40), CHANGES)
def test_both_sides_of_every_change_agree_with_a_walk_through_the_days(spells, changes):
    found = tried(spells, changes)["changes_tried"].to_dicts()
    assert len(found) == len(changes)
    rates = peers_rates(spells)
    for row in found:
        sums = counted(spells, row, defaultdict(lambda: np.nan, rates))
        expected = {
            f"{name}_{side}": sums[side, name] for side in BEFORE_AFTER for name in ("shoe_days", "losses")
        }  # fmt: skip
        for side in BEFORE_AFTER:
            known = sums[side, "shoe_days"] and np.isfinite(sums[side, "expected"])
            expected[f"expected_{side}"] = sums[side, "expected"] if known else None
        assert_agree(row, expected, "changes_tried")


def long_ago(day, days_on, lost, horse="ash"):
    return {"horse_id": horse, "discipline": "trail", "foot": "LF", "end": "front", "fitted_on": day,
            "ended_on": day + timedelta(days_on), "days_on": days_on,
            "end_reason": "lost" if lost else "renewed"}  # fmt: skip


def test_only_a_year_on_each_side_counts():
    changed = date(2025, 6, 1)
    spells = [
        long_ago(date(2024, 4, 1), 30, lost=True),  # ends 2024-05-01: over a year before
        long_ago(date(2024, 5, 22), 20, lost=True),  # ends 2024-06-11: ten days of it within the year
        long_ago(date(2025, 6, 1), 20, lost=False),
        long_ago(date(2026, 5, 22), 20, lost=True),  # the loss is over a year after
        *(long_ago(date(2025, 1, 1), 50, lost=True, horse="bay") for _ in range(9)),
    ]
    row = tried(spells, [{"horse_id": "ash", "foot": "all", "changed_on": changed, "what": "x"}])
    row = row["changes_tried"].to_dicts()[0]
    assert (row["shoe_days_before"], row["losses_before"]) == (10, 1)
    assert (row["shoe_days_after"], row["losses_after"]) == (20 + 10, 0)


def test_what_chance_alone_would_bring_is_the_negative_binomial_of_scipy():
    """scipy.stats.nbinom: number of failures before n successes with chance p."""
    losses, expected = np.array([0, 4, 1, 9, 0, 3, 2]), np.array([2.0, 2.5, 1.5, 3.0, 2.0, 2.5, 1.0])
    spread = gamma_poisson(losses, expected)
    shape, rate = spread.shape + 4, spread.rate + 2.5
    found = analysis._by_chance(spread, 4, 2.5, 1.7)
    assert found["shrunk_before"] == pytest.approx(shape / rate, rel=1e-9)
    assert found["losses_by_chance"] == pytest.approx(1.7 * shape / rate, rel=1e-9)
    there = nbinom(shape, rate / (rate + 1.7))
    assert (found["chance_low"], found["chance_high"]) == (there.ppf(0.025), there.ppf(0.975))


def test_where_nothing_was_changed_in_truth_what_is_lost_since_is_what_chance_alone_foretold():
    """A made-up practice changes a horse at its third loss in a year and the change does nothing."""
    practice = simulate(800, 2.0, 3)
    from datetime import UTC, datetime

    from pipelines.store import open_store
    from tests.store.drawn import records

    with open_store(None) as store:
        store.take_in(records(practice.tables, practice.last_day), datetime(2026, 7, 9, tzinfo=UTC))
        store.derive(practice.last_day)
        counts = {part: store.sql(query) for part, query in analysis.COUNTS.items()}
    known = analysis.changes_tried(counts)["changes_tried"].drop_nulls("losses_by_chance")
    lost, foretold = known["losses_after"].sum(), known["losses_by_chance"].sum()
    as_before = (known["ratio_before"] * known["expected_after"]).sum()
    assert known.height > 60
    assert 0.85 < lost / foretold < 1.15
    assert lost / as_before < 0.8
    inside = known.filter(
        known["losses_after"].is_between(known["chance_low"], known["chance_high"])
    )  # fmt: skip
    assert inside.height / known.height > 0.93


def test_a_change_without_shoes_before_it_says_so():
    drawn = draw(Horses, "horse_id | horse_name | discipline\n ash | Ash | trail")
    changes = [{"horse_id": "ash", "foot": "LF", "changed_on": date(2025, 3, 1), "what": "wider"}]
    spells = [long_ago(date(2025, 3, 1), 30, lost=True)]
    tables = {"shoe_spells": fill(ShoeSpells, spells), "horses": drawn, "changes": fill(Changes, changes)}
    row = results_of(analysis, **tables)["changes_tried"].to_dicts()[0]
    assert row["note"] == "no shoe was followed in the year before it"
    assert (row["change_ratio"], row["losses_by_chance"]) == (None, None)
