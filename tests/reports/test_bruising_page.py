"""Where bruises lie, how many a foot gathers and what comes back: counted, with ranges, and no foot taken for clear."""

import pytest

from reports.charts.bruise_burden import burden_at, limits
from tests.reports.feet import both, gathered, looked, returned, site
from tests.reports.parsing import called, every, parsed, said, table_rows, text
from tests.reports.practice import bruise
from tests.reports.test_sentences import answer, page

SITES = "Where on the sole do bruises lie?"
BY_WORK = "Where do they lie in each kind of work?"
LOOKS = "Was every foot looked at?"
SAME = "Does a bruise come back where it was?"
BOTH = "Do both front feet bruise together?"
GATHERS = "How many bruises does a foot gather?"
RELIEF = "Do bruises gather more slowly under a shoe clear of the sole?"
INTERVAL = "Does a longer interval go with more bruises?"


def picture(tree, begins: str):
    """The first picture whose description begins so."""
    return next(svg for svg in every(tree, "svg") if svg.get("aria-label", "").startswith(begins))


def questions(tree) -> list[str]:
    return [text(heading) for part in every(tree, "section") for heading in every(part, "h2")]


CORNS = [
    site("all", "all", "front", "heel_medial", 7),
    site("all", "all", "front", "toe", 2),
    site("all", "all", "hind", "body", 1),
    site("all", "all", "hind", "not recorded", 3),
]


def test_the_sole_map_tells_the_episodes_of_each_site_and_those_without_one(tmp_path):
    tree = page(tmp_path, "bruising", bruise_sites=CORNS)
    assert answer(tree, SITES) == (
        "Most often at the inner heel of front feet: 7 of 13 episodes. 3 episodes have no site."
    )
    drawn = picture(tree, "Bruises by site")
    assert drawn.get("aria-label") == (
        "Bruises by site on the sole: front feet toe 2, inner heel 7; hind feet middle of the sole 1."
    )
    marks = [one.text for one in every(drawn, "text") if one.text and (one.text.isdigit() or one.text == "–")]
    assert sorted(marks) == sorted(["2", "–", "–", "–", "7", "–", "–", "1", "–", "–", "–", "–"])
    assert "Not drawn: 3 episodes without a site." in said(tree)


def test_a_site_told_nowhere_draws_no_map(tmp_path):
    tree = page(tmp_path, "bruising", bruise_sites=[site("all", "all", "hind", "not recorded", 3)])
    assert answer(tree, SITES) == "3 episodes on record, none with its site."
    assert not every(tree, "svg", class_="chart")


def test_the_strongest_tint_is_at_the_site_with_the_most_episodes(tmp_path):
    drawn = picture(page(tmp_path, "bruising", bruise_sites=CORNS), "Bruises by site")
    tints = [float(circle.get("fill-opacity", "0")) for circle in every(drawn, "circle")]
    assert len(tints) == 3  # a site without an episode has no mark
    assert max(tints) == 0.6
    assert sorted(tints)[0] < sorted(tints)[1] < sorted(tints)[2]


def test_each_kind_of_work_has_a_map_of_its_own_and_its_counts_in_the_table(sites):
    tree = parsed(called(sites["small"], "bruising"))
    assert answer(tree, BY_WORK) == "4 kinds of work have bruises on record, most in eventing, 7 episodes."
    rows = table_rows(tree, "Episodes by site and kind of work, front + hind")
    assert rows[3] == ["Eventing", "0 + 0", "0 + 0", "0 + 0", "0 + 0", "5 + 0", "0 + 0", "0 + 2", "90"]
    assert picture(tree, "Eventing: bruises by site on the sole").get("aria-label").endswith("hind feet 0 at any site.")


def test_feet_not_looked_at_are_counted_and_never_taken_for_clear(tmp_path):
    tree = page(
        tmp_path, "bruising", bruise_looks=[looked("all", "all", 40, 30, 6), looked("discipline", "trail", 40, 30, 6)]
    )
    assert answer(tree, LOOKS) == (
        "30 of 40 feet at visits were looked at (75%). The other 10 count nowhere here: a foot not looked at is never "
        "taken for clear. Of those looked at, 6 were bruised."
    )
    assert table_rows(tree, "Feet at visits, by kind of work")[1] == ["All together", "75%", "30", "10", "6", "20.0%"]


def test_the_same_site_again_stands_beside_what_chance_would_bring(tmp_path):
    tree = page(
        tmp_path, "bruising", bruise_returns=[returned("all", "all", 9, 12, 0.19), returned("site", "toe", 3, 4, None)]
    )
    assert answer(tree, SAME) == (
        "Of 12 bruises found again with the site told both times, 9 lay at the same site: 75% (likely 52 to 98%). Had "
        "the second site nothing to do with the first, 19% would."
    )
    assert "Dashed: what chance alone would bring, 19%." in said(tree)
    assert table_rows(tree, "By feet and by site of the first bruise")[2][:5] == [
        "Toe",
        "75%",
        "52 to 98%",
        "–",
        "3 of 4",
    ]


def test_both_fronts_at_once_are_held_against_chance_and_against_each_horses_own_feet_with_ranges(tmp_path):
    tree = page(tmp_path, "bruising", both_fronts=[both("all", "all", 4, 400)])
    assert answer(tree, BOTH) == (
        "At 4 of 400 looks at both front feet both were bruised: 1.0% (likely 0.5 to 2.0%); one of the two at 30. Had "
        "the one nothing to do with the other, it would be about 0.2%: 5.0 times (likely 2.0 to 12.5) as often as "
        "that, and the range leaves out 1. Held against what each horse’s own feet would bring, 3.0 times (likely 0.9 "
        "to 10.0) as often, but the range holds 1, so this may be chance."
    )
    assert "the ranges leave each horse out in turn, figure and chance together" in said(tree)
    rows = table_rows(tree, "Both front feet at one look, by kind of work")
    assert rows[1][4:8] == ["5.0", "2.0 to 12.5", "3.0", "0.9 to 10.0"]


def test_with_too_few_horses_for_a_range_no_more_is_said_of_chance_than_that(tmp_path):
    no_limits = dict.fromkeys(("low", "ratio_low", "ratio_high", "own_ratio_low", "own_ratio_high"))
    few = both("all", "all", 4, 400, **no_limits, note="fewer than 5 horses: no limits")
    told = answer(page(tmp_path, "bruising", both_fronts=[few]), BOTH)
    assert told.count("from too few horses to give a range") == 2
    assert "leaves out" not in told


def test_a_curve_of_bruises_is_told_at_a_year_with_the_range_that_takes_horses_as_units(tmp_path):
    tree = page(tmp_path, "bruising", bruise_burden=list(gathered("all", "all", 0.4)))
    # the last day at or before 365 is 350: 0.05 + 0.4 * 350 / 365 = 0.434, a year's range 0.7 to 1.4 times that
    assert answer(tree, GATHERS) == (
        "By 1 year after its first look a foot has had 0.43 new bruises on average (likely 0.30 to 0.61): 43 for every "
        "100 feet."
    )
    assert "they are the ones to trust" in said(tree)
    assert "0.43 by 1 year (likely 0.30 to 0.61)" in picture(tree, "Curve of bruises").get("aria-label")


def test_where_horses_are_too_few_the_range_takes_feet():
    row = next(iter(gathered("all", "all", 0.4)))
    assert limits(row) == (row["low_by_horse"], row["high_by_horse"])
    assert limits({**row, "low_by_horse": None}) == (row["low"], row["high"])


def test_a_curve_says_nothing_beyond_the_last_day_with_ten_feet():
    curve = list(gathered("all", "all", 0.4, feet=40))  # a foot leaves every 12 days: 10 are left on day 360
    assert burden_at(curve, 350)["day"] == 350
    assert burden_at(curve, 365) is None
    assert burden_at([], 0) is None


@pytest.mark.parametrize(
    ("clear", "told"),
    [
        (0.2, "a foot has had fewer by 1 year: 0.24 (likely 0.17 to 0.34), and 1.01"),
        (1.0, "a foot has had no fewer by 1 year: 1.01"),
    ],
)
def test_sole_relief_is_compared_and_who_gets_it_is_said(tmp_path, clear, told):
    curves = [*gathered("sole_relief", "yes", clear), *gathered("sole_relief", "no", 1.0)]
    tree = page(tmp_path, "bruising", bruise_burden=curves)
    assert told in answer(tree, RELIEF)
    assert "who gets relief is often who was bruised" in said(tree)
    dashes = {path.get("stroke"): path.get("stroke-dasharray") for path in every(picture(tree, "Two curves"), "path")}
    assert len({dash for colour, dash in dashes.items() if colour}) == 2


def test_intervals_stand_from_the_shortest_to_the_longest(tmp_path):
    bands = ("over 8 weeks", "4 to 6 weeks", "6 to 8 weeks", "4 weeks or less")
    tree = page(tmp_path, "bruising", bruise_recurrence=[bruise("interval_band", band, 0.4) for band in bands])
    assert [row[0] for row in table_rows(tree, "Bruises at the next look by interval")[1:]] == [
        "4 weeks or less", "4 to 6 weeks", "6 to 8 weeks", "Over 8 weeks",
    ]  # fmt: skip
    assert INTERVAL in questions(tree)


def test_looks_that_no_one_interval_parts_stand_last_with_their_number_and_are_not_compared(tmp_path):
    chances = {"4 to 6 weeks": 0.4, "over 8 weeks": 0.5, "not one interval": 0.6}
    rows = [bruise("interval_band", band, chance) for band, chance in chances.items()]
    tree = page(tmp_path, "bruising", bruise_recurrence=rows)
    assert answer(tree, INTERVAL).startswith(
        "Bruises come back most often with “over 8 weeks”, 50% of 50 (likely 25 to 75%), least often with “4 to 6"
    )
    assert [row[0] for row in table_rows(tree, "Bruises at the next look by interval")][-1] == "Not one interval"
    assert "are not compared: 250 of 750 pairs of looks." in said(tree)


def test_nothing_on_record_asks_only_whether_bruises_come_back(sites):
    assert questions(parsed(called(sites["empty"], "bruising"))) == ["Do bruises come back?"]


def test_what_others_measured_stands_with_its_number_and_source(sites):
    told = said(parsed(called(sites["small"], "bruising")))
    assert "24.7% of 942 horses at routine trims (likely 22.1 to 27.6%; Holzhauer 2017, Prev Vet Med 140:53)" in told
    assert "(Merck Veterinary Manual)" in told


def test_bruises_of_few_horses_have_no_range(tmp_path):
    found = [bruise("discipline", "dressage", 0.4), bruise("discipline", "trail", 0.8, horses_bruised=4)]
    tree = page(tmp_path, "bruising", bruise_recurrence=found)
    rows = table_rows(tree, "Bruises at the next look by work")
    assert [(row[0], row[2], row[-1]) for row in rows[1:]] == [
        ("Trail", "–", "Bruises of fewer than 5 horses: no range is told."),
        ("Dressage", "20 to 60%", ""),
    ]
