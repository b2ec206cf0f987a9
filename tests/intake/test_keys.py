"""One row a key, and every row with the row it belongs to."""

from datetime import date

import polars as pl

from pipelines.intake import read_export
from schemas.records import Known

TODAY = date(2025, 6, 30)
KNOWS_H9 = Known(horse_ids=pl.Series(["H9"]), visit_ids=pl.Series(["V9"]))


def test_two_rows_with_one_key_that_differ_are_both_set_aside(set_aside):
    told = set_aside(
        feet="""
            visit_id | foot | arrival | work
            V1       | LF   | bare    | fit_new
            V1       | LF   | bare    | trim
            V1       | RF   | bare    | trim
        """
    )
    reason = (
        "visit_id and foot V1, LF is not the only one and the rows differ in work (feet.csv row 2, feet.csv row 3): "
        "keep the right row"
    )
    assert told == [f"feet.csv row 2: {reason}", f"feet.csv row 3: {reason}"]


def test_rows_that_say_the_same_collapse_whatever_their_spelling(read):
    records = read(
        feet="""
            visit_id | foot | arrival | work    | web_mm
            V1       | LF   | bare    | fit_new | 20
            V1       | lf   | bare    | fit_new | 20.0
        """
    )
    assert (records.tables["feet"].height, records.collapsed["feet"], records.set_aside.height) == (1, 1, 0)


def test_a_row_with_a_fault_is_no_copy_of_the_row_without(read):
    records = read(
        feet="""
            visit_id | foot | arrival | work    | web_mm
            V1       | LF   | bare    | fit_new |
            V1       | LF   | bare    | fit_new | wide
        """
    )
    assert records.tables["feet"].height == 0
    assert records.set_aside["source_row", "rule"].rows() == [
        (2, "same_key_twice"), (3, "cannot_read"), (3, "same_key_twice"),
    ]  # fmt: skip


def test_rows_of_an_unknown_horse_or_visit_are_set_aside(set_aside):
    told = set_aside(
        visits="""
            visit_id | horse_id | visit_date | visit_kind
            V1       | H1       | 2025-01-01 | routine
            V2       | H9       | 2025-01-01 | routine
        """,
        feet="""
            visit_id | foot | arrival | work
            V7       | LF   | bare    | fit_new
        """,
        losses="""
            loss_id | horse_id | foot | found_off
            L1      | H8       | LF   | 2025-02-01
        """,
    )
    assert told == [
        "visits.csv row 3: horse_id H9 stands nowhere in horses: add that horse or correct the code",
        "feet.csv row 2: visit_id V7 stands nowhere in visits: add that visit or correct the code",
        "losses.csv row 2: horse_id H8 stands nowhere in horses: add that horse or correct the code",
    ]


def test_a_horse_that_is_set_aside_takes_its_visits_feet_and_losses_with_it(set_aside):
    told = set_aside(horses="horse_id | horse_name | discipline \n H1 | | eventing \n H2 | Made Up Bay | dressage")
    follow = "is a horse that is set aside itself (horses.csv row 2): mend that row first"
    assert told == [
        "horses.csv row 2: horse_name is blank and must be filled in",
        f"visits.csv row 2: horse_id H1 {follow}",
        f"visits.csv row 3: horse_id H1 {follow}",
        "feet.csv row 2: visit_id V1 is a visit that is set aside itself (visits.csv row 2): mend that row first",
        "feet.csv row 3: visit_id V2 is a visit that is set aside itself (visits.csv row 3): mend that row first",
        f"losses.csv row 2: horse_id H1 {follow}",
    ]


def test_the_horses_and_visits_of_the_store_are_known(read):
    records = read(
        known=KNOWS_H9,
        visits="visit_id | horse_id | visit_date | visit_kind \n V1 | H9 | 2025-01-01 | routine",
        feet="visit_id | foot | arrival | work \n V9 | LF | bare | trim \n V1 | LF | bare | trim",
        losses="loss_id | horse_id | foot | found_off \n L1 | H9 | LF | 2025-02-01",
    )
    assert records.set_aside.height == 0
    assert {name: table.height for name, table in records.tables.items()} == {
        "horses": 2, "visits": 1, "feet": 2, "losses": 1,
    }  # fmt: skip


def test_a_horse_the_store_knows_keeps_its_visits_though_its_new_row_is_set_aside(read):
    records = read(
        known=KNOWS_H9,
        horses="horse_id | horse_name | discipline \n H9 | | eventing",
        visits="visit_id | horse_id | visit_date | visit_kind \n V1 | H9 | 2025-01-01 | routine",
        feet="visit_id | foot | arrival | work \n V1 | LF | bare | trim",
        losses=None,
    )
    assert records.set_aside["table_name"].to_list() == ["horses"]


def test_one_table_in_several_files_is_one_table(export):
    folder = export(visits=None)
    (folder / "visits_2024.csv").write_text("visit_id,horse_id,visit_date,visit_kind\nV1,H1,2025-01-01,routine\n")
    (folder / "visits_2025.csv").write_text(
        "visit_kind,visit_date,horse_id,visit_id,fee\nroutine,2025-02-12,H1,V2,90\nfirst,2025-01-02,H2,V3,\n"
    )
    visits = read_export([folder], Known(), None, TODAY).tables["visits"]
    assert visits["visit_id", "fee", "source_file", "source_row"].rows() == [
        ("V1", None, "visits_2024.csv", 2),
        ("V2", 90.0, "visits_2025.csv", 2),
        ("V3", None, "visits_2025.csv", 3),
    ]


def test_of_two_exports_the_later_holds_and_the_earlier_row_is_kept_beside(export):
    earlier = export("earlier")
    later = export("later", horses="horse_id | horse_name | discipline \n H1 | Made Up Ash | polo")
    records = read_export([earlier, later], Known(), None, TODAY)
    horses = records.tables["horses"]["horse_id", "discipline", "source_file"].sort("horse_id")
    assert horses.rows() == [("H1", "polo", "later/horses.csv"), ("H2", "dressage", "earlier/horses.csv")]
    assert records.superseded["horses"]["horse_id", "discipline"].rows() == [("H1", "eventing")]
    assert records.set_aside.height == 0
    assert (records.rows_read["horses"], records.collapsed["horses"]) == (3, 1)
    assert (records.rows_read["feet"], records.collapsed["feet"], records.superseded["feet"].height) == (6, 3, 0)


def test_a_later_row_with_a_fault_does_not_hide_the_earlier_good_one(export):
    earlier = export("earlier")
    later = export("later", horses="horse_id | horse_name | discipline \n H1 | | polo")
    records = read_export([earlier, later], Known(), None, TODAY)
    assert records.tables["horses"]["horse_id", "discipline"].sort("horse_id").rows() == [
        ("H1", "eventing"), ("H2", "dressage"),
    ]  # fmt: skip
    assert records.set_aside["source_file", "source_row"].rows() == [("later/horses.csv", 2)]


def test_the_order_of_exports_that_agree_changes_nothing(export):
    one = export("one", feet="visit_id | foot | arrival | work \n V1 | LF | bare | trim", losses=None)
    two = export("two", horses="horse_id | horse_name | discipline \n H1 | Made Up Ash | eventing")
    there, back = (
        read_export(order, Known(), None, TODAY).tables["visits"].drop("source_file").sort("visit_id")
        for order in ([one, two], [two, one])
    )
    assert there.equals(back)
    assert there.height == 3
