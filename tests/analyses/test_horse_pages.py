from datetime import date

import polars as pl
import pytest

from pipelines.analyses import horse_pages as analysis
from schemas.derived import ShoeSpells
from schemas.exports import Feet, Horses, Losses, Visits
from tests.analyses.drawing import draw

HORSES = draw(Horses, "horse_id | horse_name\n b | Ash\n a | Bay\n c | Cob")
VISITS = draw(
    Visits,
    """
    visit_id | horse_id | visit_date | visit_kind | planned_weeks
    v1       | a        | 2025-03-01 | routine    | 6
    v2       | a        | 2025-04-01 | lost_shoe  |
    v3       | b        | 2025-02-01 | routine    | 7
    late     | a        | 2026-02-01 | routine    | 6
    """,
)
FEET = draw(
    Feet,
    """
    visit_id | foot | arrival | work    | bruise_grade | wall_state | toe_leaving_mm
    v1       | LF   | bare    | fit_new | 0            | sound      | 80
    v1       | LH   | bare    | trim    |              |            | 90
    v2       | LF   | off     | reset   | 2            |            |
    late     | LF   | on      | reset   | 1            | sound      | 80
    """,
)


def pages(record, **tables):
    empty = {"horses": HORSES, "visits": VISITS, "feet": FEET, "losses": draw(Losses), "shoe_spells": draw(ShoeSpells)}
    return record(**{**empty, **tables}).results(analysis)


def test_every_horse_has_a_page_numbered_by_its_code_and_never_by_its_name(record):
    found = pages(record)["horse_list"].select("page_no", "horse_id", "horse_name", "visits", "last_visit_on")
    assert found.rows() == [
        (1, "a", "Bay", 2, date(2025, 4, 1)),
        (2, "b", "Ash", 1, date(2025, 2, 1)),
        (3, "c", "Cob", 0, None),
    ]


def test_feet_looked_at_for_a_bruise_are_counted_and_the_others_are_not_taken_for_clear(record):
    found = pages(record)["horse_list"].select("horse_id", "feet_at_visits", "feet_looked", "bruised_looks")
    assert found.rows() == [("a", 3, 2, 1), ("b", 0, 0, 0), ("c", 0, 0, 0)]


def test_what_a_record_lacks_is_counted_over_the_rows_that_could_hold_it(record):
    found = {row[2]: row[3:] for row in pages(record)["horse_gaps"].filter(horse_id="a").rows()}
    assert found["wall_state"] == (2, 1)  # of shoes nailed on
    assert found["toe_leaving_mm"] == (3, 2)  # of feet
    assert found["planned_weeks"] == (2, 1)  # of visits, up to the day the record is read as of


def fit(record, lost, kept):
    """horse_fit of one horse whose shoes have these lengths of branch; None is a shoe still running."""
    rows = [f"v{place} | {mm} | {end}" for place, (mm, end) in enumerate(
        [(mm, "lost") for mm in lost] + [(mm, "renewed") for mm in kept] + [(40, "running")])]  # fmt: skip
    spells = draw(ShoeSpells, "fitted_visit_id | branch_past_heel_mm | end_reason\n" + "\n".join(rows))
    frame = pages(record, shoe_spells=spells.with_columns(horse_id=pl.lit("a"), end=pl.lit("front")))["horse_fit"]
    return frame.filter(fit_measure="branch_past_heel_mm").rows(named=True)


def test_lost_shoes_stand_beside_those_renewed_and_not_those_still_on(record):
    (row,) = fit(record, lost=[10, 12], kept=[2, 4, 6])
    assert (row["lost_shoes"], row["lost_figure"], row["kept_shoes"], row["kept_figure"]) == (2, 11.0, 3, 4.0)
    assert row["differs"] is None  # with two lost shoes nothing is said


@pytest.mark.parametrize(
    ("lost", "kept", "differs"),
    [
        # By hand: means 12 and 3, squares about them 2 and 10, s² = 12/6 = 2, error √(2·(1/3 + 1/5)) = 1.033, t = 8.7
        ([11, 12, 13], [1, 2, 3, 4, 5], True),
        # Means 4 and 3: t = 0.97 against 2.447 with 6 degrees of freedom
        ([3, 4, 5], [1, 2, 3, 4, 5], False),
        # Means 5.6 and 3: t = 2.52 (just over 2.447); with 5.5 instead of 5.6 it is 2.42
        ([4.6, 5.6, 6.6], [1, 2, 3, 4, 5], True),
        ([4.5, 5.5, 6.5], [1, 2, 3, 4, 5], False),
        ([3, 3, 3], [3, 3, 3, 3, 3], False),
        ([4, 4, 4], [3, 3, 3, 3, 3], True),
    ],
)
def test_what_differs_lies_further_apart_than_chance_sets_it(record, lost, kept, differs):
    (row,) = fit(record, lost, kept)
    assert row["differs"] is differs


def test_the_hind_foot_on_the_same_side_at_the_same_visit_stands_by_a_front_shoe(record):
    spells = draw(
        ShoeSpells,
        """
        fitted_visit_id | horse_id | foot | end   | end_reason
        v1              | a        | LF   | front | lost
        v1              | a        | RF   | front | lost
        v2              | a        | LF   | front | renewed
        """,
    )
    frame = pages(record, shoe_spells=spells)["horse_fit"]
    toe = frame.filter(fit_measure="hind_toe_leaving_mm").rows(named=True)
    assert [(row["lost_shoes"], row["lost_figure"], row["kept_shoes"]) for row in toe] == [(1, 90.0, 0)]
    bare = frame.filter(fit_measure="hind_shod").rows(named=True)
    assert [row["lost_figure"] for row in bare] == [0.0]


IN_TIME = {
    "horses": draw(Horses, "horse_id\n a"),
    "visits": draw(
        Visits,
        """
        visit_id | horse_id | visit_date
        v1       | a        | 2025-03-01
        v2       | a        | 2025-04-10
        v3       | a        | 2025-05-20
        v4       | a        | 2025-07-01
        late     | a        | 2026-02-01
        """,
    ),
}


def test_angles_stand_in_time_by_foot_and_what_was_not_read_has_no_row(record):
    feet = draw(
        Feet,
        """
        visit_id | foot | angle_arrival_deg | angle_leaving_deg | toe_arrival_mm | toe_leaving_mm
        v2       | LF   | 50                | 53                | 84             |
        v1       | RF   |                   |                   |                |
        v1       | LF   |                   | 52                |                | 80
        v3       | LF   |                   |                   | 86             |
        late     | LF   | 48                | 51                | 85             | 80
        """,
    )
    assert pages(record, **IN_TIME, feet=feet)["horse_angles"].drop("horse_id").rows() == [
        ("LF", date(2025, 3, 1), "leaving", 52.0, 80.0),
        ("LF", date(2025, 4, 10), "arrival", 50.0, 84.0),
        ("LF", date(2025, 4, 10), "leaving", 53.0, None),
        ("LF", date(2025, 5, 20), "arrival", None, 86.0),
    ]


def test_a_bruise_is_there_again_after_a_bruised_look_even_where_a_visit_without_a_look_lies_between(record):
    feet = draw(
        Feet,
        """
        visit_id | foot | bruise_grade | bruise_site
        v1       | LF   | 1            | toe
        v2       | LF   |              |
        v3       | LF   | 2            | toe
        v4       | LF   | 1            | body
        v1       | RF   | 1            | toe
        v2       | RF   | 0            | toe
        v3       | RF   | 3            | toe
        v1       | LH   | 1            |
        v2       | LH   | 1            |
        late     | LH   | 1            | toe
        """,
    )
    found = pages(record, **IN_TIME, feet=feet)["horse_bruises"].drop("horse_id", "visit_date")
    assert found.rows() == [
        ("LF", True, 1, "toe", False, False),
        ("LF", False, None, None, None, None),
        ("LF", True, 2, "toe", True, True),
        ("LF", True, 1, "body", True, False),
        ("LH", True, 1, None, False, False),
        ("LH", True, 1, None, True, False),  # where neither site was told, none is the same
        ("RF", True, 1, "toe", False, False),
        ("RF", True, 0, None, None, None),
        ("RF", True, 3, "toe", False, False),
    ]
