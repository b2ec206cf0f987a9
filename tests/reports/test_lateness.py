"""Late visits: what was agreed beside what was done, what goes with lateness, and who is seen later and later."""

import re

import pytest

from tests.reports.horse_pages import listed_horse
from tests.reports.parsing import called, every, parsed, said, table_rows, text
from tests.reports.rounds import BANDS, PAST, band, past, trend
from tests.reports.test_reasons import picture, section
from tests.reports.test_sentences import answer, page

AGREED, LOSSES = "Is what was agreed kept?", "Are more shoes lost once a horse is past its day?"
FEET, SLIPPING = "What are feet like after a late visit?", "Which horses are seen later and later?"
EVERY = {"intervals": 90, "horses": 9, "median_days": 44.0, "p10_days": 35.0, "p25_days": 40.0, "p75_days": 49.0,
         "p90_days": 56.0, "share_over_56": 0.1, "intervals_planned": 80, "planned_days": 42.0, "done_days": 45.25,
         "median_days_late": 2.0, "late_share": 0.2}  # fmt: skip


def lengths(dimension: str = "all", level: str = "all", **more) -> dict:
    return {"dimension": dimension, "level": level, **EVERY, **more}


@pytest.fixture(scope="module")
def tree(sites):
    return parsed(called(sites["small"], "intervals"))


def test_what_was_agreed_stands_beside_what_was_done(tmp_path):
    tree = page(tmp_path, "intervals", interval_lengths=[lengths(), lengths("discipline", "trail", late_share=0.0)])
    assert answer(tree, AGREED) == (
        "80 intervals had a plan. Agreed were 42.0 days on average, and they took 45.2. The middle visit came 2 days "
        "late; 20% came more than a week late."
    )
    assert table_rows(tree, "Agreed and done by work")[1] == ["Trail", "42.0", "45.2", "2.0", "0%", "80", "9"]
    assert "Trail 42.0 agreed, 45.2 done" in picture(tree, "Days between visits, agreed").get("aria-label", "")


@pytest.mark.parametrize(
    ("late", "told"), [(0.0, "came on the day;"), (-1.0, "came 1 day early;"), (1.5, "came 1.5 days late;")]
)
def test_the_middle_visit_comes_early_late_or_on_the_day(tmp_path, late, told):
    assert told in answer(page(tmp_path, "intervals", interval_lengths=[lengths(median_days_late=late)]), AGREED)


def test_without_a_plan_nothing_is_said_of_keeping_it(tmp_path):
    blank = dict.fromkeys(("planned_days", "done_days", "median_days_late", "late_share"))
    tree = page(tmp_path, "intervals", interval_lengths=[lengths(**blank, intervals_planned=0)])
    assert AGREED not in said(tree)


def test_losses_before_the_day_are_compared_with_those_on_all_days_past_it_whatever_stage_stands_out(tmp_path):
    stages = [past(PAST[0], 1.0), past(PAST[1], 9.0), past(PAST[4], 9.0, losses=1), past(PAST[5], 2.0)]
    tree = page(tmp_path, "intervals", lateness=stages[::-1])
    assert answer(tree, LOSSES) == (
        "Before the day agreed 1.0 (likely 0.7 to 1.6) were lost for every 1,000 days with a shoe on, on any day "
        "past it 2.0 (likely 1.3 to 3.2). The two ranges overlap, so this may be chance."
    )
    rows = table_rows(tree, "Shoes lost by how long the horse was then past the day agreed")
    assert [row[0] for row in rows[1:]] == ["Before it was due", "1 to 7 days past", "Over 28 days past",
                                            "On any day past it"]  # fmt: skip
    assert "a long interval has more days in which to lose a shoe" in text(section(tree, LOSSES))


def test_rates_whose_ranges_lie_apart_are_not_called_chance(tmp_path):
    far = [past(PAST[0], 1.0), past(PAST[5], 9.0)]
    assert answer(page(tmp_path, "intervals", lateness=far), LOSSES).endswith("The two ranges do not overlap.")


def test_too_few_losses_are_said_to_be_too_few(tmp_path):
    few = [past(PAST[0], 1.0), past(PAST[5], 9.0, losses=1)]
    assert answer(page(tmp_path / "past", "intervals", lateness=few), LOSSES).endswith("too few to compare.")
    none = page(tmp_path / "none", "intervals")
    assert answer(none, LOSSES) == "Too few shoes with a day agreed have been lost to say."
    assert not every(section(none, LOSSES), "table")
    assert answer(none, FEET) == (
        "Too few angles lie on both sides of a late visit to say how far they change. Too few feet were looked at "
        "again after a late visit to compare bruises."
    )


def test_feet_after_a_late_visit_stand_beside_feet_after_one_in_time(tmp_path):
    late = band(BANDS[3], -3.4, 0.9)
    found = [band(BANDS[1], -2.0, 0.2), late, band(BANDS[4], -9.0, None, steps=9, new_low=None, new_high=None)]
    tree = page(tmp_path, "intervals", lateness=found)
    assert answer(tree, FEET) == (
        "From leaving to the next arrival the angle changed by −2.0° (likely −2.3 to −1.7) where the visit came within "
        "7 days of its day, by −3.4° (likely −3.7 to −3.1) where it came 15 to 28 days late. The two ranges do not "
        "overlap. A longer interval has more growth. "
        "New bruises were seen on 5% of 60 (likely 2 to 12%) clear feet in time, and 5% of 60 (likely 2 to 12%) 15 to "
        "28 days late. The two ranges overlap, so this may be chance. "
        "Bruises were there again on 20% of 20 (likely 10 to 30%) bruised feet in time, and 90% of 20 (likely 45 to "
        "100%) 15 to 28 days late. The two ranges do not overlap."
    )
    rows = table_rows(tree, "Feet from one visit to the next by how late it was")
    assert rows[2] == ["15 to 28 days late", "−3.4", "−3.7 to −3.1", "80", "5%", "2 to 12%", "60", "90%",
                       "45 to 100%", "20", "90", "12"]  # fmt: skip


def test_a_range_of_few_horses_is_not_told(tmp_path):
    four = band(BANDS[3], -3.4, 0.9, horses=4, horses_clear=4, horses_bruised=4)
    tree = page(tmp_path, "intervals", lateness=[band(BANDS[1], -2.0, 0.2), four])
    rows = table_rows(tree, "Feet from one visit to the next by how late it was")
    assert rows[2][1:9] == ["−3.4", "–", "80", "5%", "–", "60", "90%", "–"]
    assert "Too few angles" in answer(tree, FEET)
    assert "A range is told from 5 horses on" in text(section(tree, FEET))


def test_shoes_without_a_day_agreed_are_counted_and_compared_with_neither(tmp_path):
    stages = [past(PAST[0], 1.0), past(PAST[5], 2.0), past(PAST[6], 30.0, shoes=41)]
    tree = page(tmp_path, "intervals", lateness=stages)
    assert "on any day past it 2.0" in answer(tree, LOSSES)
    assert "41 shoes went on at a visit that agreed no day" in text(section(tree, LOSSES))
    rows = table_rows(tree, "Shoes lost by how long the horse was then past the day agreed")
    assert rows[-1][0] == "No day agreed"
    without = page(tmp_path / "all", "intervals", lateness=stages[:2])
    assert "agreed no day" not in text(section(without, LOSSES))


def test_no_cause_is_claimed(tree):
    for question in (LOSSES, FEET):
        told = text(section(tree, question))
        assert "what goes together need not be the cause" in told
        assert not re.search(r"\b(because|caused by|due to|leads to)\b", told)


HORSES = [trend("A", "Ash", 3.0), trend("B", "Bay", -1.0), trend("C", "Cob", None), trend("D", "Dun", 2.5)]


def test_horses_seen_later_each_year_are_named_with_what_chance_would_name(tmp_path):
    many = [*HORSES, *[trend(f"E{place}", f"Elm {place}", 0.0) for place in range(77)]]
    tree = page(tmp_path, "intervals", lateness_trend=many, horse_list=[listed_horse(0, "A", "Ash")])
    assert answer(tree, SLIPPING) == (
        "2 of 80 horses: Ash, 3.0 days later each year (likely 1.0 to 5.0) and Dun, 2.5 days later each year (likely "
        "0.5 to 4.5). By chance alone up to 2 would be named."
    )
    rows = table_rows(tree, "Days past the plan by horse, the steepest trend first")
    assert [row[0] for row in rows[1:3] + rows[-2:]] == ["Ash", "Dun", "Bay", "Cob"]
    assert rows[-1][-1] == "Fewer than 4 intervals with a plan."
    links = [link.get("href") for link in every(every(tree, "main")[0], "a") if text(link) == "Ash"]
    assert links == ["horse-1.html"]


def test_no_horse_is_named_where_none_surely_is(tmp_path):
    told = answer(page(tmp_path / "one", "intervals", lateness_trend=HORSES[1:3]), SLIPPING)
    assert told == "None of 1 horse surely is. By chance alone fewer than one would be named."
    few = answer(page(tmp_path / "few", "intervals", lateness_trend=HORSES[2:3]), SLIPPING)
    assert few == "Too few intervals with a plan are on record to say."


def test_the_page_carries_the_cautions_only_where_it_names_a_horse(sites):
    named = {name: every(parsed(called(sites[name], "intervals")), "aside", class_="cautions") for name in sites}
    assert named["small"]
    assert not named["empty"]
