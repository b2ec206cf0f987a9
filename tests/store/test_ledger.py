"""What a load does to the rows in force, and what the ledger says of it."""

import json

import polars as pl
import pytest

from schemas.base import TableError
from schemas.ledger import LEDGER_TABLES, Findings
from tests.store.drawn import AS_OF, FINISHED, STARTED, load, records, world

MARCH = world(
    horses="""
    horse_id | horse_name | discipline | mass_kg
    ash      | Ash        | trail      | 480
    bay      | Bay        | racing     |
    """,
    visits="""
    visit_id | horse_id | visit_date | visit_kind
    v1       | ash      | 2025-03-01 | routine
    v2       | bay      | 2025-03-01 | routine
    """,
    feet="""
    visit_id | foot | arrival | work
    v1       | LF   | bare    | fit_new
    v1       | RF   | bare    | fit_new
    v2       | LF   | on      | trim
    """,
)
# Ash weighs less and Bay is known no better; one foot was written down wrongly; a visit is new.
CORRECTED = world(
    horses="""
    horse_id | horse_name | discipline | mass_kg
    bay      | Bay        | racing     |
    ash      | Ash        | trail      | 470
    """,
    visits="""
    visit_id | horse_id | visit_date | visit_kind
    v1       | ash      | 2025-03-01 | routine
    v3       | ash      | 2025-04-01 | routine
    """,
    feet="""
    visit_id | foot | arrival | work
    v3       | LF   | on      | reset
    v1       | LF   | bare    | fit_new
    v1       | RF   | bare    | trim
    """,
)
COUNTS = "table_name, rows_read, rows_new, rows_changed, rows_unchanged, rows_set_aside"


def accepted(store):
    return {name: store.sql(f"from accepted.{name} order by all").rows() for name in MARCH}


def counts(store, load_id):
    return store.sql(f"select {COUNTS} from ledger.load_tables where load_id = {load_id}").rows()


def finding(table_name, source_row, rule="required", source_file="made.csv", row_json="{}"):
    found = {"table_name": table_name, "source_file": source_file, "source_row": source_row, "rule": rule}
    return found | {"column_name": "work", "value": None, "reason": "It is blank.", "row_json": row_json}


def findings(*rows):
    return pl.DataFrame(list(rows), schema=Findings.dtypes())


def test_a_first_load_brings_every_row_into_force_with_where_it_came_from(store):
    load(store, MARCH)
    assert counts(store, 1) == [
        ("horses", 2, 2, 0, 0, 0),
        ("visits", 2, 2, 0, 0, 0),
        ("feet", 3, 3, 0, 0, 0),
        ("losses", 0, 0, 0, 0, 0),
    ]
    assert store.sql("select visit_id, foot, load_id, source_file, source_row from accepted.feet").rows() == [
        ("v1", "LF", 1, "feet.csv", 2),
        ("v1", "RF", 1, "feet.csv", 3),
        ("v2", "LF", 1, "feet.csv", 4),
    ]


def test_the_same_export_again_changes_nothing_and_says_so(store):
    load(store, MARCH)
    before = accepted(store)
    load(store, {name: frame.reverse() for name, frame in MARCH.items()})
    assert accepted(store) == before
    assert counts(store, 2) == [
        ("horses", 2, 0, 0, 2, 0),
        ("visits", 2, 0, 0, 2, 0),
        ("feet", 3, 0, 0, 3, 0),
        ("losses", 0, 0, 0, 0, 0),
    ]
    assert store.sql("from ledger.superseded").is_empty()


def test_a_corrected_row_takes_the_place_of_the_old_one_and_rows_left_out_stay(store):
    load(store, MARCH)
    load(store, CORRECTED)
    assert counts(store, 2) == [
        ("horses", 2, 0, 1, 1, 0),
        ("visits", 2, 1, 0, 1, 0),
        ("feet", 3, 1, 1, 1, 0),
        ("losses", 0, 0, 0, 0, 0),
    ]
    assert store.sql("""
        select visit_id, foot, work, load_id, source_row from accepted.feet order by visit_id, foot
    """).rows() == [
        ("v1", "LF", "fit_new", 1, 2),
        ("v1", "RF", "trim", 2, 4),
        ("v2", "LF", "trim", 1, 4),
        ("v3", "LF", "reset", 2, 2),
    ]
    assert store.sql("select horse_id, mass_kg, load_id from accepted.horses order by horse_id").rows() == [
        ("ash", 470.0, 2),
        ("bay", None, 1),
    ]


def test_the_old_version_goes_to_superseded_whole(store):
    load(store, MARCH)
    load(store, CORRECTED)
    old = store.sql("from ledger.superseded order by table_name")
    assert old.drop("row_json").rows() == [
        (1, 2, "feet", "feet.csv", 3),
        (1, 2, "horses", "horses.csv", 2),
    ]
    foot, horse = map(json.loads, old["row_json"])
    assert (foot["visit_id"], foot["foot"], foot["work"], foot["web_mm"]) == ("v1", "RF", "fit_new", None)
    assert (horse["horse_name"], horse["mass_kg"]) == ("Ash", 480.0)


def test_a_value_blanked_and_a_value_filled_in_are_changes(store):
    load(store, MARCH)
    horses = MARCH["horses"].with_columns(mass_kg=pl.Series([None, 510.0]))
    load(store, MARCH | {"horses": horses})
    assert counts(store, 2)[0] == ("horses", 2, 0, 2, 0, 0)


def test_identical_copies_count_as_unchanged_and_rows_set_aside_once_each(store):
    account = {
        "rows_read": {"horses": 3, "visits": 2, "feet": 6, "losses": 0},
        "collapsed": {"horses": 1},
        "set_aside": findings(
            finding("feet", 5), finding("feet", 5, "too_low"), finding("feet", 6), finding("feet", 7)
        ),
        "warnings": findings(finding("horses", 2, "unusual_value")),
    }
    load(store, MARCH, **account)
    assert counts(store, 1)[0] == ("horses", 3, 2, 0, 1, 0)
    assert counts(store, 1)[2] == ("feet", 6, 3, 0, 0, 3)
    assert store.sql("select load_id, source_row, rule from ledger.set_aside").rows() == [
        (1, 5, "required"),
        (1, 5, "too_low"),
        (1, 6, "required"),
        (1, 7, "required"),
    ]
    assert store.latest_warnings()["rule"].to_list() == ["unusual_value"]


def test_four_feet_on_one_line_of_a_sheet_may_each_be_set_aside(store):
    aside = findings(*(finding("feet", 5, row_json=f'{{"foot": "{foot}"}}') for foot in ("LF", "RF", "LH", "RH")))
    load(store, MARCH, rows_read={"horses": 2, "visits": 2, "feet": 7, "losses": 0}, set_aside=aside)
    assert counts(store, 1)[2] == ("feet", 7, 3, 0, 0, 4)


@pytest.mark.parametrize(
    "account",
    {
        "a row read that became nothing": {"rows_read": {"horses": 2, "visits": 2, "feet": 4}},
        "a row accepted that was never read": {"rows_read": {"horses": 2, "visits": 2, "feet": 2}},
        "a reason for a row that was never read": {"set_aside": findings(finding("feet", 9))},
        "more lines set aside than rows": {
            "rows_read": {"horses": 2, "visits": 2, "feet": 4},
            "set_aside": findings(finding("feet", 8), finding("feet", 9)),
        },
    }.values(),
)
def test_a_load_that_does_not_add_up_is_refused(store, account):
    with pytest.raises(TableError, match=r"feet: \d rows read"):
        store.take_in(records(MARCH, **account), STARTED)


@pytest.mark.parametrize(
    ("tables", "complaint"),
    {
        "two rows with one key in an empty store": (
            MARCH | {"horses": pl.concat([MARCH["horses"], MARCH["horses"].head(1)])},
            "accepted.horses: 1 rows share the key",
        ),
        "a visit of an unknown horse": (MARCH | {"horses": MARCH["horses"].head(1)}, "visits: 1 rows whose horse_id"),
        "a foot row of an unknown visit": (MARCH | {"visits": MARCH["visits"].tail(1)}, "feet: 2 rows whose visit_id"),
    }.values(),
)
def test_rows_that_do_not_fit_together_are_refused(store, tables, complaint):
    with pytest.raises(TableError, match=complaint):
        store.take_in(records(tables), STARTED)


def test_two_rows_with_one_key_are_refused_by_a_store_that_holds_rows(store):
    load(store, MARCH)
    twice = pl.concat([CORRECTED["feet"], CORRECTED["feet"].head(1)])
    with pytest.raises(TableError, match=r"accepted\.feet: 1 rows share the key"):
        store.take_in(records(CORRECTED | {"feet": twice}), STARTED)


def test_a_load_has_one_row_with_its_totals_its_files_and_its_tables(store):
    load(store, MARCH)
    load(store, CORRECTED)
    row = store.sql("from ledger.loads where load_id = 2").row(0, named=True)
    assert (row["started_at"], row["finished_at"], row["as_of"]) == (
        STARTED.replace(tzinfo=None),
        FINISHED.replace(tzinfo=None),
        AS_OF,
    )
    assert [row[f"rows_{name}"] for name in ("read", "new", "changed", "unchanged", "set_aside")] == [7, 2, 2, 3, 0]
    assert row["files"][2] == {"name": "feet.csv", "sha256": "digest of feet", "rows": 3}
    assert [tuple(table.values()) for table in row["tables"]] == counts(store, 2)
    assert store.latest_files() == ("horses.csv", "visits.csv", "feet.csv", "losses.csv")


def test_every_ledger_table_keeps_its_declaration(store):
    load(store, MARCH)
    load(store, CORRECTED, warnings=findings(finding("horses", 2, "unusual_value")))
    for name, table in LEDGER_TABLES.items():
        found = store.sql(f"from ledger.{name}").select(list(table.columns()))
        assert table.check(found).equals(found)


def test_known_names_what_is_in_force_and_the_last_day_on_record(store):
    assert store.known().last_date is None
    losses = "loss_id | horse_id | foot | found_off\n a | ash | LF | 2025-05-05"
    load(store, MARCH | {"losses": world(losses=losses)["losses"]})
    known = store.known()
    assert known.horse_ids.to_list() == ["ash", "bay"]
    assert known.visit_ids.to_list() == ["v1", "v2"]
    assert str(known.last_date) == "2025-05-05"


def test_the_last_as_of_day_is_that_of_the_latest_load(store):
    assert store.last_as_of() is None
    load(store, MARCH, AS_OF)
    assert store.last_as_of() == AS_OF


def test_a_load_is_closed_once(store):
    load(store, MARCH)
    with pytest.raises(TableError, match="no load is open"):
        store.finish_load(FINISHED)
