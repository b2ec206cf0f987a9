"""One horse's angles and bruises on its page: stages never joined, cut-offs printed, repeats and missed looks told."""

import re
from datetime import date, timedelta

from tests.reports.feet import changed, error, look, pair, reading
from tests.reports.parsing import every, table_rows, text
from tests.reports.test_bruising_page import picture
from tests.reports.test_horse_pages import ANGLES, BRUISES, own, questions
from tests.reports.test_sentences import answer

BEYOND = "Latest changes larger than error and growth explain"
DAYS = [date(2025, 5, 1) + timedelta(days=42 * turn) for turn in range(4)]
READ = [
    row
    for turn, day in enumerate(DAYS)
    for row in (
        reading("H0000", "LF", day, "arrival", 48.0 - turn, 88.0),
        reading("H0000", "LF", day, "leaving", 51.0 + turn, None),
    )
]


def drawn_ends(svg) -> list[int]:
    """How many points each joined line of a picture has."""
    return [path.get("d").count("L") + 1 for path in every(svg, "path") if "L" in path.get("d", "")]


def test_a_line_joins_leavings_alone_and_arrivals_are_dots(tmp_path):
    tree = own(tmp_path, horse_angles=READ)
    drawn = picture(tree, "Angle in time")
    assert drawn_ends(drawn) == [4]
    points = re.findall(r"M?([\d.]+) ([\d.]+)", next(p.get("d") for p in every(drawn, "path") if "L" in p.get("d", "")))
    heights = [float(y) for _, y in points]
    assert heights == sorted(heights, reverse=True)  # leavings rise by a degree each, arrivals fall
    assert "left fore 4 readings on leaving, 51.0° to 54.0° and 4 readings on arrival, 48.0° to 45.0°" in drawn.get(
        "aria-label"
    )
    assert "right fore no reading" in drawn.get("aria-label")


def test_toes_have_a_picture_of_their_own_and_what_was_not_read_none(tmp_path):
    tree = own(tmp_path, horse_angles=READ)
    toes = picture(tree, "Toe in time")
    assert "left fore 4 readings on arrival, 88.0 mm to 88.0 mm" in toes.get("aria-label")
    assert drawn_ends(toes) == []
    angles_only = own(tmp_path / "angles", horse_angles=[{**row, "toe_mm": None} for row in READ])
    assert not [svg for svg in every(angles_only, "svg") if svg.get("aria-label", "").startswith("Toe")]


def test_of_a_long_record_the_latest_three_years_of_readings_are_drawn(tmp_path):
    old = [reading("H0000", "LF", date(year, 5, 1), "leaving", 50.0) for year in range(2015, 2026)]
    tree = own(tmp_path, horse_angles=old)
    assert drawn_ends(picture(tree, "Angle in time")) == [3]
    assert "From 1 April 2023; earlier readings are not drawn." in text(tree)


def test_readings_of_one_day_or_of_long_ago_alone_are_no_trouble(tmp_path):
    once = own(tmp_path / "once", horse_angles=[reading("H0000", "LF", DAYS[0], "leaving", 50.0, 80.0)])
    drawn = picture(once, "Angle in time")
    assert drawn_ends(drawn) == []
    assert "left fore 1 reading on leaving, 50.0°;" in drawn.get("aria-label")
    ago = own(tmp_path / "ago", horse_angles=[reading("H0000", "LF", date(2010, 1, 1), "leaving", 50.0)])
    assert ANGLES in questions(ago)
    assert not every(ago, "svg", class_="chart")


def test_left_against_right_is_told_with_the_cut_off(tmp_path):
    gaps = [pair("H0000", "Ash", "hind", -1.6, -1.0), pair("H0000", "Ash", "front", 0.4)]
    tree = own(tmp_path, horse_angles=READ, angle_gaps=gaps, angle_precision=[error("leaving", 0.6)])
    assert answer(tree, ANGLES) == (
        "When last read on leaving, the front feet differed by 0.4°, the left being steeper; the hind feet differed by "
        "1.6°, the right being steeper, uneven. Over 1.5° is called uneven. No foot’s latest change at one stage that "
        "can be judged is larger than error and growth explain."
    )
    assert table_rows(tree, "Left minus right on leaving, in degrees")[2] == [
        "Hind feet", "−1.6", "1 February 2026", "1.5", "−1.0", "3 of 10 visits",
    ]  # fmt: skip


def test_changes_larger_than_the_error_are_told_and_growth_is_none_of_them(tmp_path):
    found = [changed("H0000", "Ash", "RH", "arrival", 3.4), changed("H0000", "Ash", "LF", "growth", -4.0)]
    known = [error("arrival", 0.6)]
    tree = own(tmp_path, horse_angles=READ, angle_changes=found, angle_precision=known)
    assert answer(tree, ANGLES).endswith(
        "Larger than error and growth explain: right hind on arrival by 3.4° from 20 December 2025 to 1 February 2026, "
        "of which growth explains 0.0°. Over 3° at one stage, without growth, is a reason to call the vet."
    )
    rows = table_rows(tree, BEYOND)
    assert [row[:6] for row in rows[1:]] == [["Right hind", "Arrival", "3.4", "0.0", "3.4", "2.2"]]
    assert "Another farrier" not in text(tree)
    found[0]["hand_changed"] = True
    other = own(tmp_path / "other", horse_angles=READ, angle_changes=found, angle_precision=known)
    assert table_rows(other, BEYOND)[1][-1] == "Another farrier"


def test_what_growth_explains_of_a_change_calls_no_vet(tmp_path):
    found = [changed("H0000", "Ash", "LF", "arrival", 4.4, growth_deg=2.0)]
    tree = own(tmp_path, horse_angles=READ, angle_changes=found, angle_precision=[error("arrival", 0.6)])
    assert answer(tree, ANGLES).endswith("of which growth explains 2.0°.")


def test_without_a_known_error_no_change_is_called_large_or_small_and_one_reading_is_no_change(tmp_path):
    unknown = own(tmp_path / "few", horse_angles=READ, angle_precision=[error("leaving", None)])
    assert answer(unknown, ANGLES).endswith(
        "How large the error of reading is, is not known yet, so no change is called large."
    )
    once = own(tmp_path / "once", horse_angles=READ[:2], angle_precision=[error("leaving", 0.6)])
    assert answer(once, ANGLES).endswith("No foot has been read twice at one stage.")


def test_each_foot_has_its_own_drift_with_limits_and_its_trend(tmp_path):
    drift = {"horse_id": "H0000", "foot": "LF", "steps": 9, "deg_per_week": -0.4, "low": -0.6, "high": -0.2}
    drift |= {"shod_or_bare": "shod", "peers_deg_per_week": -0.45}
    trend = {"leaving_trend_deg_per_year": 0.51, "leaving_trend_low": -0.2, "leaving_trend_high": 1.2}
    few = {"horse_id": "H0000", "foot": "RF", "steps": 1, "shod_or_bare": "bare", "note": "fewer than 3 steps"}
    tree = own(tmp_path, horse_angles=READ, horse_angle_drift=[few, {**drift, **trend}])
    rows = table_rows(tree, "Each foot’s own change between visits, and its trend over the years")
    assert rows[1:] == [
        ["Left fore", "−0.40", "−0.60 to −0.20", "−0.45", "9", "0.5", "−0.2 to 1.2"],
        ["Right fore", "–", "–", "–", "1", "–", "–"],
    ]
    assert "drawn toward those of its peers, shod with shod" in text(tree)


TWICE = {"again": True, "same_site_again": True}
SEEN = [
    look("H0000", "LF", DAYS[0], 1, "heel_medial"),
    look("H0000", "LF", DAYS[1], None),
    look("H0000", "LF", DAYS[2], 3, "heel_medial", **TWICE),
    look("H0000", "LF", DAYS[3], 0),
    look("H0000", "RH", DAYS[0], 2),
]


def test_bruises_are_mapped_by_foot_and_site_with_the_looks_that_were_made(tmp_path):
    tree = own(tmp_path, horse_bruises=SEEN)
    drawn = picture(tree, "Bruises by foot and site")
    assert drawn.get("aria-label") == (
        "Bruises by foot and site: left fore looked at 3 of 4 times, inner heel 2; right fore looked at 0 of 0 times, "
        "no bruise; left hind looked at 0 of 0 times, no bruise; right hind looked at 1 of 1 time, site not told 1."
    )
    words = [one.text for one in every(drawn, "text")]
    assert "looked at 3 of 4" in words
    assert words.count("not seen") == 2
    # a deep bruise fills its mark, a clear one has a thick ring
    assert [ring.get("fill") == ring.get("stroke") for ring in every(drawn, "circle")] == [True, False]
    assert every(drawn, "circle")[1].get("stroke-width") == "3.2"


def test_inner_sides_face_the_middle_of_the_picture(tmp_path):
    seen = [look("H0000", foot, DAYS[0], 1, "heel_medial") for foot in ("LF", "RF")]
    left, right = every(picture(own(tmp_path, horse_bruises=seen), "Bruises by foot"), "circle")
    assert 90 < float(left.get("cx")) < 180 < float(right.get("cx")) < 270
    assert float(left.get("cx")) + float(right.get("cx")) == 360


def test_the_same_site_twice_running_is_a_reason_to_call_the_vet_while_no_later_look_says_otherwise(tmp_path):
    now = [SEEN[0], SEEN[1], SEEN[2], SEEN[4], look("H0000", "LF", DAYS[3], None)]
    assert answer(own(tmp_path, horse_bruises=now), BRUISES) == (
        "A bruise was found at 3 of 3 looks. 2 times a foot was not looked at. The same site twice running at the "
        "latest look, a reason to call the vet: inner heel of the left fore."
    )


def test_the_same_site_twice_running_in_the_past_is_dated_and_both_can_stand_side_by_side(tmp_path):
    hind = [look("H0000", "RH", DAYS[1], 1, "toe"), look("H0000", "RH", DAYS[3], 1, "toe", **TWICE)]
    told = answer(own(tmp_path, horse_bruises=[*SEEN[:4], *hind]), BRUISES)
    assert told.endswith(
        "The same site twice running at the latest look, a reason to call the vet: toe of the right hind. Twice "
        "running at one site in July 2025 (inner heel of the left fore)."
    )


def test_the_same_site_twice_running_once_is_no_call_today_and_missed_looks_are_counted(tmp_path):
    tree = own(tmp_path, horse_bruises=SEEN)
    assert answer(tree, BRUISES) == (
        "A bruise was found at 3 of 4 looks. 1 time a foot was not looked at. Twice running at one site in July 2025 "
        "(inner heel of the left fore)."
    )
    rows = table_rows(tree, "Bruises, the latest first")
    assert rows[1:] == [
        ["24 July 2025", "Left fore", "Inner heel", "3", "Deep or painful", "Same site"],
        ["1 May 2025", "Left fore", "Inner heel", "1", "Faint", ""],
        ["1 May 2025", "Right hind", "Not told", "2", "Clear", ""],
    ]


def test_twice_running_at_an_untold_site_is_told_apart_from_the_same_site(tmp_path):
    seen = [look("H0000", "LF", DAYS[0], 1), look("H0000", "LF", DAYS[1], 1, again=True)]
    told = answer(own(tmp_path, horse_bruises=seen), BRUISES)
    assert told.endswith("A foot was bruised twice running, not known to be at the same site.")


def test_a_horse_looked_at_and_never_bruised_has_no_map_and_one_never_looked_at_has_no_section(tmp_path):
    clear = own(tmp_path / "clear", horse_bruises=[look("H0000", "LF", DAYS[0], 0)])
    assert answer(clear, BRUISES) == "No bruise was found at 1 look. Every foot was looked at each time."
    assert not every(clear, "svg", class_="chart")
    assert BRUISES not in questions(own(tmp_path / "never", horse_bruises=[look("H0000", "LF", DAYS[0], None)]))
