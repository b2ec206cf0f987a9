"""Why and when shoes come off: what goes together is called so, and what chance brings is said beside it."""

import re

import pytest

from reports.charts.retention import lost_on, spread_curve
from tests.reports.parsing import called, every, parsed, said, table_rows, text
from tests.reports.practice import practice, results
from tests.reports.reasons import factor, month, reasons, stretch
from tests.reports.test_sentences import answer, page

TOGETHER = "What goes with losing a shoe, all taken together?"
RUN = "Is a bad run of lost shoes under way?"
AGE = "When in its life does a shoe come off?"
PACE = "How does close fitting go with lost shoes on each pace?"
STAY = "How long do shoes stay on?"


def section(tree, question: str):
    return next(part for part in every(tree, "section") if text(every(part, "h2")[0]) == question)


def picture(tree, begins: str):
    return next(svg for svg in every(tree, "svg") if svg.get("aria-label", "").startswith(begins))


@pytest.fixture(scope="module")
def tree(sites):
    return parsed(called(sites["small"], "lost-shoes"))


def test_how_many_ranges_chance_alone_would_set_apart_from_1_is_said(tmp_path):
    # 40 ratios, 3 of them with a range of two thirds to one and a half times a ratio that leaves 1 out
    clear = [factor("wall_state", f"level {place}", 2.0, p_value=0.001) for place in range(3)]
    others = [factor("shoe_style", f"level {place}", 1.0) for place in range(37)]
    told = answer(page(tmp_path, "lost-shoes", loss_factors=clear + others), TOGETHER)
    assert told.startswith("3 of 40 ratios have a likely range that leaves out 1; were there nothing to find, about 2 ")


def test_the_clearest_ratios_are_named_with_what_they_are_set_beside_and_no_cause_is_claimed(tree):
    told = answer(tree, TOGETHER)
    assert "hoof wall, “broken”: 2.8 times the rate beside “sound” (likely 1.9 to 4.2)" in told
    assert "goes together need not be the cause" in text(section(tree, TOGETHER))
    assert not re.search(r"\b(because|caused by|due to|leads to)\b", text(section(tree, TOGETHER)))


def test_a_factor_left_out_is_named_with_its_reason_and_a_sparse_level_has_its_note(tree):
    assert "Left out: ground (the ground has no rate)." in text(section(tree, TOGETHER))
    rows = table_rows(tree, "Ratios of loss rates, all factors together")
    sparse = next(row for row in rows if row[:2] == ["Work", "polo"])
    assert sparse[3:5] == ["–", "–"]
    assert sparse[-1] == "6.8 losses expected: counted with the others together."
    assert ["Work", "the others together", "trail", "1.1"] in [row[:4] for row in rows]


def test_the_farrier_is_said_to_be_held_equal_only_where_that_was_done(tmp_path, tree):
    assert "The farrier is held equal too" in text(section(tree, TOGETHER))
    why = {"factor": "farrier", "level": "all", "shoes": 0, "losses": 0, "note": "left out: too few losses"}
    told = text(section(page(tmp_path, "lost-shoes", loss_factors=[factor("pad", "full", 2.0), why]), TOGETHER))
    assert "held equal too" not in told
    assert "Left out: farrier (too few losses)." in told


def test_no_farrier_has_a_ratio_on_any_page(sites):
    for path in sites["small"]:
        told = said(parsed(path))
        assert not re.search(r"(Mo Cedar|Zeb Alder)[^.]{0,40}3\.3", told), path.stem
    rows = table_rows(parsed(called(sites["small"], "lost-shoes")), "Ratios of loss rates, all factors together")
    assert "Farrier" not in {row[0] for row in rows}


def test_the_forest_tells_each_ratio_with_its_range_and_draws_unknown_levels_nowhere(tree):
    told = picture(tree, "Ratios of loss rates").get("aria-label", "")
    assert "Hoof wall, beside sound: Broken 2.8 (likely 1.9 to 4.2)" in told
    assert "Steel behind heel, +5 mm 1.4" in told
    assert "not recorded" not in told
    drawn = [element.text for element in picture(tree, "Ratios of loss rates").iter("text")]
    assert "Hoof wall, beside sound" in drawn
    assert "20 / 400" in drawn


def test_with_too_few_losses_nothing_is_weighed_against_anything(sites):
    told = parsed(called(sites["empty"], "lost-shoes"))
    assert answer(told, TOGETHER) == "Too few shoes have been lost to weigh one thing against another."
    assert not every(section(told, TOGETHER), "table")


def test_fit_by_pace_says_how_each_pace_is_shod_and_what_5_mm_more_goes_with(tree):
    told = answer(tree, PACE)
    # 600 of 800 shoes of fast work, 20 of 200 of slow work
    assert told.startswith(
        "Under 5 mm of steel behind the heel: 75% of shoes in fast work and 10% of shoes in slow work."
    )
    assert "2.0 times in fast work (likely 1.3 to 3.0)" in told
    assert told.endswith("The range leaves out 1 in fast work only.")
    assert "(common practice, no source)" in text(section(tree, PACE))
    rows = table_rows(tree, "Losses per 100 shoes, and shoes lost of those nailed on")
    assert rows[2] == ["0 to 5 mm", "5.0 (30 of 600)", "–", "20.0 (4 of 20)"]


def test_a_cell_with_few_shoes_has_no_tint(tree):
    tints = [float(one.get("fill-opacity", "1")) for one in picture(tree, "Shoes lost of 100").iter("rect")]
    # in reading order: fast and slow of 0 to 5 mm, fast of 5 to 10, slow of 10 and over; 20 shoes are too few
    assert tints[1] == 0.04
    assert max(tints) == tints[2] == 0.55


def test_age_of_the_shoe_names_only_stretches_with_enough_losses(tmp_path):
    ages = [stretch("age", (0, 7), 3.0), stretch("age", (7, 14), 1.0)]
    ages += [stretch("age", (14, 28), 90.0, losses_spread=4.0)]
    told = answer(page(tmp_path, "lost-shoes", loss_hazard=ages), AGE)
    assert told == (
        "For every 1,000 days with a shoe on, most come off in days 1 to 7 (3.0, likely 1.8 to 5.1) and fewest in "
        "days 8 to 14 (1.0, likely 0.6 to 1.7); the two ranges do not overlap."
    )


def test_what_early_and_late_usually_mean_is_marked_as_common_practice(tree):
    assert "What it usually means (common practice, no source)" in text(section(tree, AGE))
    assert "not what was the cause" in text(section(tree, AGE))


def test_a_watch_that_signalled_says_when_and_one_that_did_not_says_so(tmp_path, tree):
    assert "The watch signalled 1 time, in September 2025." in answer(tree, RUN)
    quiet = [month(2025, number, 4) for number in range(1, 9)]
    told = answer(page(tmp_path / "quiet", "lost-shoes", loss_watch=quiet), RUN)
    assert told.startswith("Nothing on record shows one: in 8 months the watch never signalled.")
    late = [*quiet, month(2025, 9, 12)]
    told = answer(page(tmp_path / "late", "lost-shoes", loss_watch=late), RUN)
    assert told.startswith("Perhaps: it signalled in the latest month.")


def test_a_record_too_short_to_watch_says_so_and_draws_nothing(tmp_path):
    blank = dict.fromkeys(("low", "high", "cusum", "threshold", "signal"))
    short = page(tmp_path, "lost-shoes", loss_watch=[month(2025, 1, 2, **blank, note="too little to watch")])
    assert answer(short, RUN) == "Too little to watch."
    assert not every(section(short, RUN), "svg")


def test_how_far_curves_differ_is_told_in_plain_words(tree):
    rows = table_rows(tree, "How often chance alone would set the curves at least so far apart")
    assert rows[1:] == [
        ["Kind of work", "under 1 in 1,000", "4"],
        ["Front or hind", "0.5 in 100", "4"],
        ["Foot", "4.3 in 100", "4"],
        ["Season of nailing", "31 in 100", "4"],
    ]
    assert answer(tree, "Do whole lives of shoes differ by more than chance?") == (
        "Hard to put down to chance: kind of work and front or hind. Seldom brought by chance: foot. No more than "
        "chance often brings: season of nailing."
    )


SPREAD = [{"day_from": 0, "day_to": 4, "kept": 0.96}, {"day_from": 10, "day_to": 20, "kept": 0.9},
          {"day_from": 30, "day_to": None, "kept": 0.0}]  # fmt: skip


def test_a_curve_that_spreads_losses_is_flat_between_intervals_and_never_falls_to_nothing_kept():
    points = spread_curve(SPREAD, 40)
    assert [lost_on(points, day) for day in (0, 2, 4, 10, 15, 20, 40)] == pytest.approx(
        [0, 0.02, 0.04, 0.04, 0.07, 0.1, 0.1]
    )
    assert lost_on(points, 41) is None


@pytest.mark.parametrize(("wide", "is_spread"), [(4, False), (5, True)])
def test_losses_are_spread_where_over_a_tenth_are_dated_by_more_than_a_week(tmp_path, wide, is_spread):
    tables = {name: frame.to_dicts() for name, frame in practice().items()}
    dated = {"dimension": "all", "level": "all", "losses": 40, "wide": wide, "wide_at_call_outs": wide - 2}
    tables |= reasons() | {"loss_dating": [dated]}
    tree = page(tmp_path, "lost-shoes", **tables)
    told = text(section(tree, STAY))
    assert ("is spread over them" in told) is is_spread
    assert (f"{wide} of 40 losses are known only to lie between two days" in told) is is_spread
    called = f"{wide - 2} of them were found at a call-out and given no day by anyone: the line puts these too early"
    assert (called in told) is is_spread
    assert ("Band: where the true share likely lies" in told) is not is_spread
    heads = table_rows(tree, "All shoes: share lost by week")[0]
    assert ("By the line" in heads) is is_spread


def test_no_loss_dated_at_all_draws_the_day_by_day_curve(tmp_path):
    assert results()["loss_dating"].is_empty()
    tables = {name: frame.to_dicts() for name, frame in practice().items()} | {"loss_dating": []}
    assert "Band: where the true share" in text(section(page(tmp_path, "lost-shoes", **tables), STAY))


def test_the_likely_range_is_that_of_leaving_each_horse_out_where_it_is_known(tmp_path):
    wide = factor("wall_state", "broken", 2.0, p_value=0.001, low_left_out=0.9, high_left_out=4.4)
    tree = page(tmp_path, "lost-shoes", loss_factors=[wide, factor("pad", "full", 2.0)])
    rows = {row[1]: row for row in table_rows(tree, "Ratios of loss rates, all factors together")}
    assert (rows["broken"][4], rows["full"][4]) == ("0.9 to 4.4", "1.3 to 3.0")
    assert answer(tree, TOGETHER).startswith("1 of 2 ratios has a likely range that leaves out 1")
    assert "too high as often as too low" not in text(section(tree, TOGETHER))


def test_the_ratio_is_the_one_that_is_too_high_as_often_as_too_low_where_it_is_known(tmp_path):
    around = {"low_left_out": 1.1, "high_left_out": 4.4, "ratio_median_unbiased": 2.2}
    both = [factor("wall_state", "broken", 2.0, p_value=0.001, **around), factor("pad", "full", 2.0)]
    by_pace = factor("branch_by_pace", "fast", 2.0, "5 mm less, same pace", **around)
    tree = page(tmp_path, "lost-shoes", loss_factors=[*both, by_pace], fit_by_pace=reasons()["fit_by_pace"])
    rows = {row[1]: row for row in table_rows(tree, "Ratios of loss rates, all factors together")}
    assert (rows["broken"][3], rows["full"][3]) == ("2.2", "2.0")
    assert "“broken”: 2.2 times the rate" in answer(tree, TOGETHER)
    assert "too high as often as too low" in text(section(tree, TOGETHER))
    assert "2.2 times in fast work (likely 1.1 to 4.4)" in answer(tree, PACE)
