"""What a summary says of a horse, from drawn records."""

from datetime import date

import polars as pl
import pytest

from pipelines.sharing.gather import Wanted, gather
from schemas.results import AnglePrecision
from schemas.shared import Asks
from tests.sharing.drawn import AS_OF, HORSES, as_drawn, gathered, store_with

VISITS = """
    visit_id | horse_id | visit_date | visit_kind | planned_weeks
    v1       | H1       | 2025-01-01 | first      | 6
    v2       | H1       | 2025-02-19 | routine    | 6
    v3       | H1       | 2025-04-02 | routine    |
    b1       | H2       | 2025-01-01 | routine    |
    c1       | H3       | 2025-01-01 | routine    |
"""
FEET = """
    visit_id | foot | arrival | work    | shoe_style | sole_relief | bruise_grade | bruise_site | angle_arrival_deg | angle_leaving_deg | toe_leaving_mm
    v1       | LF   | bare    | fit_new | plain      | no          | 1            | toe         |                   | 52                | 80
    v1       | RF   | bare    | fit_new | plain      | no          | 0            |             |                   | 50                | 81
    v2       | LF   | on      | fit_new | bar        | yes         | 2            | toe         | 49                | 51.5              |
    v2       | RF   | off     | fit_new | plain      | no          |              |             | 48                | 50                |
    v3       | LF   | on      | trim    |            |             | 1            | body        |                   |                   |
    v3       | RF   | on      | reset   | plain      | yes         | 0            |             |                   |                   |
    b1       | LF   | bare    | fit_new | plain      | no          | 3            | body        | 45                | 45                |
    c1       | LF   | bare    | fit_new | plain      | no          | 3            | body        | 45                | 45                |
"""  # noqa: E501
LOSSES = """
    loss_id | horse_id | foot | found_off  | last_seen_on | cause
    l1      | H1       | RF   | 2025-02-10 | 2025-02-08   | caught
"""


def whole(**options):
    return gathered(visits=VISITS, feet=FEET, losses=LOSSES, **options).tables


def test_identity_and_how_much_is_on_record():
    horses = whole()["horses"]
    columns = ("horse_no", "horse_name", "discipline", "visits", "feet_seen", "looks", "bruised", "not_looked")
    assert as_drawn(horses, *columns) == [(1, "Ash", "polo", 3, 6, 5, 3, 7)]
    assert as_drawn(horses, "shoes", "losses", "readings") == [(5, 1, 6)]


def test_visits_carry_the_interval_that_led_to_them_against_the_plan():
    visits = as_drawn(whole()["visits"], "visit_no", "visit_date", "days", "planned_weeks", "days_late")
    assert visits == [
        (1, "2025-01-01", None, None, None),
        (2, "2025-02-19", 49, 6.0, 7.0),
        (3, "2025-04-02", 42, 6.0, 0.0),
    ]


def test_a_loss_is_a_range_of_days_and_never_the_single_day_that_analyses_use():
    tables = whole()
    columns = ("foot", "fitted_on", "lost_after", "lost_by", "days_least", "days_most", "cause")
    assert as_drawn(tables["losses"], *columns) == [
        ("RF", "2025-01-01", "2025-02-08", "2025-02-10", 38, 40, "caught")
    ]  # fmt: skip
    lost = tables["shoes"].filter(end_reason="lost")
    assert as_drawn(lost, "foot", "fitted_on", "off_on") == [("RF", "2025-01-01", None)]


def test_a_foot_that_was_not_looked_at_is_said_to_be_so_and_is_not_clear():
    looks = whole()["bruise_looks"].filter(visit_no=2)
    assert as_drawn(looks, "foot", "looked", "bruise_grade") == [
        ("LF", True, 2), ("LH", False, None), ("RF", False, None), ("RH", False, None)
    ]  # fmt: skip


def test_a_bruise_that_comes_back_is_told_with_whether_it_is_at_the_same_site():
    left = whole()["bruise_looks"].filter(foot="LF")
    assert as_drawn(left, "visit_no", "bruise_site", "again", "same_site_again") == [
        (1, "toe", None, None), (2, "toe", True, True), (3, "body", True, False)
    ]  # fmt: skip


def test_readings_keep_arrival_and_leaving_apart():
    left = whole()["readings"].filter(foot="LF")
    assert as_drawn(left, "visit_no", "stage", "angle_deg", "toe_mm") == [
        (1, "leaving", 52.0, 80.0), (2, "arrival", 49.0, None), (2, "leaving", 51.5, None)
    ]  # fmt: skip


def test_a_pair_is_uneven_beyond_one_and_a_half_degrees():
    gaps = as_drawn(whole()["gaps"], "visit_no", "end", "stage", "gap_deg", "uneven")
    assert gaps == [(1, "front", "leaving", 2.0, True), (2, "front", "arrival", 1.0, False),
                    (2, "front", "leaving", 1.5, False)]  # fmt: skip


def test_changes_are_told_from_one_shoe_of_a_foot_to_the_next():
    assert as_drawn(whole()["changes"], "foot", "changed_on", "change", "before", "after") == [
        ("LF", "2025-02-19", "shoe_style", "plain", "bar"),
        ("LF", "2025-02-19", "sole_relief", "no", "yes"),
        ("LF", "2025-04-02", "shod", "yes", "no"),
        ("RF", "2025-04-02", "sole_relief", "no", "yes"),
    ]


def test_a_summary_since_a_day_still_knows_what_came_before_it():
    tables = whole(since=date(2025, 2, 1))
    assert as_drawn(tables["visits"], "visit_no", "visit_date", "days") == [
        (1, "2025-02-19", 49), (2, "2025-04-02", 42)
    ]  # fmt: skip
    assert as_drawn(tables["bruise_looks"].filter(foot="LF"), "again") == [(True,), (True,)]
    assert tables["changes"].height == 4
    of_each_shoe = [18, 42, 8, 42, 84]  # LF plain, LF bar, RF lost between the 8th and the 10th, RF, RF not heard of
    assert tables["horses"]["shoe_days"][0] == sum(of_each_shoe)


@pytest.mark.parametrize("since", [None, date(2025, 6, 1)])
def test_what_is_on_the_feet_is_told_from_the_whole_record(since):
    assert as_drawn(whole(since=since)["on_the_feet"], "foot", "end_reason", "fitted_on", "off_on", "lost_by") == [
        ("LF", "taken_off", "2025-02-19", "2025-04-02", None),
        ("RF", "running", "2025-04-02", "2025-06-25", None),
    ]


def test_a_shoe_lost_and_not_put_back_is_on_the_feet_as_lost():
    columns = ("foot", "end_reason", "off_on", "lost_by")
    early = whole(as_of=date(2025, 2, 12))["on_the_feet"]
    assert as_drawn(early.filter(foot="RF"), *columns) == [("RF", "lost", None, "2025-02-10")]


def test_nothing_after_the_as_of_date_is_told():
    tables = whole(as_of=date(2025, 2, 19))
    assert as_drawn(tables["visits"], "visit_date") == [("2025-01-01",), ("2025-02-19",)]
    assert tables["changes"].filter(changed_on=date(2025, 4, 2)).is_empty()


def test_the_error_of_a_reading_is_blank_where_it_rests_on_too_few_owners():
    assert as_drawn(whole()["cover"], "angle_sd_deg", "least_change_deg") == [(None, None)]


PAIRS = [(f"p{n}", f"H{n}", f"o{n}") for n in range(10, 16)]


def _error_with(vets: dict[str, str], sd: float = 0.8437, pairs=PAIRS):
    """The error told where six owners' horses beside Ash were read at two visits, some of them of a vet practice."""
    herd = HORSES.rstrip() + "".join(f"\n{h} | {h} | polo | {vets.get(h, '')} | no | {o}" for _, h, o in pairs)
    visits = VISITS.rstrip() + "".join(
        f"\n{v}{n} | {h} | 2025-0{n}-01 | routine | " for v, h, _ in PAIRS for n in (1, 2)
    )
    feet = FEET.rstrip() + "".join(
        f"\n{v}{n} | LF | on | trim | | | | | 50 | 51 | " for v, _, _ in PAIRS for n in (1, 2)
    )
    with store_with(horses=herd, visits=visits, feet=feet) as store:
        counted = {"feet": 9, "angles_read": 9, "changes": 9, "other_farrier": 0}
        rows = [{"angle_at": stage, "error_sd_deg": sd, **counted} for stage in ("arrival", "leaving", "growth")]
        precision = AnglePrecision.check(pl.DataFrame(rows, schema=AnglePrecision.dtypes()))
        store.write_results({"angle_precision": precision})
        cover = gather(store, Wanted("V", AS_OF), Asks.empty()).tables["cover"]
        return as_drawn(cover, "angle_sd_deg", "least_change_deg")[0]


def test_the_error_of_a_reading_is_told_to_a_tenth_of_a_degree_so_that_two_summaries_tell_no_horse_apart():
    assert _error_with({}) == _error_with({}, 0.76) == (0.8, 2.2)
    assert _error_with({}, 0.01) == (0.1, 0.3)


def test_one_owner_written_in_two_ways_does_not_carry_the_error_of_a_reading():
    alike = [(v, h, ("o1", "O1", "o 2", "O  2", "o 3", "o  3")[n]) for n, (v, h, _) in enumerate(PAIRS)]
    assert _error_with({}, pairs=alike) == (None, None)


@pytest.mark.parametrize(("of_a_vet", "told"), [(1, True), (2, False)])
def test_the_error_of_a_reading_rests_on_five_owners_whose_horses_no_vet_practice_has(of_a_vet, told):
    vets = {f"H{10 + number}": "VW"[number] for number in range(of_a_vet)}
    assert (_error_with(vets)[0] is not None) is told
