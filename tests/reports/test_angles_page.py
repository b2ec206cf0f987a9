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
BEYOND = "Changes larger than error and growth explain, the latest first"
OVER_YEARS = "Which feet leave lower or steeper over the years?"
OTHERS = "What have others measured?"


def test_a_range_takes_horses_as_units_and_of_few_horses_none_is_told(tmp_path):
    few = {"by_horse": False, "note": "fewer than 5 horses: no range is told"}
    rows = [trend("all", "all", -0.3), trend("end", "hind", -0.3, **few), trend("end", "front", None)]
    tree = page(tmp_path, "angles", angle_trend=rows)
    assert answer(tree, TREND) == (
        "Lower: the mean change is −0.30° a year (likely −0.50 to −0.10), from 400 readings on 40 feet."
    )
    assert [row[:3] + row[-1:] for row in table_rows(tree, "Trend of the angle on leaving by feet")[1:]] == [
        ["All together", "−0.30", "−0.50 to −0.10", ""],
        ["Front feet", "–", "–", "Fewer than 5 feet with an angle on leaving."],
        ["Hind feet", "−0.30", "–", "Fewer than 5 horses: no range is told."],
    ]
    assert "Ranges take horses as the units" in said(tree)


@pytest.mark.parametrize(
    ("a_year", "begins"), [(-0.1, "Neither, for all that can be told"), (0.3, "Steeper:"), (-0.3, "Lower:")]
)
def test_a_trend_whose_range_holds_no_change_is_not_called_one(tmp_path, a_year, begins):
    assert answer(page(tmp_path, "angles", angle_trend=[trend("all", "all", a_year)]), TREND).startswith(begins)


def test_kinds_of_work_whose_range_leaves_out_no_change_are_counted(tmp_path):
    levels = [("trail", -0.3), ("polo", -0.4), ("hunting", 0.1), ("driving", 0.5)]
    trends = [trend("discipline", *level) for level in levels] + [trend("discipline", "reining", -0.9, by_horse=False)]
    tree = page(tmp_path, "angles", angle_trend=trends)
    assert answer(tree, BY_WORK) == (
        "Of 4 kinds of work with 5 horses or more the range lies below 0 in 2 and above 0 in 1. The fastest fall is in "
        "polo, −0.40° a year (likely −0.60 to −0.20)."
    )


def test_feet_that_go_lower_and_longer_are_counted_and_how_many_for_sure(tmp_path):
    assert answer(page(tmp_path / "some", "angles", toe_directions=[toes("all", "all", 8, 40)]), FORWARD) == (
        "8 of 40 feet leave lower in angle and longer in toe as time goes on (20%); by chance alone about one in four "
        "would. In 2 of them both ranges leave out no change."
    )
    few = answer(page(tmp_path / "few", "angles", toe_directions=[toes("all", "all", 3, 40)]), FORWARD)
    assert few.endswith("In none of them do both ranges leave out no change.")


def test_of_few_feet_it_is_not_said_whether_toes_run_forward(tmp_path):
    assert answer(page(tmp_path, "angles", toe_directions=[toes("all", "all", 5, 12)]), FORWARD) == (
        "Too few feet have been read often enough to say: 5 of 12 feet leave lower in angle and longer in toe."
    )


def test_uneven_pairs_are_counted_by_the_printed_cut_off(tmp_path):
    gaps = [pair("A", "Ash", "front", 1.6), pair("A", "Ash", "hind", -1.5), pair("B", "Bay", "front", -0.4, -3.0)]
    tree = page(tmp_path, "angles", angle_gaps=gaps, angle_precision=[error("leaving", 0.8)])
    assert answer(tree, EVEN) == (
        "Uneven, by more than 1.5° when last read on leaving, are 1 of 2 front pairs and 0 of 1 hind pair. The cut-off "
        "is that of Wiggers 2015, PLoS ONE 10:e0114836."
    )
    # 1.96 x sqrt(2) x 0.8 = 2.22
    assert "two feet that are alike differ by up to 2.2° 19 times in 20, more than the cut-off" in said(tree)
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
    rows = [error(stage, 0.6) for stage in ("growth", "arrival", "leaving")]
    tree = page(tmp_path, "angles", angle_precision=rows)
    assert answer(tree, TRUST) == (
        "It is off by about 0.6° (one standard deviation: two readings in three are nearer the truth than that). A "
        "change of one foot under 1.7° may be the reading alone."
    )
    # What a foot is left at from visit to visit is no error, and is not called one.
    assert "Scatter about the foot’s own line over the years is more than error" in said(tree)
    stages = {row[0]: row[1:4] for row in table_rows(tree, "Error of one reading, and scatter, in degrees")[1:]}
    assert stages["On arrival"] == ["0.60", "1.66", "1.20"]
    assert stages["Leaving to next arrival"] == ["0.60", "1.66", "–"]
    # 40 of 400 changes at each of the two stages
    assert "80 of 800 changes (10%) lie between readings of two farriers" in said(tree)
    assert [row[0] for row in table_rows(tree, "Error of one reading, and scatter, in degrees")[1:]] == [
        "On arrival", "On leaving", "Leaving to next arrival",
    ]  # fmt: skip


def test_with_one_farrier_no_change_of_hand_is_spoken_of(tmp_path):
    tree = page(tmp_path, "angles", angle_precision=[error("leaving", 0.8, other=0)])
    assert "two farriers" not in said(tree)


def test_changes_beyond_error_are_held_against_chance_and_growth_is_not_among_them(tmp_path):
    found = [changed("A", "Ash", "LF", "leaving", -2.5), changed("A", "Ash", "LF", "growth", -5.0)]
    found.append(changed("B", "Bay", "RH", "arrival", 3.4, growth_deg=-0.5))
    tree = page(tmp_path, "angles", angle_precision=[error("leaving", 0.8), error("growth", 0.8)], angle_changes=found)
    assert answer(tree, CHANGES) == (
        "Of 400 changes that can be judged 20 are larger (5%); were no foot to change, 5% would be. Of the feet’s "
        "latest changes 2 are. 1 of them is over 3°, a reason to call the vet."
    )
    assert [row[:6] for row in table_rows(tree, BEYOND)[1:]] == [
        ["Ash", "Left fore", "Leaving", "−2.5", "–", "−2.5"],
        ["Bay", "Right hind", "Arrival", "3.4", "−0.5", "3.9"],
    ]


def test_growth_between_two_arrivals_is_no_reason_to_call_the_vet(tmp_path):
    """4 days grown at a call-out, then 39: the foot came in 3.8° lower, and 2.2° of that is growth."""
    found = [changed("A", "Ash", "LF", "arrival", -3.8, growth_deg=-2.2, smallest_change_deg=1.5)]
    tree = page(tmp_path, "angles", angle_precision=[error("arrival", 0.5)], angle_changes=found)
    told = answer(tree, CHANGES)
    assert told.startswith("Of 390 changes that can be judged 20 are larger")
    assert "vet" not in told
    assert "10 changes between arrivals are left out: it is not known when the foot was handled before" in said(tree)


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
        row = {"horse_id": "A", "foot": name, "steps": 9, "shod_or_bare": "shod"}
        return {**row, "leaving_trend_deg_per_year": slope, **limits}

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
    assert answer(tree, TRUST).startswith("That is not known yet: too few feet have been read")
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


BY_KIND = "Does the change differ by kind of work?"
DRIFT_MOST = "Which feet drift most beside their peers?"


def test_kinds_of_work_are_compared_by_shod_feet_with_horses_as_units_and_the_ends_are_called_ends(tmp_path):
    kinds = [("polo", -0.45), ("trail", -0.42), ("hunting", -0.30), ("driving", -0.9)]
    drifts = [drift("discipline_shod", *kind) for kind in kinds]
    few = {"low_by_horse": None, "high_by_horse": None, "horses": 3, "note": "fewer than 5 horses: no range is told"}
    drifts[3] |= few
    # By all feet polo would lie far off: its horses go bare.
    drifts += [drift("shod", "yes", -0.44), drift("discipline", "polo", -0.1), drift("all", "all", -0.4)]
    tree = page(tmp_path, "angles", angle_drift=drifts)
    assert answer(tree, BY_KIND) == (
        "Among shod feet it runs from −0.45° a week in polo (likely −0.50 to −0.40) to −0.30° a week in hunting "
        "(likely −0.35 to −0.25): the two ends of 3 kinds of work with 5 horses or more. The range of 1 of them leaves "
        "out −0.44°, the figure of all shod feet; were work to make no difference, fewer than one would."
    )
    rows = {row[0]: row for row in table_rows(tree, "Change of the toe angle between visits by work")[1:]}
    assert rows["Driving"][2] == "–"
    assert rows["Driving"][-1] == "Fewer than 5 horses: no range is told."
    assert "how many go bare differs from work to work" in said(tree)


def test_the_change_of_all_feet_has_the_range_with_horses_as_units_and_its_scatter_is_that_of_a_change(tmp_path):
    tree = page(tmp_path, "angles", angle_drift=[drift("all", "all", -0.4)])
    assert "−0.40° a week (likely −0.45 to −0.35)" in answer(tree, "How does the angle change between visits?")
    heads = table_rows(tree, "Change of the toe angle between visits by feet")[0]
    assert "Scatter of a change" in heads
    assert "Scatter of a reading" not in heads


def test_feet_are_ranked_beside_their_peers_so_that_shod_ones_are_not_all_before_bare_ones(tmp_path):
    def foot(name, shod, own, peers):
        row = {"horse_id": "A", "foot": name, "steps": 9, "shod_or_bare": shod, "deg_per_week": own}
        return {**row, "low": own - 0.1, "high": own + 0.1, "peers_deg_per_week": peers}

    feet = [foot("LF", "shod", -0.46, -0.45), foot("RF", "shod", -0.5, -0.45), foot("RH", "bare", -0.3, -0.12)]
    tree = page(tmp_path, "angles", horse_angle_drift=feet, horse_list=[listed_horse(0, "A", "Ash")])
    assert answer(tree, DRIFT_MOST) == (
        "Fastest is the right hind of Ash, at −0.30° a week (likely −0.40 to −0.20) against −0.12° of its peers. 3 of "
        "3 feet have enough readings to tell."
    )
    rows = table_rows(tree, "Change of the toe angle by foot, fastest fall beside its peers first")[1:]
    assert [row[1:3] + row[5:7] for row in rows] == [
        ["Right hind", "Bare", "−0.12", "−0.18"], ["Right fore", "Shod", "−0.45", "−0.05"],
        ["Left fore", "Shod", "−0.45", "−0.01"],
    ]  # fmt: skip


def test_of_very_many_feet_those_furthest_from_their_peers_either_way_are_listed(sites):
    tree = parsed(called(sites["large"], "angles"))
    rows = table_rows(tree, "Change of the toe angle by foot, fastest fall beside its peers first")[1:]
    beside = [float(row[6].replace("−", "-")) for row in rows]
    assert len(rows) == 400
    assert beside == sorted(beside)
    assert min(abs(one) for one in beside) > 0.1
    assert "3,600 feet nearer to their peers stand on the horses’ own pages." in said(tree)
