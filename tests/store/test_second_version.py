"""The derived tables against plain loops, in a world so small that ties are the rule."""

from datetime import date, timedelta

import polars as pl
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from polars.testing import assert_frame_equal

from schemas.derived import BruiseSteps, FootSteps, ShoeSpells, VisitIntervals
from tests.oracle.spells import losses_without_shoe, shoe_spells
from tests.oracle.steps import bruise_steps, foot_steps, visit_intervals
from tests.store.drawn import STARTED, as_rows, records, world
from tests.store.test_visits_doubted import lost_on_no_foot

# Five days from the last of February on, so that the season turns as well.
FIRST = date(2025, 2, 27)
DAYS = st.integers(0, 4).map(lambda day: FIRST + timedelta(day))
HORSE = st.sampled_from(["ash", "bay"])
FOOT = st.sampled_from(["LF", "RH"])
ARRIVAL = st.sampled_from(["on", "on", "sprung", "off", "bare"])
WORK = st.sampled_from(["fit_new", "reset", "trim", "take_off", "none"])
KEYS = pl.Struct({"loss_id": pl.String, "visit_id": pl.String})
MAYBE_YES = st.none() | st.booleans()
ANGLE = st.none() | st.sampled_from([50.0, 52.5])
LOOK = st.fixed_dictionaries(
    {
        "arrival": ARRIVAL,
        "work": WORK,
        "bruise_grade": st.none() | st.integers(0, 2),
        "sole_relief": MAYBE_YES,
        "shoe_style": st.sampled_from([None, "plain", "bar"]),
        "heel_nails": st.sampled_from([None, 0, 2]),
        "angle_arrival_deg": ANGLE,
        "angle_leaving_deg": ANGLE,
        "toe_arrival_mm": st.sampled_from([None, 90.0]),
        "toe_leaving_mm": st.sampled_from([None, 84.0]),
    }
)
VISIT = st.fixed_dictionaries(
    {
        "horse_id": HORSE,
        "visit_date": DAYS,
        "farrier": st.sampled_from([None, "Quill"]),
        "visit_kind": st.sampled_from(["routine", "routine", "lost_shoe", "first", "vet_request", "other"]),
        "planned_weeks": st.sampled_from([None, 1.0, 6.0]),
        "looks": st.dictionaries(FOOT, LOOK, min_size=0, max_size=2),
    }
)


@st.composite
def reports(draw):
    found_off = draw(DAYS)
    seen = draw(st.none() | st.integers(0, 4))
    return {
        "horse_id": draw(HORSE),
        "foot": draw(FOOT),
        "found_off": found_off,
        "last_seen_on": None if seen is None else found_off - timedelta(seen),
        "cause": draw(st.sampled_from([None, "caught", "pawing"])),
    }


@st.composite
def five_day_worlds(draw):
    visits = draw(st.lists(VISIT, max_size=8))
    told = draw(st.lists(reports(), max_size=5))
    visit_ids = draw(st.permutations([f"v{at}" for at in range(len(visits))]))
    loss_ids = draw(st.permutations([f"l{at}" for at in range(len(told))]))
    named = [{"visit_id": visit_id, **visit} for visit_id, visit in zip(visit_ids, visits, strict=True)]
    return world(
        horses=[
            {"horse_id": "ash", "horse_name": "Ash", "discipline": "eventing", "yard": "Low End"},
            {"horse_id": "bay", "horse_name": "Bay", "discipline": "other", "yard": None},
        ],
        visits=named,
        feet=[
            {"visit_id": visit["visit_id"], "foot": foot, **look}
            for visit in named
            for foot, look in visit["looks"].items()
        ],
        losses=[{"loss_id": loss_id, **loss} for loss_id, loss in zip(loss_ids, told, strict=True)],
    )


def same(found: pl.DataFrame, table, plain_rows: list[dict]):
    """The table has the declared columns and holds the rows of the plain version."""
    expected = pl.DataFrame(plain_rows, schema=table.dtypes())
    assert_frame_equal(found.sort(table.key()), expected.sort(table.key()))


@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    tables=five_day_worlds(),
    as_of=DAYS,
    follow_up_days=st.integers(1, 4),
    hemisphere=st.sampled_from(["north", "south"]),
)
def test_the_store_and_plain_loops_tell_the_same(store, tables, as_of, follow_up_days, hemisphere):
    store.rollback()
    store.take_in(records(tables, as_of), STARTED)
    store.derive(as_of, follow_up_days, hemisphere)
    plain = as_rows(tables)
    same(store.sql("from derived.shoe_spells"), ShoeSpells, shoe_spells(plain, as_of, follow_up_days, hemisphere))
    same(store.sql("from derived.visit_intervals"), VisitIntervals, visit_intervals(plain, as_of, hemisphere))
    same(store.sql("from derived.foot_steps"), FootSteps, foot_steps(plain, as_of))
    same(store.sql("from derived.bruise_steps"), BruiseSteps, bruise_steps(plain, as_of))
    doubts = store.latest_warnings().select("rule", pl.col("row_json").str.json_decode(KEYS).struct.unnest())
    assert doubts.is_unique().all()
    found = doubts.filter(rule="loss_finds_no_shoe")["loss_id"]
    assert set(found) == losses_without_shoe(plain, as_of)
    assert set(doubts.filter(rule="lost_shoe_on_no_foot")["visit_id"]) == lost_on_no_foot(plain, as_of)
