"""Consent is the owner's last word, also where its row was set aside; consent that came back is named."""

import json
from datetime import date, datetime

import polars as pl
import pytest

from pipelines.sharing.consent import consents, returned
from pipelines.sharing.gather import NothingToShare, Wanted, gather, vets_with_consent
from pipelines.store import open_store
from schemas.ledger import Findings
from schemas.problem import Problem
from schemas.shared import Asks
from tests.sharing.drawn import AS_OF, record
from tests.store.drawn import load, world

ASH, BAY = "H1 | Ash | polo | V | {} | o1", "H2 | Bay | polo | V | yes | o2"
HEAD = "horse_id | horse_name | discipline | vet_practice | share_with_vet | owner_ref"


def herd(ash: str | None) -> dict[str, pl.DataFrame]:
    """Ash, whose owner says this, or of whom no row could be taken in; and Bay, whose owner agrees."""
    return world(horses="\n".join([HEAD, *([ASH.format(ash)] if ash is not None else []), BAY]))


def aside(cells: dict, row: int = 2, file: str = "horses.csv") -> dict:
    """What a load says of a row of horses that it set aside."""
    one = {"table_name": "horses", "source_file": file, "source_row": row, "rule": "too_high", "column_name": "mass_kg",
           "value": "5000", "reason": "mass_kg 5000 is too high", "row_json": json.dumps(cells)}  # fmt: skip
    return {
        "set_aside": pl.DataFrame([one], schema=Findings.dtypes()),
        "rows_read": {"horses": 2, "visits": 0, "feet": 0, "losses": 0},
    }


SAID = {
    "another word": {"horse_id": "H1", "horse_name": "Ash", "share_with_vet": "withdrawn"},
    "no": {"horse_id": "H1", "horse_name": "Ash", "share_with_vet": "no"},
    "nothing": {"horse_id": "H1", "horse_name": "Ash", "share_with_vet": None},
    "no such column": {"horse_id": "H1", "horse_name": "Ash"},
    "no, and the horse by its name": {"horse_name": "ASH", "yard": None, "share_with_vet": "no"},
    "no, and the code in capitals": {"horse_id": " h1 ", "share_with_vet": "no"},
}


@pytest.fixture
def store():
    with open_store(None) as kept:
        load(kept, herd("yes"))
        yield kept


def shared(store):
    store.derive(AS_OF)
    return gather(store, Wanted("V", AS_OF), Asks.empty())


def names(one) -> list[str]:
    return one.tables["horses"]["horse_name"].to_list()


@pytest.mark.parametrize("cells", SAID.values(), ids=SAID)
def test_a_horse_whose_later_row_was_set_aside_and_says_no_yes_is_not_shared_and_is_named(store, cells):
    first = shared(store)
    record(store, first)
    load(store, herd(None), **aside(cells))
    one = shared(store)
    assert (names(first), names(one)) == (["Ash", "Bay"], ["Bay"])
    assert one.held[0].horse_name == "Ash"
    says = f'"{cells["share_with_vet"]}"' if cells.get("share_with_vet") else "nothing"
    assert f"row 2 of horses.csv, read on 2025-07-01 and not taken in as it stands, says {says}" in one.held[0].line
    assert "publish that row" in one.held[0].line
    assert [gone.horse_name for gone in one.withdrawn] == ["Ash"], "what was handed over is called back"
    assert one.tables["recalls"]["summary"].to_list() == [first.summary]


def test_a_row_set_aside_for_something_else_that_says_yes_withdraws_nothing(store):
    load(store, herd(None), **aside({"horse_id": "H1", "share_with_vet": "Yes"}))
    assert names(shared(store)) == ["Ash", "Bay"]


@pytest.mark.parametrize("said", ["yes", "no"])
def test_once_the_row_is_mended_what_it_says_holds_even_word_for_word_as_before(store, said):
    load(store, herd(None), **aside(SAID["another word"]))
    assert names(shared(store)) == ["Bay"]
    load(store, herd(said))
    one = shared(store)
    assert names(one) == (["Ash", "Bay"] if said == "yes" else ["Bay"])
    assert one.held == ()


def test_a_mended_row_of_the_same_load_holds_where_it_comes_after_the_other(store):
    earlier, later = aside(SAID["another word"], row=1), aside(SAID["another word"], row=9)
    load(store, herd("yes"), **(earlier | {"rows_read": {"horses": 3, "visits": 0, "feet": 0, "losses": 0}}))
    assert names(shared(store)) == ["Ash", "Bay"]
    load(store, herd("yes"), **(later | {"rows_read": {"horses": 3, "visits": 0, "feet": 0, "losses": 0}}))
    assert names(shared(store)) == ["Bay"]


def test_a_doubtful_answer_that_other_rows_filled_in_is_no_plain_yes(store):
    doubt = aside(SAID["another word"])["set_aside"].with_columns(column_name=pl.lit("share_with_vet"))
    load(store, herd("yes"), warnings=doubt)
    assert names(shared(store)) == ["Bay"]


def test_a_row_that_could_be_about_two_horses_of_one_name_holds_both_back():
    two = f"{HEAD} | yard\n{ASH.format('yes')} | North\nH3 | Ash | polo | V | yes | o1 | South\n{BAY} | North"
    with open_store(None) as kept:
        load(kept, world(horses=two))
        load(
            kept, world(horses=f"{HEAD} | yard\n{BAY} | North"), **aside({"horse_name": "Ash", "share_with_vet": "no"})
        )
        assert names(shared(kept)) == ["Bay"]
        load(kept, world(horses=two))
        south = {"horse_name": "Ash", "yard": "south", "share_with_vet": "no"}
        load(kept, world(horses=f"{HEAD} | yard\n{BAY} | North"), **aside(south))
        assert [consents(kept).by_id[code]["yard"] for code in consents(kept).held] == ["South"]


def test_where_every_horse_is_held_back_the_one_line_says_so_and_who_is_to_delete_what():
    with open_store(None) as kept:
        load(kept, world(horses=f"{HEAD}\n{ASH.format('yes')}"))
        first = shared(kept)
        record(kept, first)
        load(kept, world(horses=HEAD), **(aside(SAID["no"]) | {"rows_read": dict.fromkeys(("horses",), 1)}))
        with pytest.raises(NothingToShare) as nothing:
            shared(kept)
    assert 'says "no" under share_with_vet' in str(nothing.value)
    assert f"ask V to delete {first.summary}" in str(nothing.value)
    assert "\n" not in str(nothing.value)


def test_consent_that_comes_back_by_an_old_file_is_named_until_it_was_shared_again(store):
    load(store, herd("no"))
    assert shared(store).returned == ()
    load(store, herd("yes"))
    one = shared(store)
    assert names(one) == ["Ash", "Bay"]
    (back,) = one.returned
    assert "Ash: consent was withdrawn on 2025-07-01, and is back by row 2 of horses.csv" in back.line
    record(store, one)
    assert shared(store).returned == ()


def test_consent_given_for_the_first_time_did_not_come_back():
    with open_store(None) as kept:
        load(kept, herd("no"))
        load(kept, herd("yes"))
        assert shared(kept).returned == ()


def test_consent_in_doubt_that_an_old_file_brings_back_is_named_too(store):
    load(store, herd(None), **aside(SAID["another word"]))
    load(store, herd("yes"))
    (back,) = shared(store).returned
    assert 'Ash: "withdrawn" under share_with_vet, read on 2025-07-01, could not be read as yes or no' in back.line
    assert "consent was withdrawn" not in back.line


def test_a_plain_no_is_not_hidden_by_a_later_word_that_could_not_be_read(store):
    load(store, herd(None), **aside(SAID["no"]))
    load(store, herd(None), **aside(SAID["another word"]))
    load(store, herd("yes"))
    (back,) = shared(store).returned
    assert "Ash: consent was withdrawn on 2025-07-01" in back.line


def test_a_vet_practice_is_one_however_it_is_written():
    with open_store(None) as kept:
        drawn = f"{HEAD}\nH1 | Ash | polo | VP  1 | yes | o1\nH2 | Bay | polo | vp 1 | yes | o2"
        load(kept, world(horses=drawn))
        kept.derive(AS_OF)
        assert vets_with_consent(kept) == ["VP  1"]
        one = gather(kept, Wanted("Vp 1", AS_OF), Asks.empty())
        assert names(one) == ["Ash", "Bay"]
        assert one.also == ("VP 1", "vp 1"), "said, as it may be wrong"
        record(kept, one, "VP  1")
        again = gather(kept, Wanted("vp 1", AS_OF), Asks.empty())
        assert (again.withdrawn, vets_with_consent(kept)) == ((), ["VP  1"])


@pytest.mark.parametrize(("one", "other"), [("Groß", "Gross"), ("VP²", "VP2"), ("VP①", "VP1"), ("ﬁeld", "field")])
def test_vet_practices_that_differ_by_more_than_capitals_are_two(one, other):
    with open_store(None) as kept:
        load(kept, world(horses=f"{HEAD}\nH1 | Ash | polo | {one} | yes | o1\nH2 | Bay | polo | {other} | yes | o2"))
        kept.derive(AS_OF)
        assert vets_with_consent(kept) == sorted([one, other])
        found = gather(kept, Wanted(one, AS_OF), Asks.empty())
    assert (names(found), found.also) == (["Ash"], ())


LOOKED_FOR = {
    "a vet practice that is not there": ("Oak", None, "no horse has that vet_practice; on record are V"),
    "a horse without consent": ("V", "H1", "horse Ash may not be shared with V: share_with_vet does not say yes"),
    "a horse of another vet practice": ("W", "H1", "its vet_practice on record is V"),
}


@pytest.mark.parametrize(("vet", "horse", "line"), LOOKED_FOR.values(), ids=LOOKED_FOR)
def test_why_nothing_can_be_shared_is_said_with_what_is_on_record(vet, horse, line):
    with open_store(None) as kept:
        load(kept, herd("no"))
        kept.derive(AS_OF)
        with pytest.raises(Problem) as problem:
            gather(kept, Wanted(vet, AS_OF, horse=horse), Asks.empty())
    assert line in str(problem.value)


def test_a_horse_may_be_named_where_the_name_is_of_one_alone():
    from pipelines.sharing.asked_for import horse_called, label

    with open_store(None) as kept:
        load(kept, world(horses=f"{HEAD}\n{ASH.format('yes')}\nH3 | Ash | polo | V | yes | o1\n{BAY}"))
        known = consents(kept)
    assert [horse_called(known, called) for called in ("H3", "bay", "h2")] == ["H3", "H2", "H2"]
    with pytest.raises(Problem, match='Ash is the name of 2 horses: write --horse "H1" or "H3"'):
        horse_called(known, "Ash")
    with pytest.raises(Problem, match=r"no horse is called Biscuit: on record are Ash, Bay$"):
        horse_called(known, "Biscuit")
    assert [label(known, code) for code in ("H1", "H2")] == ["Ash (H1)", "Bay"]


def test_what_came_back_is_told_by_the_day_of_the_last_no(store):
    load(store, herd("no"))
    load(store, herd("yes"))
    store._con.execute("update ledger.loads set started_at = ? where load_id = 2", [datetime(2025, 8, 9, 7, 0)])  # noqa: DTZ001
    (back,) = returned(store, consents(store), ["H1", "H2"])
    assert back.withdrawn_on == date(2025, 8, 9)
