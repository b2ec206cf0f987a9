"""The season's review: beside the one before, its days and horses, and the weeks to come."""

from dataclasses import replace
from datetime import date

import pytest

from reports.site import write_site
from tests.reports.horse_pages import listed_horse
from tests.reports.parsing import called, every, parsed, said, table_rows, text
from tests.reports.practice import ABOUT, results, work
from tests.reports.rounds import coming, load, season, took, turned
from tests.reports.test_reasons import picture, section
from tests.reports.test_sentences import answer, page

BESIDE, WEEKS, DAYS = "How was it beside the season before?", "Which weeks were the busiest?", "How full were the days?"
MINUTES, CALL_OUTS = "How long does a visit take?", "What did call-outs for lost shoes take?"
HORSES, COMING = "Which horses came, and which went?", "How many horses will the coming weeks bring?"
ELSEWHERE = "What is a farrier’s week elsewhere?"


@pytest.fixture(scope="module")
def tree(sites):
    return parsed(called(sites["small"], "season"))


def test_the_season_stands_beside_the_one_before_with_its_ratio(tree):
    assert answer(tree, BESIDE) == (
        "326 visits to 12 horses on 140 days, 41 shoes lost. Before: 326 to 12 on 140, 41 lost. For every day with a "
        "shoe on 1.14 times as many were lost as before (likely 0.72 to 1.81): the range holds 1, so this may be "
        "chance."
    )
    rows = {row[0]: row[1:] for row in table_rows(tree, "The season beside the one before")}
    assert rows["From"] == ["1 April 2025", "1 April 2024"]
    assert rows["Hours at the horse"] == ["300", "300"]
    assert rows["Likely"] == ["0.98 to 1.85", "0.98 to 1.85"]
    assert rows["Fees charged"] == ["27,000", "27,000"]


def test_of_a_season_that_still_runs_it_is_said_first_how_much_is_on_record(tmp_path):
    running = replace(ABOUT, season_start=date(2026, 3, 1), season_stop=date(2026, 8, 31))
    this = season(
        start=date(2026, 3, 1), stop=ABOUT.as_of, note="it runs to 31 August 2026, the record to 31 March 2026"
    )
    before = season("before", start=date(2025, 8, 29), stop=date(2025, 9, 28))
    herd = [turned("A", "Ash", "not_yet"), turned("B", "Bay", "kept")]
    told = results(season_compare=[this, before], horse_turnover=herd, season_review=[{**_reviewed(), "losses": 0}])
    written = write_site(told, running, tmp_path)
    tree = parsed(called(written, "season"))
    assert answer(tree, BESIDE).startswith(
        "The season still runs: its first 31 days of 184 stand beside as many first days of the one before. 326 visits"
    )
    assert "This season: it runs to 31 August 2026, the record to 31 March 2026." in text(section(tree, BESIDE))
    assert answer(tree, HORSES) == "1 horse kept, 0 new, 0 returned, 1 not seen yet."
    assert "Gone" not in text(section(tree, HORSES))
    for name in ("index", "season", "workload"):
        assert "of which 31 of 184 days are on record" in said(parsed(called(written, name))), name


@pytest.mark.parametrize(("stop", "short"), [(date(2025, 12, 31), True), (date(2026, 3, 31), False)])
def test_a_season_that_does_not_go_round_the_year_is_said_to_stand_beside_another_part_of_it(tmp_path, stop, short):
    about = replace(ABOUT, season_start=date(2025, 4, 1), season_stop=stop)
    told = results(season_compare=[season(stop=stop), season("before")])
    tree = parsed(called(write_site(told, about, tmp_path), "season"))
    note = "The season before is the time just before, so another part of the year"
    assert (note in text(section(tree, BESIDE))) == short


def _reviewed():
    row = {"start": date(2026, 3, 1), "stop": date(2026, 8, 31), "visits": 7, "horses": 3, "shoes_nailed": 9}
    row |= dict.fromkeys(("losses", "lost_shoe_visits", "lost_shoe_timed", "lost_shoe_driven", "intervals"), 0)
    return {**row, "losses": 3, "shoe_days": 90.0, "lost_shoe_minutes": 0.0, "lost_shoe_km": 0.0}


def test_where_no_visit_of_the_record_is_a_call_out_though_shoes_were_lost_it_is_said(tmp_path):
    untold = work("month", date(2025, 4, 1), "not recorded", 7, 0)
    tables = {"season_review": [_reviewed()], "workload": [untold]}
    none = dict.fromkeys(("lost_shoe_visits", "lost_shoe_timed", "lost_shoe_driven", "lost_shoe_charged"), 0)
    written = write_site(
        results(season_compare=[season(**none), season("before", **none)], **tables), ABOUT, tmp_path / "untold"
    )
    for name in ("index", "season", "workload"):
        told = said(parsed(called(written, name)))
        assert "Call-outs are not on record, though 3 shoes were lost: a call-out belongs among the visits" in told, (
            name
        )
        assert "was for a lost shoe" not in told, name
        assert "was made for a lost shoe" not in told, name
    rows = table_rows(parsed(called(written, "workload")), "Work of the season’s months by farrier")
    assert (rows[1][2], rows[1][6]) == ("–", "–")
    tables["workload"] = [work("month", date(2024, 4, 1), "Mo", 6, 1), untold]
    once = page(tmp_path / "told", "index", **tables)
    assert "None of the visits was for a lost shoe." in said(once), "elsewhere on the record there are call-outs"


def test_sums_say_on_how_many_visits_they_rest_where_not_on_all(tmp_path):
    this = season(driven=270, lost_shoe_timed=20, lost_shoe_charged=11, lost_shoe_minutes=500.0)
    tree = page(tmp_path, "season", season_compare=[this, season("before")])
    rows = {row[0]: row[1:] for row in table_rows(tree, "The season beside the one before")}
    assert rows["Driven, km"] == ["6,400 (270 of 326)", "6,400"]
    assert rows["Hours at the horse"] == ["300", "300"]
    assert "rests on that many of the visits" in text(section(tree, BESIDE))
    assert answer(tree, CALL_OUTS) == (
        "22 call-outs took 8 hours (on record for 20 of 22) and 396 km of driving; 330 was charged for the 11 with a "
        "fee on record."
    )


def test_a_week_of_call_outs_without_minutes_has_none_and_not_0(tmp_path):
    week = date(2025, 8, 18)
    untold = work("week", week, "Mo", 3, 2, lost_shoe_timed=0, lost_shoe_minutes=None, timed=3)
    written = page(tmp_path, "workload", workload=[untold, work("week", week, "Zeb", 4, 0)])
    head, row = table_rows(written, "Work by week")
    assert row[head.index("Minutes for lost shoes")] == "–"
    assert row[head.index("Minutes")] == "420 (7 of 9)"
    assert "Bars of visits a week, 18 August 2025; busiest the week of 18 August 2025" in said(written)


def test_without_a_farrier_no_farrier_is_counted(tmp_path):
    tables = {"workload": [work(period, date(2025, 6, 2), "not recorded", 4, 1) for period in ("week", "month")]}
    told = page(tmp_path / "work", "workload", **tables)
    assert answer(told, "Who did what?") == "No visit of the season says which farrier made it."
    tree = page(tmp_path / "season", "season", day_loads=[load(1, 33)], **tables)
    assert answer(tree, DAYS) == "None of 33 days held more than 6 horses. The fullest had 1 horse."
    assert "farrier" not in answer(tree, ELSEWHERE).split(";")[0]


def test_a_ratio_whose_range_leaves_out_1_is_not_called_chance(tmp_path):
    found = [season(ratio=2.0, ratio_low=1.2, ratio_high=3.3), season("before")]
    assert answer(page(tmp_path, "season", season_compare=found), BESIDE).endswith("the range leaves out 1.")


def test_a_rate_or_ratio_of_too_few_horses_is_told_without_a_range_or_verdict(tmp_path):
    blank = dict.fromkeys(("low", "high", "ratio_low", "ratio_high"))
    reason = "fewer than 5 horses, or one has most of the losses: no range"
    compared = [season(**blank, note=reason), season("before")]
    tables = {"season_compare": compared, "season_review": [{**_reviewed(), "per_1000_days": 33.3}]}
    tree = page(tmp_path / "season", "season", **tables)
    assert answer(tree, BESIDE).endswith(
        "1.14 times as many were lost as before; too few horses lost them to tell how sure that is."
    )
    assert f"This season: {reason}." in text(section(tree, BESIDE))
    assert {row[0]: row[1] for row in table_rows(tree, "The season beside the one before")}["Likely"] == "–"
    assert (
        "33.3 for every 1,000 days with a shoe on (fewer than 5 horses, or one has most of the losses: no range)."
        in said(page(tmp_path / "glance", "index", **tables))
    )


def test_a_season_before_that_is_not_on_record_is_compared_with_nothing(tmp_path):
    nothing = season("before", visits=0, horses=0, losses=0, note="the record begins on 2025-04-02")
    blank = dict.fromkeys(("ratio", "ratio_low", "ratio_high"))
    tree = page(
        tmp_path, "season", season_compare=[season(**blank), nothing], horse_turnover=[turned("A", "Ash", "new")]
    )
    assert answer(tree, BESIDE).endswith(
        "No visit is on record in the season before, so there is nothing to set it beside."
    )
    assert "The season before: the record begins on 2025-04-02." in text(section(tree, BESIDE))
    assert answer(tree, HORSES) == "No visit is on record in the season before to tell by."


def test_what_the_record_lacks_of_a_season_is_said_under_its_name(tmp_path):
    late = "the record begins on 2 May 2025, within it, so it is not whole on record"
    compared = [season(note=late), season("before", visits=0, note="the record begins on 2 May 2025, after it")]
    told = [f"This season: {late}.", "The season before: the record begins on 2 May 2025, after it."]
    assert _begins(page(tmp_path / "within", "season", season_compare=compared)) == told
    none = [{**row, "visits": 0} for row in compared]
    assert _begins(page(tmp_path / "after", "season", season_compare=none)) == [], "no visit is on record in it at all"


def _begins(tree) -> list[str]:
    notes = [text(note) for note in every(section(tree, BESIDE), "p", class_="note")]
    return [note for note in notes if "the record begins" in note]


def test_too_few_losses_make_no_ratio(tmp_path):
    blank = dict.fromkeys(("ratio", "ratio_low", "ratio_high"))
    told = answer(page(tmp_path, "season", season_compare=[season(**blank), season("before")]), BESIDE)
    assert told.endswith("Too few were lost to set one rate beside the other.")


def test_the_busiest_week_is_the_one_with_the_most_visits(tree):
    assert answer(tree, WEEKS) == "The week of 2 June 2025, with 20 visits on 5 days."
    assert table_rows(tree, "Weeks with the most visits")[1] == ["2 June 2025", "20", "19", "5", "1,000"]


def test_days_over_6_8_and_10_horses_are_counted_where_no_load_was_chosen(tree):
    # 40 + 60 + 30 + 9 + 1 days, of which 10 with more than 6 horses and 1 with more than 8
    assert answer(tree, DAYS) == (
        "Of 140 days of a farrier: more than 6 on 7%, more than 8 on 1%, more than 10 on none. The fullest had 9 "
        "horses."
    )
    assert "--day-load" in text(section(tree, DAYS))
    assert table_rows(tree, "Days over a load, in both seasons")[1:] == [
        ["More than 6", "10", "7%", "0", "0%"],
        ["More than 8", "1", "1%", "0", "0%"],
        ["More than 10", "0", "0%", "0", "0%"],
    ]
    assert "7 horses on 9 days" in picture(tree, "Days by horses seen").get("aria-label", "")


def chosen(folder, day_load: int, days: list):
    written = write_site(results(day_loads=days), replace(ABOUT, day_load=day_load), folder)
    return parsed(called(written, "season"))


def test_days_over_the_load_that_was_chosen_are_counted_and_coloured(tmp_path):
    tree = chosen(tmp_path, 3, [load(2, 15), load(3, 4), load(4, 1), load(5, 2, "before")])
    assert answer(tree, DAYS) == "1 of 20 days held more than 3 horses, 5%. The fullest had 4 horses."
    assert table_rows(tree, "Days over a load, in both seasons")[1:] == [["More than 3", "1", "5%", "2", "100%"]]
    columns = [one.get("fill") for one in every(picture(tree, "Days by horses seen"), "rect")]
    assert columns == ["#0072b2", "#0072b2", "#d55e00"]
    assert "--day-load" not in said(tree)


def test_no_day_over_the_load_is_said_to_be_none(tmp_path):
    assert answer(chosen(tmp_path / "chosen", 5, [load(2, 15)]), DAYS) == (
        "None of 15 days held more than 5 horses. The fullest had 2 horses."
    )
    told = answer(page(tmp_path / "not", "season", day_loads=[load(1, 3)]), DAYS)
    assert told == "None of 3 days of a farrier held more than 6 horses. The fullest had 1 horse."


def test_minutes_stand_by_work_and_by_how_the_horse_stood(tree):
    assert answer(tree, MINUTES) == (
        "Half of 298 visits with minutes on record took 62 minutes or less. Longest with “4 shoes”, half by 75 "
        "minutes; shortest with “trim only”, half by 30."
    )
    assert [row[0] for row in table_rows(tree, "Minutes of a visit by work done")[1:]] == [
        "4 shoes",
        "Trim only",
        "3 shoes",
    ]
    handling = table_rows(tree, "Minutes of a visit by how it stood")
    assert [row[0] for row in handling[1:]] == ["1, easy", "5, not safe to finish", "Not recorded"]


def test_no_minutes_on_record_are_said_to_be_none(tmp_path):
    tree = page(tmp_path, "season", visit_minutes=[took("all", "all", None, 9)])
    assert answer(tree, MINUTES) == "No visit of the season has its minutes on record."


@pytest.mark.parametrize(
    ("fee", "told"),
    [
        (330.0, "330 was charged for them."),
        (0.0, "nothing was charged for them."),
        (None, "no fee for them is on record."),
    ],
)
def test_call_outs_are_told_in_time_driving_and_fees(tmp_path, fee, told):
    tree = page(tmp_path, "season", season_compare=[season(lost_shoe_fee=fee), season("before")])
    assert answer(tree, CALL_OUTS) == f"22 call-outs took 9 hours and 396 km of driving; {told}"
    assert table_rows(tree, "Call-outs for a lost shoe in both seasons")[2] == ["Before", "22", "550", "396", "330"]


def test_horses_that_came_or_went_are_named_and_kept_ones_counted(tmp_path):
    herd = [
        turned(*one) for one in (("A", "Ash", "gone"), ("B", "Bay", "new"), ("C", "Cob", "kept"), ("D", "alm", "new"))
    ]
    tables = {"horse_turnover": herd, "season_compare": [season(), season("before")]}
    tree = page(tmp_path, "season", **tables, horse_list=[listed_horse(0, "B", "Bay")])
    assert answer(tree, HORSES) == "1 horse kept, 2 new, 0 returned, 1 gone."
    rows = table_rows(tree, "Horses new, returned or gone")
    assert [row[:2] for row in rows[1:]] == [["alm", "New"], ["Bay", "New"], ["Ash", "Gone"]]
    assert "horse-1.html" in [link.get("href") for link in every(tree, "a")]


def test_the_coming_weeks_have_a_range_each_and_lead_to_the_due_list(tmp_path):
    tree = page(tmp_path, "season", load_to_come=[coming(1, 12.2), coming(0)])
    assert answer(tree, COMING) == (
        "Most in the week of 6 April 2026: about 12 (likely 5 to 15). In all 2 weeks about 22."
    )
    rows = table_rows(tree, "Horses of the coming weeks; the first holds those overdue")
    assert rows[1:] == [["30 March 2026", "9.4", "5 to 15", "10"], ["6 April 2026", "12.2", "5 to 15", "11"]]
    assert [link.get("href") for link in every(section(tree, COMING), "a")] == ["due.html"]


@pytest.mark.parametrize(("beyond", "told"), [(0, ""), (1, "1 horse is overdue"), (3, "3 horses are overdue")])
def test_horses_too_long_overdue_to_be_expected_are_counted(tmp_path, beyond, told):
    tree = page(tmp_path, "season", load_to_come=[coming(0, horses_beyond=beyond)])
    assert told in text(section(tree, COMING))
    assert ("expected in no week" in text(section(tree, COMING))) == bool(beyond)


@pytest.mark.parametrize("name", ["season", "workload"])
def test_pages_that_tell_money_say_whose_they_are(sites, name):
    assert "For the farrier’s own eyes, not to be handed on" in said(parsed(called(sites["small"], name)))


def test_weeks_of_which_nothing_can_be_expected_draw_nothing(tmp_path):
    tree = page(tmp_path, "season", load_to_come=[coming(0, None)])
    assert answer(tree, COMING) == "10 horses in 1 week; when they will come cannot be told yet."
    assert not every(section(tree, COMING), "svg")


def test_a_farriers_week_is_set_beside_what_a_survey_found_and_says_so(tmp_path):
    weeks = [
        work("week", date(2025, 3, 31), "Mo", 90, 0),  # begins before the season
        work("week", date(2025, 4, 7), "Mo", 30, 0),
        work("week", date(2025, 4, 7), "Zeb", 10, 0),
        work("week", date(2025, 4, 14), "Mo", 2, 0, minutes=None),
    ]
    tree = page(tmp_path, "season", workload=weeks)
    assert answer(tree, ELSEWHERE) == (
        "Here a farrier’s week with work held 14.0 horses on average and 20.0 hours at the horse; a survey of "
        "full-time farriers found 40 horses and 42 hours."
    )
    # trade survey, quoted elsewhere: n = 695
    assert table_rows(tree, "A farrier’s week: here, and what others measured")[2] == [
        "Full-time farriers", "40", "42", "695 farriers", "A trade survey, quoted elsewhere"
    ]  # fmt: skip


def test_an_empty_record_has_an_empty_season(sites):
    tree = parsed(called(sites["empty"], "season"))
    assert answer(tree, BESIDE) == "No visit is on record in this season."
    assert len(every(tree, "section")) == 1
