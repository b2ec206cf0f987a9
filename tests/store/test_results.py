"""Results are kept as declared: what no result class declares has no place in a store."""

import polars as pl
import pytest

from schemas.base import TableError
from schemas.results import RESULT_TABLES, LossCauses

CAUSES = pl.DataFrame(
    [("caught", 3, 0.75), ("unknown", 1, 0.25)], schema=["cause", "losses", "cause_share"], orient="row"
)


def test_results_come_back_as_they_were_kept_in_their_order(store):
    backwards = LossCauses.check(CAUSES.reverse())
    store.write_results({"loss_causes": backwards})
    assert store.results()["loss_causes"].equals(backwards)
    assert {name: frame.height for name, frame in store.results().items() if frame.height} == {"loss_causes": 2}


def test_results_take_the_place_of_earlier_ones(store):
    store.write_results({"loss_causes": LossCauses.check(CAUSES)})
    store.write_results({"loss_causes": LossCauses.check(CAUSES.head(1))})
    assert store.results()["loss_causes"]["cause"].to_list() == ["caught"]
    store.write_results({"loss_causes": LossCauses.empty()})
    assert store.results()["loss_causes"].is_empty()


def test_a_table_that_is_not_declared_is_refused(store):
    with pytest.raises(TableError, match=r"results\.owners is not declared"):
        store.write_results({"owners": CAUSES})


@pytest.mark.parametrize(
    ("frame", "complaint"),
    {
        "a column that is not declared": (
            CAUSES.with_columns(owner_name=pl.lit("A")),
            "undeclared columns .'owner_name'",
        ),
        "a column that is absent": (CAUSES.drop("cause_share"), "absent columns .'cause_share'"),
        "a type that does not fit": (CAUSES.with_columns(losses=pl.lit("many")), "conversion"),
        "a rule broken in another type": (
            CAUSES.with_columns(losses=pl.col("losses").cast(pl.Int32), cause_share=pl.lit(2.0)),
            "cause_share breaks less_than_or_equal_to",
        ),
    }.values(),
)
def test_a_frame_out_of_form_is_refused(store, frame, complaint):
    with pytest.raises(TableError, match=complaint):
        store.write_results({"loss_causes": frame})


def test_columns_out_of_order_and_narrower_numbers_are_put_in_form(store):
    narrow = CAUSES.select(pl.col("cause_share"), pl.col("losses").cast(pl.Int16), pl.col("cause"))
    store.write_results({"loss_causes": narrow})
    assert store.results()["loss_causes"].equals(LossCauses.check(CAUSES))


def test_every_result_table_has_a_place(store):
    store.write_results({name: table.empty() for name, table in RESULT_TABLES.items()})
    assert {name: frame.schema for name, frame in store.results().items()} == {
        name: table.empty().schema for name, table in RESULT_TABLES.items()
    }
