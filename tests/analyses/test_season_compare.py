from datetime import date

import polars as pl
import pytest

from pipelines.analyses import season_compare as analysis
from pipelines.analyses import season_review
from schemas.derived import ShoeSpells, VisitIntervals
from schemas.exports import Feet, Horses, Visits
from tests.analyses.drawing import draw, fill

# March is under review, so the season before it is the 31 days from 29 January to 28 February.
SEASON = (date(2025, 3, 1), date(2025, 3, 31))
HORSES = fill(Horses, [{"horse_id": name, "horse_name": name.title()} for name in ("ash", "bay", "cob", "dun", "elm")])
VISITS = """
    visit_id | horse_id | visit_date | visit_kind | minutes | travel_km | handling | farrier | fee
    a0       | ash      | 2025-01-29 | routine    | 40      | 10        | 1        | Mo      | 90
    a1       | ash      | 2025-03-01 | routine    | 60      | 10        | 1        | Mo      | 95
    a2       | ash      | 2025-03-05 | lost_shoe  | 20      | 30        | 1        | Mo      | 15
    b0       | bay      | 2025-02-28 | routine    |         |           | 2        |         |
    c1       | cob      | 2025-03-31 | first      | 50      |           |          |         |
    d0       | dun      | 2024-06-01 | routine    | 50      |           |          |         |
    d1       | dun      | 2025-03-05 | routine    | 80      |           |          | Zeb     |
    e0       | elm      | 2025-01-28 | routine    | 50      |           |          |         |
    b9       | bay      | 2026-03-01 | routine    | 50      |           |          |         |
"""
FEET = """
    visit_id | foot | work
    a0       | LF   | fit_new
    a1       | LF   | reset
    a1       | RF   | fit_new
    a2       | LF   | reset
    c1       | LF   | trim
    e0       | LF   | fit_new
"""
# Of 10 days of ash's first spell 9 fall before March; its loss on 5 March is of this season.
SPELLS = """
    horse_id | foot | fitted_on  | ended_on   | end_reason
    ash      | LF   | 2025-02-19 | 2025-03-01 | renewed
    ash      | LF   | 2025-03-01 | 2025-03-05 | lost
    bay      | LF   | 2025-02-18 | 2025-02-28 | lost
    dun      | LF   | 2025-03-31 | 2025-03-31 | lost
    elm      | LF   | 2025-03-21 | 2025-04-20 | running
"""
INTERVALS = """
    horse_id | from_visit_id | from_date  | to_date
    ash      | a0            | 2025-01-29 | 2025-03-01
    dun      | d0            | 2025-02-03 | 2025-03-05
    bay      | x             | 2025-01-01 | 2025-02-28
"""


@pytest.fixture
def season(record):
    return record(
        season=SEASON,
        horses=HORSES,
        visits=draw(Visits, VISITS),
        feet=draw(Feet, FEET),
        shoe_spells=draw(ShoeSpells, SPELLS),
        visit_intervals=draw(VisitIntervals, INTERVALS),
    )


@pytest.fixture
def results(season):
    return season.results(analysis)


def seasons(results):
    return {row["which"]: row for row in results["season_compare"].to_dicts()}


def test_the_season_before_has_the_same_length_and_ends_the_day_before(results):
    found = seasons(results)
    assert (found["this"]["start"], found["this"]["stop"]) == SEASON
    assert (found["before"]["start"], found["before"]["stop"]) == (date(2025, 1, 29), date(2025, 2, 28))


def test_each_season_counts_its_own_visits(results):
    names = (
        "visits",
        "horses",
        "days_worked",
        "minutes",
        "travel_km",
        "shoes_nailed",
        "lost_shoe_visits",
        "lost_shoe_minutes",
        "lost_shoe_km",
    )
    found = {which: tuple(row[name] for name in names) for which, row in seasons(results).items()}
    assert found == {"this": (4, 3, 3, 210, 40, 3, 1, 20, 30), "before": (2, 2, 2, 40, 10, 1, 0, 0, 0)}


def test_each_sum_counts_the_visits_it_rests_on(results):
    names = ("timed", "driven", "charged", "lost_shoe_timed", "lost_shoe_driven", "lost_shoe_charged")
    found = {which: tuple(row[name] for name in names) for which, row in seasons(results).items()}
    assert found == {"this": (4, 2, 2, 1, 1, 1), "before": (1, 1, 1, 0, 0, 0)}


def test_call_outs_whose_minutes_nobody_wrote_down_take_not_0_minutes(record):
    untold = draw(Visits, VISITS).with_columns(minutes=pl.lit(None, pl.Int64))
    this = seasons(record(season=SEASON, horses=HORSES, visits=untold).results(analysis))["this"]
    assert (this["lost_shoe_visits"], this["lost_shoe_timed"], this["lost_shoe_minutes"]) == (1, 0, None)


def test_of_a_season_that_still_runs_the_one_before_is_cut_to_as_many_days(record):
    tables = {"horses": HORSES, "visits": draw(Visits, VISITS), "visit_intervals": draw(VisitIntervals, INTERVALS)}
    tables["shoe_spells"] = draw(ShoeSpells, SPELLS).filter(pl.col("ended_on") <= date(2025, 3, 5))
    found = record(as_of=date(2025, 3, 5), season=SEASON, **tables).results(analysis)
    this, before = seasons(found)["this"], seasons(found)["before"]
    assert (this["start"], this["stop"]) == (date(2025, 3, 1), date(2025, 3, 5))
    assert (before["start"], before["stop"]) == (date(2025, 1, 29), date(2025, 2, 2))
    assert (this["visits"], before["visits"]) == (3, 1), "bay was seen on the 31st day of the season before"
    runs, few = this["note"].split("; ")
    assert runs == "it runs to 31 March 2025, the record to 5 March 2025"
    assert few == "fewer than 5 horses, or one has most of the losses: no range"
    standing = {row["horse_id"]: row["standing"] for row in found["horse_turnover"].to_dicts()}
    assert standing == {"ash": "kept", "bay": "not_yet", "dun": "returned"}, "none has gone before the season is over"


def test_a_season_that_is_over_on_its_last_day_is_whole(record):
    found = record(as_of=SEASON[1], season=SEASON, horses=HORSES, visits=draw(Visits, VISITS)).results(analysis)
    assert seasons(found)["before"]["stop"] == date(2025, 2, 28)
    assert {row["horse_id"]: row["standing"] for row in found["horse_turnover"].to_dicts()}["bay"] == "gone"


def test_fees_of_call_outs_stand_beside_all_fees_and_are_blank_where_none_is_on_record(results):
    found = {which: (row["fee"], row["lost_shoe_fee"]) for which, row in seasons(results).items()}
    assert found == {"this": (110, 15), "before": (90, None)}


def test_a_day_is_that_of_one_farrier(results):
    # on 5 March Mo saw one horse and Zeb another
    rows = results["day_loads"].rows()
    assert rows == [("this", 1, 4), ("before", 1, 2)]


def test_a_shoe_day_and_a_loss_belong_to_one_season(results):
    found = seasons(results)
    assert (found["this"]["losses"], found["this"]["shoe_days"]) == (2, 1 + 4 + 0.5 + 10)
    assert (found["before"]["losses"], found["before"]["shoe_days"]) == (1, 9 + 10)
    assert found["this"]["per_1000_days"] == pytest.approx(2000 / 15.5)


def test_the_ratio_of_the_two_rates_stands_in_this_seasons_row(results):
    found = seasons(results)
    assert found["this"]["ratio"] == pytest.approx(2 / 15.5 / (1 / 19))
    assert found["before"]["ratio"] is None


def test_intervals_belong_to_the_season_they_end_in(results):
    found = {which: (row["intervals"], row["median_days"]) for which, row in seasons(results).items()}
    assert found == {"this": (2, 30.5), "before": (1, 58)}


def test_this_season_is_what_the_review_of_it_says(season, results):
    review = season.results(season_review)["season_review"].row(0, named=True)
    assert {name: seasons(results)["this"][name] for name in review} == review


def test_a_record_that_begins_later_says_so(record):
    visits = draw(Visits, VISITS)

    def notes(first):
        found = record(season=SEASON, horses=HORSES, visits=first).results(analysis)["season_compare"]
        return {row["which"]: row["note"] for row in found.to_dicts()}

    last = "the last day that would be set beside this season"
    later = f"the record begins on 1 March 2025, after 28 February 2025, {last}"
    assert notes(visits.filter(visit_id="a1")) == {"this": None, "before": later}
    within = visits.filter(visit_id="a1").with_columns(visit_date=date(2025, 2, 20))
    told = "the record begins on 20 February 2025, within it, so it is not whole on record"
    assert notes(within)["before"] == told


def test_the_busiest_weeks_begin_on_monday_and_stand_first(results):
    assert results["busiest_weeks"].rows() == [
        (date(2025, 3, 3), 2, 2, 1, 2, 100),
        (date(2025, 2, 24), 1, 1, 1, 1, 60),
        (date(2025, 3, 31), 1, 1, 1, 1, 50),
    ]


def test_horses_are_new_kept_returned_or_gone(results):
    found = {row["horse_id"]: row["standing"] for row in results["horse_turnover"].to_dicts()}
    assert found == {"ash": "kept", "bay": "gone", "cob": "new", "dun": "returned"}
    assert results["horse_turnover"]["last_visit_on"][1] == date(2025, 2, 28), "after the as-of date nothing counts"


def test_minutes_are_split_by_work_done_and_by_handling_in_the_season_alone(results):
    found = {(row["dimension"], row["level"]): row for row in results["visit_minutes"].to_dicts()}
    assert (found["all", "all"]["visits"], found["all", "all"]["median_minutes"]) == (4, 55)
    levels = {level: row["timed"] for (kind, level), row in found.items() if kind == "work_done"}
    assert levels == {"1 shoe": 1, "2 shoes": 1, "trim only": 1, "no shoe or trim": 1}
    assert {level: row["visits"] for (kind, level), row in found.items() if kind == "handling"} == {
        "1": 2,
        "not recorded": 2,
    }
    assert found["all", "all"]["note"] == "fewer than 10 visits with minutes"


def test_an_empty_record_has_two_empty_seasons_and_nothing_else(record):
    found = record(season=SEASON).results(analysis)
    assert (
        found.pop("season_compare").select("visits", "losses", "shoe_days", "per_1000_days").rows()
        == [(0, 0, 0, None)] * 2
    )
    assert {frame.height for frame in found.values()} == {0}


def test_without_a_season_all_is_empty(record):
    assert {frame.height for frame in record(horses=HORSES).results(analysis).values()} == {0}
