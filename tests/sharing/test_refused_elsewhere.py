"""What an owner refused in the earlier store holds in the new one until the row is told again there."""

import pytest

from pipelines.sharing.carrying import carry_over, read_earlier
from pipelines.sharing.gather import NothingToShare
from pipelines.sharing.share import How, share
from pipelines.store import open_store
from schemas.problem import Problem
from tests.sharing.conftest import NOW
from tests.sharing.drawn import record
from tests.sharing.test_consent import BAY, HEAD, SAID, aside, herd, names, shared
from tests.store.drawn import load, world

STAR = "{} | {} | polo | V | {} | o1"


def horses(*ash: str):
    """World of these horses, and Bay."""
    return world(horses="\n".join([HEAD, *ash, BAY]))


@pytest.fixture
def moved(tmp_path):
    """moved(old, new, **odd): a new store, told of the earlier one whose loads were old. Bay was shared from there."""

    def make(old, new, **odd):
        with open_store(tmp_path / "old.duckdb") as store:
            for number, tables in enumerate(old):
                load(store, tables, **(odd if number else {}))
                if number == 0:
                    make.first = shared(store)
                    record(store, make.first)
            store.commit()
        make.new = tmp_path / "new.duckdb"
        with open_store(make.new) as store:
            load(store, new)
            make.again(store)
            store.commit()
        return open_store(make.new)

    def again(store):
        make.lines = carry_over(store, read_earlier(tmp_path / "old.duckdb", tmp_path / "new.duckdb"))

    make.again = again
    return make


REFUSED = {
    "no": ([herd("yes"), herd("no")], {}),
    "blank": ([herd("yes"), herd("")], {}),
    "never yes": ([herd("no")], {}),
    "a row set aside": ([herd("yes"), herd(None)], aside(SAID["no"])),
    "nothing, in a row set aside": ([herd("yes"), herd(None)], aside(SAID["nothing"])),
}


@pytest.mark.parametrize(("old", "odd"), REFUSED.values(), ids=REFUSED)
def test_a_horse_refused_in_the_earlier_store_is_held_though_an_old_file_says_yes(moved, old, odd):
    with moved(old, herd("yes"), **odd) as store:
        for _ in range(2):
            one = shared(store)
            assert names(one) == ["Bay"]
            (held,) = one.held
            assert held.line.startswith("Ash is not shared: old.duckdb, the earlier store, says ")
            assert "publish row 2 of horses.csv again" in held.line
            record(store, one)
        if len(old) > 1:
            assert "Ash" in [gone.horse_name for gone in one.withdrawn], "what was handed over is called back"


def test_it_is_held_until_its_row_is_told_again_word_for_word(moved):
    with moved([herd("yes"), herd("no")], herd("yes")) as store:
        load(store, herd("yes"))
        one = shared(store)
        assert (names(one), one.held) == (["Ash", "Bay"], ())
        assert [back.horse_name for back in one.returned] == ["Ash"], "what was carried over does not hide it"
        moved.again(store)
        assert names(shared(store)) == ["Ash", "Bay"], "the same old word is no newer one"


def test_a_horse_that_agrees_in_both_is_shared_without_a_word(moved):
    with moved([herd("yes")], herd("yes")) as store:
        one = shared(store)
    assert (names(one), one.held, one.returned) == (["Ash", "Bay"], (), ())


def test_consent_that_came_back_here_is_named_though_the_earlier_store_shared_the_horse(moved):
    with moved([herd("yes")], herd("yes")) as store:
        load(store, herd("no"))
        load(store, herd("yes"))
        assert [back.horse_name for back in shared(store).returned] == ["Ash"]
        record(store, shared(store))
        assert shared(store).returned == ()


COULD_BE = {
    "another code": ([STAR.format("H9", "ASH", "yes")], {"H9"}),
    "a new name": ([STAR.format("H1", "Star", "yes")], {"H1"}),
    "its code is another's": ([STAR.format("H1", "Star", "yes"), STAR.format("H9", "Ash", "yes")], {"H9"}),
    "two of its name": ([STAR.format("H8", "Ash", "yes"), STAR.format("H9", "Ash", "yes")], {"H8", "H9"}),
    "gone": ([STAR.format("H9", "Star", "yes")], set()),
}


@pytest.mark.parametrize(("now", "held"), COULD_BE.values(), ids=COULD_BE)
def test_every_horse_that_the_refused_one_could_be_is_held(moved, now, held):
    from pipelines.sharing.consent import consents

    with moved([herd("yes"), herd("no")], horses(*now)) as store:
        assert set(consents(store).held) == held


CALLED_BACK = {
    "its code is another's": ([STAR.format("H1", "Star", "yes"), STAR.format("H9", "Ash", "no")], ["Ash"], None),
    "its code is that of a horse that agrees": ([STAR.format("H1", "Star", "yes")], ["Ash (H1 there)"], "H1 is Star"),
    "two of its name": (
        [STAR.format("H8", "Ash", "yes"), STAR.format("H9", "Ash", "yes")], ["Ash (H1 there)"], "2 have that name",
    ),
    "gone": ([STAR.format("H9", "Star", "yes")], ["Ash (H1 there)"], "none has that name"),
    "a new code": ([STAR.format("H9", "ash", "yes")], [], None),
    "another way to write it": ([STAR.format("H1", "ASH", "yes")], [], None),
}  # fmt: skip


@pytest.mark.parametrize(("now", "back", "why"), CALLED_BACK.values(), ids=CALLED_BACK)
def test_a_code_is_that_of_the_same_horse_only_where_the_name_is_the_same(moved, now, back, why):
    with moved([herd("yes")], horses(*now)) as store:
        one = shared(store)
        assert [gone.horse_name for gone in one.withdrawn] == back
        units = store.sql("select distinct horse_id from ledger.share_units")["horse_id"].to_list()
    assert why is not None or "H1" not in units or now[0].startswith("H1 | ASH")
    assert (why is None) == (moved.lines == ())
    if why:
        assert moved.lines[0].startswith("Ash (H1 in old.duckdb) cannot be told among the horses here: ")
        assert why in moved.lines[0]


def test_where_nothing_can_be_shared_the_next_call_without_the_earlier_store_knows_it_too(moved, tmp_path):
    alone = world(horses=f"{HEAD}\nH1 | Ash | polo | V | yes | o1")
    refused = world(horses=f"{HEAD}\nH1 | Ash | polo | V | no | o1")
    with moved([alone, refused], alone) as store:
        store._con.execute("delete from ledger.warnings")
        store._con.execute("delete from ledger.share_horses")
        store._con.execute("delete from ledger.shares")
        store.commit()
    for earlier in (tmp_path / "old.duckdb", None):
        with pytest.raises((NothingToShare, Problem), match=r"old\.duckdb, the earlier store, says"):
            share(moved.new, "V", tmp_path / "vet", How(NOW, pdf=False, earlier=earlier))


def test_a_new_store_without_records_is_told_of_no_earlier_one(moved, tmp_path):
    moved([herd("yes")], herd("yes"))
    with open_store(tmp_path / "empty.duckdb") as store:
        store.commit()
    with pytest.raises(Problem, match="publish some records into it first"):
        share(tmp_path / "empty.duckdb", "V", tmp_path / "vet", How(NOW, earlier=tmp_path / "old.duckdb"))
