"""Angles over years, left against right, and how far a reading can be trusted: with the range to trust and cut-offs."""

import pytest

from tests.reports.feet import changed, error, of_class, pair, toes, trend
from tests.reports.horse_pages import listed_horse
from tests.reports.parsing import called, every, parsed, said, table_rows
from tests.reports.practice import drift
from tests.reports.test_bruising_page import picture, questions
from tests.reports.test_sentences import answer, page

TREND = "Do feet leave lower or steeper over the years?"
BY_WORK = "Does that trend differ by kind of work?"
FORWARD = "Do toes run forward?"
EVEN = "How even are left and right?"
CLASSES = "How many feet are flat or upright?"
TRUST = "How far can one reading be trusted?"
CHANGES = "Which changes are larger than that?"
GROWTH = "Which feet changed most since they last left?"
GROWTH_TABLE = "Changes from leaving to the next arrival, the furthest beyond error first"
OVER_YEARS = "Which feet leave lower or steeper over the years?"
OTHERS = "What have others measured?"


def test_the_range_to_trust_takes_horses_as_units_and_the_table_says_which_was_taken(tmp_path):
    rows = [trend("all", "all", -0.3), trend("end", "hind", -0.3, by_horse=False), trend("end", "front", None)]
    tree = page(tmp_path, "angles", angle_trend=rows)
    assert answer(tree, TREND) == (
        "Lower: the mean change is −0.30° a year (likely −0.50 to −0.10), from 400 readings on 40 feet."
    )
    assert [row[:4] for row in table_rows(tree, "Trend of the angle on leaving by feet")[1:]] == [
        ["All together", "−0.30", "−0.50 to −0.10", "horses"],
        ["Front feet", "–", "–", ""],
        ["Hind feet", "−0.30", "−0.40 to −0.20", "feet"],
    ]
    assert "these are the ones to trust" in said(tree)


@pytest.mark.parametrize(
    ("a_year", "begins"), [(-0.1, "Neither, for all that can be told"), (0.3, "Steeper:"), (-0.3, "Lower:")]
)
def test_a_trend_whose_range_holds_no_change_is_not_called_one(tmp_path, a_year, begins):
    assert answer(page(tmp_path, "angles", angle_trend=[trend("all", "all", a_year)]), TREND).startswith(begins)


def test_kinds_of_work_whose_range_leaves_out_no_change_are_counted(tmp_path):
    levels = [("trail", -0.3), ("polo", -0.4), ("hunting", 0.1), ("driving", 0.5)]
    tree = page(tmp_path, "angles", angle_trend=[trend("discipline", *level) for level in levels])
    assert answer(tree, BY_WORK) == (
        "Of 4 kinds of work the range lies below 0 in 2 and above 0 in 1. The fastest fall is in polo, −0.40° a year "
        "(likely −0.60 to −0.20)."
    )


def test_feet_that_go_lower_and_longer_are_counted_and_how_many_for_sure(tmp_path):
    assert answer(page(tmp_path / "some", "angles", toe_directions=[toes("all", "all", 8, 40)]), FORWARD) == (
        "8 of 40 feet leave lower in angle and longer in toe as time goes on (20%); in 2 of them both ranges leave out "
        "no change."
    )
    few = answer(page(tmp_path / "few", "angles", toe_directions=[toes("all", "all", 3, 40)]), FORWARD)
    assert "in none of them" in few


def test_uneven_pairs_are_counted_by_the_printed_cut_off(tmp_path):
    gaps = [pair("A", "Ash", "front", 1.6), pair("A", "Ash", "hind", -1.5), pair("B", "Bay", "front", -0.4, -3.0)]
    tree = page(tmp_path, "angles", angle_gaps=gaps, angle_precision=[error("leaving", 0.8)])
    assert answer(tree, EVEN) == (
        "Uneven, by more than 1.5° when last read on leaving, are 1 of 2 front pairs and 0 of 1 hind pair. The cut-off "
        "is that of Wiggers 2015, PLoS ONE 10:e0114836."
    )
    # 1.96 x sqrt(2) x 0.8 = 2.22
    assert "Two readings alone may differ by up to 2.2°, more than the cut-off" in said(tree)
    rows = table_rows(tree, "Left minus right in degrees, the widest mean gap first")
    assert [row[:4] for row in rows[1:]] == [
        ["Bay", "Fronts", "−3.0", "−0.4"], ["Ash", "Fronts", "1.6", "1.6"], ["Ash", "Hinds", "−1.5", "−1.5"],
    ]  # fmt: skip
    assert "3 pairs of feet by left minus right" in picture(tree, "Bars of 3 pairs").get("aria-label")


def test_of_many_pairs_the_table_holds_the_most_uneven_and_says_where_the_others_are(sites):
    tree = parsed(called(sites["large"], "angles"))
    assert len(table_rows(tree, "Left minus right in degrees, the widest mean gap first")) == 61
    assert "1,940 more pairs with smaller gaps stand on the horses’ own pages." in said(tree)


def test_horses_lead_to_their_own_pages_and_namesakes_are_told_apart(tmp_path):
    herd = [listed_horse(0, "A", "Star"), listed_horse(1, "B", "Star")]
    gaps = [pair("A", "Star", "front", 2.0), pair("B", "Star", "front", 1.0), pair("C", "Cob", "front", 0.5)]
    tree = page(tmp_path, "angles", horse_list=herd, angle_gaps=gaps)
    rows = table_rows(tree, "Left minus right in degrees, the widest mean gap first")
    assert [row[0] for row in rows[1:]] == ["Star (A)", "Star (B)", "Cob"]
    links = [link.get("href") for link in every(tree, "a") if link.text and link.text.startswith("Star")]
    assert links == ["horse-1.html", "horse-2.html"]


def test_classes_are_shares_of_feet_and_their_bounds_are_printed(tmp_path):
    levels = [of_class("all", "all", "flat", 5, 20), of_class("all", "all", "medium", 15, 20)]
    tree = page(tmp_path, "angles", hoof_classes=[*levels, of_class("end", "hind", "upright", 4, 4)])
    assert answer(tree, CLASSES) == "Of 20 feet 25% are flat, 75% medium and 0% upright."
    assert "Flat is under 50°, medium 50 to 55°, upright over 55°" in said(tree)
    assert table_rows(tree, "Feet by class")[1:] == [
        ["All together", "25%", "75%", "0%", "20"],
        ["Hind feet", "0%", "0%", "100%", "4"],
    ]


def test_the_error_of_a_reading_is_told_by_stage_and_a_change_of_hand_is_a_caution(tmp_path):
    rows = [error("growth", 0.9), error("arrival", 1.0), error("leaving", 0.8)]
    tree = page(tmp_path, "angles", angle_precision=rows)
    assert answer(tree, TRUST) == (
        "Readings scatter about their foot’s own line by 1.0° on arrival and 0.8° on leaving (one standard deviation: "
        "two in three lie within it). A change of one foot under 2.8° on arrival or 2.2° on leaving may be the reading "
        "alone."
    )
    # 40 of 400 changes at each of the two stages
    assert "80 of 800 changes (10%) lie between readings of two farriers" in said(tree)
    assert [row[0] for row in table_rows(tree, "Error of one reading, in degrees")[1:]] == [
        "On arrival", "On leaving", "Leaving to next arrival",
    ]  # fmt: skip


def test_with_one_farrier_no_change_of_hand_is_spoken_of(tmp_path):
    tree = page(tmp_path, "angles", angle_precision=[error("leaving", 0.8, other=0)])
    assert "two farriers" not in said(tree)


def test_changes_beyond_error_are_held_against_chance_and_growth_is_not_among_them(tmp_path):
    found = [changed("A", "Ash", "LF", "leaving", -2.5), changed("A", "Ash", "LF", "growth", -5.0)]
    found.append(changed("B", "Bay", "RH", "arrival", 3.4))
    tree = page(tmp_path, "angles", angle_precision=[error("leaving", 0.8), error("growth", 0.9)], angle_changes=found)
    assert answer(tree, CHANGES) == (
        "Of 400 changes on record 20 are larger (5%); were no foot to change, 5% would be. Of the feet’s latest "
        "changes 2 are. 1 of them is over 3°, a reason to call the vet."
    )
    assert [row[:4] for row in table_rows(tree, "Changes larger than the error of reading, the latest first")[1:]] == [
        ["Ash", "Left fore", "Leaving", "−2.5"],
        ["Bay", "Right hind", "Arrival", "3.4"],
    ]


def test_changes_of_growth_beyond_error_are_listed_with_their_limit_the_furthest_beyond_first(tmp_path):
    found = [changed("A", "Ash", "LF", "growth", -2.9), changed("B", "Bay", "RH", "growth", 3.4)]
    found += [changed("A", "Ash", "RH", "leaving", -9.0), changed("A", "Ash", "LH", "growth", -5.0, hand_changed=True)]
    tree = page(tmp_path, "angles", angle_precision=[error("growth", 0.8, 300, 90)], angle_changes=found)
    assert answer(tree, GROWTH) == (
        "Of 300 changes from leaving to the next arrival 90 are larger than 2.2°, what reading alone explains (30%). "
        "Of the feet’s latest 3 are; furthest beyond it is the left hind of Ash, −5.0°."
    )
    assert table_rows(tree, GROWTH_TABLE)[1:] == [
        ["Ash", "Left hind", "20 December 2025", "1 February 2026", "43", "−5.0", "2.2", "Another farrier"],
        ["Bay", "Right hind", "20 December 2025", "1 February 2026", "43", "3.4", "2.2", ""],
        ["Ash", "Left fore", "20 December 2025", "1 February 2026", "43", "−2.9", "2.2", ""],
    ]


def test_of_very_many_changes_of_growth_the_largest_are_listed_and_the_others_counted(tmp_path):
    found = [changed(f"H{place}", f"Pony {place}", "LF", "growth", -3.0 - place / 100) for place in range(75)]
    tree = page(tmp_path, "angles", angle_precision=[error("growth", 0.8, 300, 90)], angle_changes=found)
    rows = table_rows(tree, GROWTH_TABLE)[1:]
    assert len(rows) == 60
    assert (rows[0][0], rows[-1][0]) == ("Pony 74", "Pony 15")
    assert "15 smaller ones stand on the horses’ own pages." in said(tree)


def test_feet_whose_leaving_angle_surely_changes_are_listed_the_surest_first(tmp_path):
    def foot(name, slope, half):
        limits = {"leaving_trend_low": slope - half, "leaving_trend_high": slope + half}
        return {"horse_id": "A", "foot": name, "steps": 9, "leaving_trend_deg_per_year": slope, **limits}

    feet = [foot("LF", -0.5, 0.4), foot("RF", 0.5, 0.6), foot("LH", -1.0, 0.5), foot("RH", 0.75, 0.5)]
    tree = page(tmp_path, "angles", horse_angle_drift=feet, horse_list=[listed_horse(0, "A", "Ash")])
    assert answer(tree, OVER_YEARS) == (
        "Of 4 feet read often enough 2 surely leave lower as time goes on and 1 steeper; were no foot to change, fewer "
        "than one would seem to."
    )
    assert table_rows(tree, "Feet whose angle on leaving surely changes, the surest first")[1:] == [
        ["Ash", "Left hind", "−1.00", "−1.50 to −0.50"],
        ["Ash", "Right hind", "0.75", "0.25 to 1.25"],
        ["Ash", "Left fore", "−0.50", "−0.90 to −0.10"],
    ]


def test_too_few_readings_to_judge_the_error_by_say_nothing_of_changes(tmp_path):
    tree = page(tmp_path, "angles", angle_precision=[error("leaving", None)])
    assert TRUST not in questions(tree)
    assert CHANGES not in questions(tree)
    assert GROWTH not in questions(tree)


def test_published_values_stand_with_number_and_source_beside_the_practices_own(tmp_path):
    drifts = [drift("shod", "yes", -0.45), drift("all", "all", -0.4)]
    tree = page(tmp_path, "angles", angle_drift=drifts, angle_gaps=[pair("A", "Ash", "front", 1.6)])
    rows = {row[0]: row[1:] for row in table_rows(tree, "Published values beside this practice’s own")}
    told = rows["Angle between visits, shod"]
    assert told[1] == "about −0.44° a week: −3.5° in 8 weeks"
    assert "van Heel 2005" in told[3]
    assert told[0] == "−0.45° a week (likely −0.50 to −0.40), 300 pairs of readings"
    assert rows["Uneven: left and right apart by over 1.5°"][0] == "100% of 1 pair"
    assert rows["Growth of the hoof"] == ["–", "7 mm in 28 days", "42 horses", "Josseck 1995, Equine Vet J 27:175"]
