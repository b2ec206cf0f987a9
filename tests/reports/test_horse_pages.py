"""A page for each horse: what is on record for it, claiming no cause, and its name in no file's name."""

from datetime import date
from random import Random

import pytest

from reports.site import write_site
from tests.reports.conftest import HOSTILE
from tests.reports.horse_pages import fit, gap, guide, listed_horse, shoe, visit
from tests.reports.parsing import called, every, own_files, parsed, said, table_rows, text
from tests.reports.practice import ABOUT, horse, practice, results
from tests.reports.test_sentences import answer

SHOES = "What became of each shoe?"
FIT = "How do the shoes it lost differ from those it kept?"
HINDS = "What were its hind feet like when it lost a front shoe?"
PEERS = "Does it lose more than its peers?"
GUIDE = "How many shoes would be lost between visits so far apart?"
ANGLES = "How have its angles and toes gone?"
BRUISES = "Where has it been bruised?"
INTERVALS = "Does it come when it was agreed, and when is it due?"
LACKS = "What does its record lack?"


def own(folder, **tables):
    """The page of the one horse these tables tell of."""
    listing = {"horse_list": [listed_horse(0, "H0000", "Ash")], **tables}
    return parsed(own_files(write_site(results(**listing), ABOUT, folder))[-1])


def questions(tree) -> list[str]:
    return [text(heading) for part in every(tree, "section") for heading in every(part, "h2")]


def test_the_page_of_a_horse_asks_these_questions_and_carries_the_cautions(sites):
    page = parsed(called(sites["small"], "horse-1"))
    assert text(every(page, "h1")[0]) == "Pony 1"
    assert questions(page) == [SHOES, PEERS, FIT, HINDS, INTERVALS, GUIDE, ANGLES, BRUISES, LACKS]
    assert "Records are observations, not diagnoses." in text(every(page, "aside", class_="cautions")[0])


def test_each_horse_is_linked_from_the_table_of_horses_by_its_number(sites):
    links = {
        text(link): link.get("href")
        for link in every(every(parsed(called(sites["small"], "horses")), "main")[0], "a")
        if link.get("href", "").startswith("horse-")
    }
    assert links == {"Pony 1": "horse-1.html", "Pony 2": "horse-2.html", "Pony 3": "horse-3.html"}


def test_a_horse_never_shod_has_a_page_and_a_link_too(tmp_path):
    pages = write_site(results(horse_list=[listed_horse(0, "H1", "Bare", visits=2)]), ABOUT, tmp_path)
    assert table_rows(parsed(called(pages, "horses")), "Horses with no shoe on record")[1:] == [["Bare", "Trail", "2"]]
    assert answer(parsed(own_files(pages)[-1]), SHOES) == "No shoe has been nailed on."


def test_names_are_shown_as_written_and_get_into_no_file_name(sites):
    own = own_files(sites["hostile"])
    assert [path.stem for path in own] == ["horse-1", "horse-2", "horse-3"]
    for path in own:
        assert text(every(parsed(path), "h1")[0]).startswith(HOSTILE)


def test_horses_of_one_name_are_told_apart_on_their_pages(tmp_path):
    herd = [listed_horse(0, "A1", "Star"), listed_horse(1, "A2", "Star")]
    pages = write_site(results(horse_list=herd), ABOUT, tmp_path)
    assert [text(every(parsed(path), "h1")[0]) for path in own_files(pages)] == ["Star (A1)", "Star (A2)"]


def test_lost_shoes_are_counted_by_foot_and_listed_with_the_days_they_may_have_come_off(tmp_path):
    worn = [
        shoe("H0000", "LF", date(2026, 1, 1), 20, "lost", cause="caught"),
        shoe("H0000", "RF", date(2026, 1, 1), 10, "lost", lost_by=date(2026, 1, 11)),
        shoe("H0000", "LF", date(2026, 2, 1), 40),
    ]
    page = own(tmp_path, horse_shoes=worn, horse_visits=[visit("H0000", date(2026, 1, 1))])
    assert answer(page, SHOES) == "3 shoes nailed on, 2 lost: left fore 1 and right fore 1."
    rows = table_rows(page, "Shoes lost, the latest first")
    assert [row[1:5] for row in rows[1:]] == [
        ["Right fore", "11 January 2026", "10", "–"],
        ["Left fore", "11 January 2026 to 25 January 2026", "20", "Caught"],
    ]


def test_the_picture_marks_each_lost_shoe_and_each_visit(tmp_path):
    worn = [shoe("H0000", "LF", date(2026, 1, 1), 20, "lost"), shoe("H0000", "RF", date(2026, 1, 1), 89, "running")]
    seen = [visit("H0000", date(2026, 1, 1)), visit("H0000", date(2026, 1, 25), "lost_shoe")]
    page = own(tmp_path, horse_shoes=worn, horse_visits=seen)
    drawn = every(page, "svg", class_="chart")[0]
    assert len(every(drawn, "path")) == 1  # the cross
    assert len(every(drawn, "rect")) == 2
    assert "2 visits; left fore 1 shoe, 1 lost, right fore 1 shoe, 0 lost" in drawn.get("aria-label", "")
    assert [one.text for one in every(drawn, "text")].count("›") == 1


def test_a_shoe_without_word_for_long_has_no_arrow(tmp_path):
    worn = [shoe("H0000", "LF", date(2025, 12, 1), 84, "running")]  # followed until 23 February, read as of 31 March
    page = own(tmp_path, horse_shoes=worn, horse_visits=[visit("H0000", date(2025, 12, 1))])
    drawn = every(page, "svg", class_="chart")[0]
    assert len(every(drawn, "rect")) == 1
    assert "›" not in [one.text for one in every(drawn, "text")]


def test_of_a_long_record_the_latest_three_years_are_drawn_and_the_table_has_all(tmp_path):
    worn = [shoe("H0000", "LF", date(year, 5, 1), 20, "lost") for year in range(2015, 2026)]
    seen = [visit("H0000", one["fitted_on"]) for one in worn]
    page = own(tmp_path, horse_shoes=worn, horse_visits=seen)
    drawn = every(page, "svg", class_="chart")[0]
    assert len(every(drawn, "path")) == 3
    assert len(table_rows(page, "Shoes lost, the latest first")) == 12
    assert "From 1 April 2023; the table has all." in said(page)


def test_found_stands_beside_expected_with_the_range(tmp_path):
    row = {
        **horse(0, "Ash", Random(1)),
        "losses": 6,
        "expected": 2.0,
        "ratio": 3.0,
        "ratio_low": 1.1,
        "ratio_high": 6.5,
    }
    page = own(tmp_path, horse_losses=[{**row, "funnel": "above_95", "shrunk_ratio": 1.9, "shrunk_low": 0.9,
                                        "shrunk_high": 3.2, "chance_above_double": 0.4}])  # fmt: skip
    told = answer(page, PEERS)
    assert (
        "6 shoes lost where horses in the same work would have lost 2.0 in the same time. Allowing for how little"
        in told
    )
    assert "that makes 1.9 times (likely 0.9 to 3.2)" in told
    assert "That lies above what chance alone would bring; among many horses a few do so by chance." in told
    rows = table_rows(page, "Against horses in the same work")
    assert rows[2] == ["Drawn toward 1 by how little is known of it", "1.9", "0.9 to 3.2"]


@pytest.mark.parametrize(
    ("differs", "told"),
    [
        (True, "Worth a look, of 1 thing compared: front shoes, steel behind the heel, 8.5 mm lost and 4.0 mm kept."),
        (False, "Of 1 thing compared none lies further apart than chance often sets it."),
        (None, "4 lost shoes with this on record: too few to say what differs, so only the figures stand."),
    ],
)
def test_what_differs_is_called_worth_a_look_and_never_a_cause(tmp_path, differs, told):
    page = own(tmp_path, horse_fit=[fit("H0000", "branch_past_heel_mm", 8.5, 4.0, differs)])
    assert answer(page, FIT) == told
    assert "what differs need not be what pulled the shoe" in said(page)


def test_hind_feet_stand_beside_the_front_shoes_lost(tmp_path):
    page = own(tmp_path, horse_fit=[fit("H0000", "hind_toe_leaving_mm", 88.0, 82.0, True)])
    assert answer(page, HINDS).endswith("toe of the hind foot, 88.0 mm lost and 82.0 mm kept.")
    assert FIT not in questions(page)


def test_the_guide_of_a_horse_goes_from_4_to_10_weeks_with_ranges(tmp_path):
    page = own(tmp_path, interval_guide=guide("horse", "H0000", 0.02))
    assert "goes from 8% at 4 weeks (likely 4 to 16%) to 16% at 8 weeks (likely 8 to 32%)" in answer(page, GUIDE)
    rows = table_rows(page, "By booking interval")
    assert rows[-1] == ["10 weeks", "20%", "10 to 40%", "0.20", "1.0"]
    assert "For this horse a whole year so booked would lose 1.0 shoes at 4 weeks and 1.0 at 8." in answer(page, GUIDE)


def test_a_booking_nobody_was_followed_to_is_no_row_of_the_guide_and_says_why(tmp_path):
    why = "fewer than 10 shoes of this discipline were followed so long"
    rows = [row if row["weeks"] < 7 else {**row, "chance_of_a_loss": None, "note": why} for row in
            guide("horse", "H0000", 0.02)]  # fmt: skip
    page = own(tmp_path, interval_guide=rows)
    assert "goes from 8% at 4 weeks (likely 4 to 16%) to 12% at 6 weeks (likely 6 to 24%)" in answer(page, GUIDE)
    assert table_rows(page, "By booking interval")[-1][0] == "6 weeks"
    assert "7 weeks and more: fewer than 10 shoes of this discipline were followed so long." in said(page)


def test_where_horses_do_not_differ_beyond_chance_no_range_of_no_width_is_told(tmp_path):
    same = dict.fromkeys(("shrunk_ratio", "shrunk_low", "shrunk_high"), 1.0) | {"chance_above_double": 0.0}
    row = {**horse(2, "Ash", Random(1)), "losses": 3, "expected": 2.0, "ratio": 1.5, "ratio_low": 0.3,
           "ratio_high": 4.4, **same}  # fmt: skip
    page = own(tmp_path, horse_losses=[{**row, "horse_id": "H0000"}])
    assert "That is 1.5 times (likely 0.3 to 4.4)." in answer(page, PEERS)
    assert "1.0 to 1.0" not in said(page)


def test_with_few_peers_no_place_in_the_funnel_is_claimed(tmp_path):
    row = {**horse(0, "Ash", Random(1)), "funnel": "below_998", "few_peers": True, "peers": 1, "peer_losses": 4}
    told = answer(own(tmp_path, horse_losses=[row]), PEERS)
    assert "Only 1 other horse does its work, with 4 losses: what was to be expected is a guess." in told
    assert "what chance alone would bring" not in told


def test_what_is_often_blank_is_named_with_how_often(tmp_path):
    page = own(tmp_path, horse_gaps=[gap("H0000", "wall_state", 40, 39), gap("H0000", "cause", 4, 1, "losses")])
    assert answer(page, LACKS) == "Often blank: what pulled it (in 3 of 4 reported losses)."
    assert "Bruises: seen at 3 of 40 looks; 4 times a foot was not looked at." in said(page)


def test_a_horse_of_which_nothing_is_known_has_a_page_that_says_so(tmp_path):
    row = listed_horse(0, "H1", "New", visits=0, first_visit_on=None, last_visit_on=None, yard=None)
    page = parsed(own_files(write_site(results(horse_list=[row]), ABOUT, tmp_path))[-1])
    assert text(every(page, "p", class_="lead")[0]) == "Trail. No visit is on record."
    assert questions(page) == [SHOES]


def test_a_horse_seen_on_one_day_has_that_day_and_no_range_of_days(tmp_path):
    row = listed_horse(0, "H0000", "Ash", visits=1, first_visit_on=ABOUT.as_of, last_visit_on=ABOUT.as_of)
    nailed = [shoe("H0000", "LF", ABOUT.as_of, 0, "running")]
    page = own(tmp_path, horse_list=[row], horse_visits=[visit("H0000", ABOUT.as_of)], horse_shoes=nailed)
    assert text(every(page, "p", class_="lead")[0]) == "Trail, at Yard 1. 1 visit on record, 31 March 2026."
    assert "Shoes in time, 31 March 2026: 1 visit;" in said(page)


def test_a_thousand_horses_have_a_thousand_small_pages(tmp_path):
    written = own_files(write_site(practice(horses=1000, pages=1000), ABOUT, tmp_path))
    assert [path.name for path in written] == [f"horse-{number}.html" for number in range(1, 1001)]
    assert max(path.stat().st_size for path in written) < 80_000
    last = parsed(written[-1])
    assert text(every(last, "h1")[0]) == "Pony 1000"
    assert questions(last) == [SHOES, PEERS, FIT, HINDS, INTERVALS, GUIDE, ANGLES, BRUISES, LACKS]
