"""A new store that is told of summaries made from another keeps to what was told, and can call them back."""

import shutil

import polars as pl
import pytest

from pipelines.sharing.carrying import Earlier, carry_over, read_earlier
from pipelines.sharing.share import How, share, shares
from pipelines.store import open_store
from pipelines.store.shared_store import RECORDED
from schemas.problem import Problem
from tests.sharing import practice as marked
from tests.sharing.conftest import NOW
from tests.sharing.drawn import AS_OF, record
from tests.sharing.test_peers import lost_shoes, of_vets, practice, shared
from tests.store.drawn import load


@pytest.fixture
def told(tmp_path):
    """told(before, now): the losses shown from a store, and then from a new one that knows of it. told.new: that."""

    def make(before, now, *, carried=True):
        for name, tables in (("old", before), ("new", now)):
            with open_store(tmp_path / f"{name}.duckdb") as store:
                load(store, tables, AS_OF)
                store.derive(AS_OF)
                if name == "old":
                    one = shared(store)
                    record(store, one)
                store.commit()
        with open_store(tmp_path / "new.duckdb") as store:
            if carried:
                earlier = read_earlier(tmp_path / "old.duckdb", tmp_path / "new.duckdb")
                carry_over(store, earlier)
                carry_over(store, earlier)
            store.derive(AS_OF)
            make.new = shared(store)
            make.ledger = {name: store.sql(f"select * from ledger.{name}") for name in ("shares", "share_horses")}
            return lost_shoes(one)["polo"]["events"], lost_shoes(make.new)["polo"]["events"]

    return make


def test_a_new_store_tells_no_small_count_by_difference_from_what_another_told(told):
    """One owner's three losses more: 12, and then 15 unless the new store knows of the 12."""
    assert told(practice({"polo": 12}), practice({"polo": 15})) == (12, None)


def test_without_it_the_difference_would_be_told(told):
    assert told(practice({"polo": 12}), practice({"polo": 15}), carried=False) == (12, 15)


def test_the_same_record_in_a_new_store_is_told_again_and_counted_on(told):
    assert told(practice({"polo": 12}), practice({"polo": 12})) == (12, 12)
    assert told.new.summary.endswith("-no2")
    assert told.ledger["shares"].height == 1, "carried over twice, known once"


@pytest.mark.parametrize("code", ["mine", "mine, north"])
def test_consent_withdrawn_in_a_new_store_calls_back_what_another_handed_over(told, code):
    """Also where the horse has another code there, but the same name."""
    before = of_vets(practice({"polo": 12}), {"polo0": ("V", True)})
    now = of_vets(before, {"mine": ("V", False)})
    renamed = pl.col("horse_id").replace({now["horses"].filter(horse_name="mine")["horse_id"][0]: code})
    now = {
        name: part.with_columns(renamed.alias("horse_id")) if "horse_id" in part.columns else part
        for name, part in now.items()
    }
    told(before, now)
    assert [gone.horse_name for gone in told.new.withdrawn] == ["mine"]
    assert told.new.tables["recalls"].height == 1


def test_summaries_of_both_stores_stand_in_one_ledger_each_figure_with_its_own(store, tmp_path, plainly):
    old = shutil.copy(store, tmp_path / "old.duckdb")
    share(old, marked.VET, tmp_path / "a", plainly, contact="The forge")
    share(store, marked.VET, tmp_path / "b", plainly)
    (one,) = share(store, marked.OTHER, tmp_path / "c", How(NOW, pdf=False, earlier=old))
    assert shares(store)["share_id"].to_list() == [1, 2, 3]
    assert one.first is False


def test_a_figure_carried_over_is_that_of_its_new_number_and_nothing_of_it_is_lost():
    with open_store(None) as store:
        load(store, practice({"polo": 12, "trail": 12}), AS_OF)
        store.derive(AS_OF)
        record(store, shared(store))
        ledger = {name: store.sql(f"select * from ledger.{name}") for name in RECORDED}
        horses = store.sql("select horse_id, horse_name, yard from accepted.horses")
        other = ledger["shares"].with_columns(sha256=pl.lit("another"))
        carry_over(store, Earlier(ledger | {"shares": other}, horses, {}, "old.duckdb"))
        rows = store.sql("select * from ledger.share_units").sort("share_id", "measure", "unit_id")
    own, carried = rows.partition_by("share_id")
    assert own.height == ledger["share_units"].height > 0
    told = carried["cells"].str.replace_all(r"(^| )2/", "${1}1/").to_list()
    assert told == own["cells"].to_list()
    assert own.drop("share_id", "cells").equals(carried.drop("share_id", "cells"))


def test_the_first_summary_of_a_store_says_that_it_knows_of_no_other(store, tmp_path, plainly):
    assert share(store, marked.VET, tmp_path / "a", plainly)[0].first
    assert not share(store, marked.VET, tmp_path / "b", plainly)[0].first


@pytest.mark.parametrize("name", ["store.duckdb", "none.duckdb"])
def test_an_earlier_store_that_is_this_one_or_none_is_one_clear_line(store, tmp_path, name):
    before = store.read_bytes()
    with pytest.raises(Problem, match="--earlier"):
        share(store, marked.VET, tmp_path / "a", How(NOW, pdf=False, earlier=tmp_path / name))
    assert store.read_bytes() == before
    assert not (tmp_path / "a").exists()
