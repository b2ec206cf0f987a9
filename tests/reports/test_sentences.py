"""What pages say: the figures of the tables in plain words, and plainly so where there are too few."""

from datetime import date

import pytest

from reports.pages.loss_rates import UNRANKED
from reports.pages.workload import periods
from reports.site import write_site
from reports.wording import days_and_weeks, figure, hours, level_name, listed, many, percent, percent_span, span
from tests.reports.parsing import called, every, parsed, said, table_rows, text
from tests.reports.practice import ABOUT, bruise, practice, rate, results, work


def page(folder, name: str, **tables):
    """One page of the site these tables make."""
    return parsed(called(write_site(results(**tables), ABOUT, folder), name))


def answer(tree, question: str) -> str:
    """The answer under a question."""
    section = next(part for part in every(tree, "section") if text(every(part, "h2")[0]) == question)
    return text(every(section, "p", class_="answer")[0])


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        (percent(0.123), "12%"),
        (percent(0.0004), "under 1%"),
        (percent(0.0), "0%"),
        (percent(None), "–"),
        (level_name("pace", "not recorded"), "Work of no pace class"),
        (level_name("discipline", "not recorded"), "Not recorded"),
        (percent_span(0.071, 0.134), "7 to 13%"),
        (span(1.64, 2.26), "1.6 to 2.3"),
        (span(None, 2.0), "–"),
        (figure(-0.4, 2), "−0.40"),
        (days_and_weeks(44), "44 days (6 weeks and 2 days)"),
        (days_and_weeks(42), "42 days (6 weeks)"),
        (days_and_weeks(45.5), "45.5 days (6 weeks and 4 days)"),
        (days_and_weeks(1), "1 day"),
        (many(1, "horse"), "1 horse"),
        (many(1204, "shoe"), "1,204 shoes"),
        (hours(95), "95 minutes"),
        (hours(600), "10 hours"),
        (listed(["a", "b", "c"]), "a, b and c"),
    ],
)
def test_figures_are_written_as_people_read_them(written, expected):
    assert written == expected


def test_rows_set_aside_are_the_first_sentence_and_without_any_there_is_none(sites, tmp_path):
    """Half a record would look whole otherwise: 5 of 12 horses, 360 visits and 1,320 feet here."""
    front = parsed(called(sites["small"], "index"))
    first = text(every(every(front, "ol", class_="sentences")[0], "li")[0])
    assert first.startswith(
        "5 rows set aside Of 1,692 rows read last, 5 could not be taken; what only they tell is in no figure on these "
        "pages."
    )
    taken = [row | {"rows_set_aside": 0} for row in practice()["rows_taken"].to_dicts()]
    tables = {name: frame.to_dicts() for name, frame in practice().items()} | {"rows_taken": taken}
    told = said(page(tmp_path / "none", "index", **tables))
    assert "set aside" not in told
    assert "in five sentences" in told
    told = said(page(tmp_path / "one", "index", rows_taken=[{**taken[0], "rows_set_aside": 1}]))
    assert "Of 12 rows read last, 1 could not be taken; what only it tells is in no figure on these pages." in told


def test_the_season_is_five_sentences_and_each_leads_to_its_page(sites):
    front = parsed(called(sites["small"], "index"))
    sentences = every(every(front, "ol", class_="sentences")[0], "li")[1:]
    links = [[link.get("href") for link in every(sentence, "a")] for sentence in sentences]
    assert links == [
        ["workload.html", "season.html"],
        ["lost-shoes.html"],
        ["horses.html"],
        ["intervals.html", "due.html"],
        ["bruising.html", "angles.html"],
    ]
    told = [text(sentence) for sentence in sentences]
    assert (
        "326 visits 12 horses seen and 900 shoes nailed on. 22 visits went on lost shoes, unpaid: 9 hours and 396 km"
        in told[0]
    )
    assert "41 shoes lost" in told[1]
    assert "1.4 for every 1,000 days with a shoe on (likely 1.0 to 1.9)" in told[1]
    assert "1 of 11 horses that can be compared lost more shoes than chance would explain" in told[2]
    assert "Half of the 280 intervals were 44 days (6 weeks and 2 days) or shorter." in told[3]
    assert told[3].split(" How long")[0].endswith("4 horses are overdue, and 2 due within a week.")
    assert "20% of feet with a bruise had one at the next look too, against 5% of clear feet" in told[4]
    assert "the toe angle falls by 0.30° a week" in told[4]


@pytest.mark.parametrize(
    ("lost", "told"),
    [(1, "1 shoe came off before its time; 900 shoes were"), (2, "2 shoes came off before their time; 900 shoes were")],
)
def test_one_lost_shoe_came_off_before_its_time_and_two_before_theirs(tmp_path, lost, told):
    season = practice()["season_review"].to_dicts()[0] | {"losses": lost}
    assert told in said(page(tmp_path, "index", season_review=[season]))


def test_a_single_interval_is_no_half_of_any(tmp_path):
    reviewed = [row | {"intervals": 1, "median_days": 42.0} for row in practice()["season_review"].to_dicts()]
    tables = {name: frame.to_dicts() for name, frame in practice().items()} | {"season_review": reviewed}
    told = said(page(tmp_path, "index", **tables))
    assert "The one interval took 42 days (6 weeks)." in told
    assert "Half of" not in told


def test_an_empty_practice_is_told_that_there_is_nothing_yet(sites):
    pages = {path.stem: said(parsed(path)) for path in sites["empty"]}
    assert "No visit is on record in this season." in pages["index"]
    assert "Too few shoes have been followed for six weeks to say." in pages["lost-shoes"]
    assert "Too little is on record to compare horses yet." in pages["horses"]
    assert "No horse has been seen twice yet" in pages["intervals"]
    assert "No foot has been looked at twice for a bruise" in pages["bruising"]
    assert "Too few feet have an angle on leaving and on the next arrival to say." in pages["angles"]
    assert "Nothing has been read yet." in pages["data"]
    assert not any(every(parsed(path), "svg", class_="chart") for path in sites["empty"])


def test_one_horse_is_never_compared_with_anything(sites):
    pages = {path.stem: said(parsed(path)) for path in sites["one horse"]}
    assert "there is nothing yet to compare it with" in pages["lost-shoes"]
    assert (
        "Fewer than 2 losses: the range leaves out that a horse that lost one shoe loses more." in pages["lost-shoes"]
    )
    assert "Too little is on record to compare horses yet." in pages["horses"]
    assert "No other horse of this discipline." in pages["horses"]
    assert "The one interval on record was 42 days (6 weeks)." in pages["intervals"]


def test_ranges_that_overlap_may_be_chance_and_ranges_apart_are_not_called_so(tmp_path):
    near = [rate("discipline", "polo", 2.0), rate("discipline", "trail", 1.0)]
    far = [rate("discipline", "polo", 9.0), rate("discipline", "trail", 1.0)]
    question = "Which kinds of work lose the most shoes?"
    assert answer(page(tmp_path / "near", "lost-shoes", loss_rates=near), question) == (
        "Lost for every 1,000 shoe-days: most on “polo”, 2.0 (likely 1.0 to 4.0), "
        "fewest on “trail”, 1.0 (likely 0.5 to 2.0). The two ranges overlap, so this may be chance."
    )
    assert answer(page(tmp_path / "far", "lost-shoes", loss_rates=far), question).endswith(
        "The two ranges do not overlap."
    )


@pytest.mark.parametrize(
    ("chance", "told"),
    [
        (0.0004, "less than once in 1,000 times."),
        (0.008, "less than once in 100 times."),
        (0.0104, "1 time in 100."),
        (0.04, "4 times in 100."),
        (0.31, "31 times in 100, so this may be chance."),
    ],
)
def test_where_whole_lives_of_shoes_were_tested_that_decides_and_not_whether_ranges_overlap(tmp_path, chance, told):
    near = [rate("pace", "fast", 2.0), rate("pace", "slow", 1.0)]
    tested = [{"dimension": "pace", "df": 1, "p_clustered": chance}]
    found = answer(
        page(tmp_path, "lost-shoes", loss_rates=near, retention_tests=tested), "Does fast work cost more shoes?"
    )
    assert found.endswith(
        "fewest on “slow work”, 1.0 (likely 0.5 to 2.0). By whole lives of shoes: were there no true difference, "
        f"curves at least so far apart would come up {told}"
    )
    assert "overlap" not in found


def test_of_two_ways_to_find_a_range_the_wider_is_shown(tmp_path):
    wider_by_counting = rate("foot", "LF", 2.0, low=0.1, high=9.9)
    tree = page(tmp_path, "lost-shoes", loss_rates=[wider_by_counting, rate("foot", "RF", 2.0)])
    rows = table_rows(tree, "Lost shoes by foot; the rate is losses per 1,000 shoe-days")
    assert [row[:3] for row in rows] == [
        ["Foot", "Rate", "Likely"],
        ["Left fore", "2.0", "0.1 to 9.9"],
        ["Right fore", "2.0", "1.0 to 4.0"],
    ]


def test_levels_on_few_shoes_are_not_named_where_others_have_enough(tmp_path):
    rates = [
        rate("discipline", "polo", 3.0),
        rate("discipline", "trail", 1.0),
        rate("discipline", "driving", 40.0, shoes=4),
    ]
    told = answer(page(tmp_path, "lost-shoes", loss_rates=rates), "Which kinds of work lose the most shoes?")
    assert "(of those with 100 shoes or more): most on “polo”" in told
    assert "driving" not in told


def test_where_no_shoe_was_lost_nothing_is_said_to_lose_the_most(tmp_path):
    levels = {"discipline": ("polo", "trail"), "foot": ("LF", "RH"), "pace": ("fast", "slow"), "season": ("winter",),
              "shoe_style": ("plain", "rim"), "yard": ("Mill", "Oak")}  # fmt: skip
    none = {"losses": 0, "per_100_shoes": 0.0, "low": 0.0, "high": 1844.4}
    rates = [rate(dimension, level, 0.0, **none) for dimension, named in levels.items() for level in named]
    told = said(page(tmp_path / "none", "lost-shoes", loss_rates=rates))
    assert told.count("Of 400 shoes none was lost.") == 5
    assert told.count("Of 200 shoes none was lost.") == 1
    assert "fewest" not in told
    few = rate("discipline", "driving", 9.0, horses=2, shoes=20)
    tree = page(tmp_path / "few", "lost-shoes", loss_rates=[rate("all", "all", 0.3), *rates[:2], few])
    assert answer(tree, "Which kinds of work lose the most shoes?") == (
        "Among those that can be compared no shoe was lost; the table has the others. All shoes: 0.3."
    )


@pytest.mark.parametrize("rates", [(1.0, 2.0, 3.0), (3.0, 2.0, 1.0), (2.0, 1.0, 3.0)])
def test_farriers_stand_in_alphabetical_order_whatever_their_rates(tmp_path, rates):
    names = ("Mo Cedar", "anna Birch", "Zeb Alder", "not recorded")
    rows = [rate("farrier", name, figure) for name, figure in zip(names, (*rates, 9.0), strict=True)]
    tree = page(tmp_path, "lost-shoes", loss_rates=rows)
    in_order = ["anna Birch", "Mo Cedar", "Zeb Alder", "not recorded"]
    told = table_rows(tree, "Lost shoes by farrier; the rate is losses per 1,000 shoe-days")
    assert [row[0] for row in told[1:]] == in_order
    drawn = [element.text for element in every(tree, "svg", class_="chart")[0].iter("text")]
    assert [name for name in drawn if name in names] == in_order
    assert UNRANKED in said(tree)
    # a sentence about farriers counts and compares nothing
    assert answer(tree, "And by farrier?") == (
        "800 shoes nailed on by 3 farriers; 48 lost. 200 shoes have no farrier on record."
    )


def test_the_work_of_farriers_stands_in_alphabetical_order_too(sites):
    told = table_rows(parsed(called(sites["small"], "workload")), "Work of the season’s months by farrier")
    assert [row[0] for row in told[1:]] == ["anna Birch", "Mo Cedar", "Zeb Alder"]


def test_horses_stand_by_the_drawn_ratio_once_it_is_known_and_by_the_plain_one_before(tmp_path):
    losses = {"discipline": "trail", "shoes": 40, "losses": 5, "shoe_days": 1500.0, "expected": 2.0, "funnel": "inside",
              "peers": 9, "peer_losses": 20, "few_peers": False}  # fmt: skip
    ash = {"horse_id": "A", "horse_name": "Ash", **losses, "ratio": 9.0, "ratio_low": 1.0, "ratio_high": 20.0}
    bay = {"horse_id": "B", "horse_name": "Bay", **losses, "ratio": 3.0, "ratio_low": 2.0, "ratio_high": 4.0}
    caption = "Shoes lost and expected by horse; the ratio is lost over expected"
    plain = table_rows(page(tmp_path / "plain", "horses", horse_losses=[bay, ash]), caption)
    assert [row[0] for row in plain[1:]] == ["Ash", "Bay"]
    drawn = [{**ash, "shrunk_ratio": 1.2}, {**bay, "shrunk_ratio": 2.5, "shrunk_low": 1.5, "shrunk_high": 3.5}]
    shrunk = table_rows(page(tmp_path / "shrunk", "horses", horse_losses=drawn), caption)
    assert [row[:3] for row in shrunk] == [
        ["Horse", "Drawn toward 1", "Likely"],
        ["Bay", "2.5", "1.5 to 3.5"],
        ["Ash", "1.2", "–"],
    ]


@pytest.mark.parametrize(
    ("yards", "told"),
    [
        ([("Mill", 39.0)], "The middle interval is 39 days at Mill, with no other yard to set it beside."),
        ([("Mill", 39.0), ("not recorded", 50.0)], "The middle interval is 39 days at Mill, with no other yard"),
        ([("Mill", 39.0), ("Oak", 39.0)], "The middle interval is 39 days at every yard."),
        ([("Mill", 39.0), ("Oak", 45.0)], "The middle interval runs from 39 days at Mill to 45 days at Oak."),
        ([("not recorded", 45.0)], "No yard with an interval is on record by name."),
    ],
)
def test_yards_are_compared_only_where_there_are_two_that_differ(tmp_path, yards, told):
    shares = {"share_over_56": 0.1, "late_share": 0.1, "intervals_planned": 0}
    lengths = ("p10_days", "p25_days", "median_days", "p75_days", "p90_days")
    found = [
        {"dimension": "yard", "level": level, "intervals": 80, "horses": 11, **dict.fromkeys(lengths, days), **shares}
        for level, days in yards
    ]
    tree = page(tmp_path, "intervals", interval_lengths=found)
    assert answer(tree, "Which yards go longest?").startswith(told)


@pytest.mark.parametrize(
    ("intervals", "longest", "told"),
    [
        (490, 49.0, "Half of 490 intervals of 11 horses are 49 days (7 weeks) or shorter. One in ten took 49 days"),
        (10, 54.6, "Half of 10 intervals of 11 horses are 49 days (7 weeks) or shorter. One in ten took 55 days"),
        (9, 54.6, "Half of 9 intervals of 11 horses are 49 days (7 weeks) or shorter."),
    ],
)
def test_a_tenth_of_intervals_is_never_said_to_be_over_the_length_that_may_be_the_longest(
    tmp_path, intervals, longest, told
):
    lengths = dict.fromkeys(("p10_days", "p25_days", "median_days", "p75_days"), 49.0) | {"p90_days": longest}
    rest = {"intervals": intervals, "horses": 11, "share_over_56": 0.0, "intervals_planned": 0}
    found = [{"dimension": dimension, "level": level, **lengths, **rest}
             for dimension, level in (("all", "all"), ("season", "winter"))]  # fmt: skip
    tree = page(tmp_path, "intervals", interval_lengths=found)
    answered = answer(tree, "How long are intervals?")
    assert answered.startswith(told)
    assert ("or longer." in answered) == (intervals >= 10)
    assert "over 49 days" not in said(tree)
    assert f"Winter half by 49 days (7 weeks), a tenth {longest:.0f} days or longer" in said(tree)
    assert "all but the shortest and longest" not in said(tree)


def test_seasons_half_a_day_apart_are_not_told_with_one_figure(tmp_path):
    lengths = ("p10_days", "p25_days", "median_days", "p75_days", "p90_days")
    rest = {"dimension": "season", "intervals": 80, "horses": 11, "share_over_56": 0.0, "intervals_planned": 0}
    found = [{"level": level, **dict.fromkeys(lengths, days), **rest} for level, days in
             (("winter", 40.0), ("spring", 40.5))]  # fmt: skip
    told = answer(page(tmp_path, "intervals", interval_lengths=found), "Do intervals stretch with the season?")
    assert (
        told == "Longest in spring, with half at 40.5 days or less; shortest in winter, with half at 40 days or less."
    )


def test_of_equally_busy_weeks_workload_and_season_name_the_same(tmp_path):
    weeks = [date(2025, 6, day) for day in (2, 9, 16)]
    tables = {
        "workload": [work("week", week, "Mo", visits, 0) for week, visits in zip(weeks, (4, 7, 7), strict=True)],
        "busiest_weeks": [
            {"starts_on": week, "visits": 7, "horses": 7, "days_worked": 3, "timed": 7, "minutes": 420.0}
            for week in weeks[1:]
        ],
        "season_review": practice()["season_review"].to_dicts(),
    }
    assert "The busiest week began on 9 June 2025" in answer(
        page(tmp_path / "work", "workload", **tables), "How busy was the season?"
    )
    assert answer(page(tmp_path / "season", "season", **tables), "Which weeks were the busiest?").startswith(
        "The week of 9 June 2025"
    )


def test_without_a_model_no_ratio_is_said_to_hold_others_equal(tmp_path):
    why = {"factor": "pad", "level": "all", "shoes": 0, "losses": 0, "note": "left out: too few losses"}
    told = said(page(tmp_path, "lost-shoes", loss_factors=[why]))
    assert "held equal" not in told
    assert "Left out: pad (too few losses)." in told


def test_bruises_of_one_horse_only_are_not_named_in_a_comparison(tmp_path):
    rows = [bruise("site", "toe", 0.3), bruise("site", "body", 0.5), bruise("site", "heel_medial", 1.0, again_low=None)]
    told = answer(page(tmp_path, "bruising", bruise_recurrence=rows), "Which site comes back?")
    assert told.startswith("Bruises come back most often with “middle of the sole”, 50% of 50 (likely 25 to 75%)")


def test_weeks_at_the_edge_of_the_season_are_counted_whole_and_others_left_out():
    weeks = results(
        workload=[
            work("week", date(2025, 3, 24), "Mo", 9, 0),  # ends on 30 March, the day before the last day before it
            work("week", date(2025, 3, 31), "Mo", 2, 1),  # 31 March to 6 April holds 1 April
            work("week", date(2025, 3, 31), "Zeb", 4, 0, minutes=None),
            work("week", date(2026, 3, 30), "Mo", 5, 0, minutes=None),  # holds 31 March
            work("week", date(2026, 4, 6), "Mo", 9, 0),
        ]
    )
    found = periods(weeks, ABOUT, "week")
    assert [(row["starts_on"], row["visits"], row["minutes"]) for row in found] == [
        (date(2025, 3, 31), 7, 120.0),
        (date(2026, 3, 30), 5, None),
    ]


def test_rows_and_files_left_unread_stand_apart_from_doubts_and_name_no_table_of_none(tmp_path):
    doubt = {"table_name": "feet", "column_name": "bruise_grade", "rule": "unusual_value", "rows": 2, "note": "doubt"}
    row = {"table_name": "none", "column_name": None, "rule": "row_not_read", "rows": 14, "note": "doubt"}
    column = {"table_name": "visits", "column_name": "Job", "rule": "column_not_read", "rows": 1, "note": "doubt"}
    tree = page(tmp_path, "data", rows_set_aside=[doubt, row, column])
    assert answer(tree, "Why were rows set aside?") == (
        "No row was set aside. Accepted with a doubt, most often: unusual, worth a second look (2 rows of feet, column "
        "bruise_grade). Left unread, most often: a row that is no record (14 times)."
    )
    assert table_rows(tree, "Left unread, by reason")[1:] == [
        ["No table", "–", "a row that is no record", "14"],
        ["Visits", "Job", "a column that is none of the table", "1"],
    ]
