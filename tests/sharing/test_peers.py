"""Groups to compare with are shown from five owners and five losses on, and never anew for too little."""

from datetime import date, timedelta

import polars as pl
import pytest

from pipelines.sharing.gather import Fallen, Gathered, Wanted, gather
from pipelines.store import open_store
from schemas.shared import Asks
from tests.sharing.drawn import record
from tests.store.drawn import load, world

AS_OF = date(2025, 12, 31)  # 84 days before it is 8 October: the last whole quarter ends on 30 September
FIRST = date(2025, 1, 6)
SEEN_EVERY, VISITS = 28, 9


def practice(losses: dict[str, int], *, owners: int = 6, visits: int = VISITS) -> dict[str, pl.DataFrame]:
    """Each discipline with as many horses as owners, shod on one foot every four weeks, and so many shoes lost.

    Horse `mine` is in polo and of vet V; all others see no vet. Losses go round the horses, one each in turn.
    """
    herd = [("mine", "polo", 0), *((f"{work}{n}", work, losses[work]) for work in losses for n in range(owners))]
    horses = [
        {"horse_id": name, "horse_name": name, "discipline": work, "owner_ref": f"owner {name}",
         "vet_practice": "V" if name == "mine" else None, "share_with_vet": name == "mine"}
        for name, work, _ in herd
    ]  # fmt: skip
    lost = {
        (f"{work}{number % owners}", 1 + number // owners) for work, count in losses.items() for number in range(count)
    }
    days = [FIRST + timedelta(days=SEEN_EVERY * turn) for turn in range(visits)]
    seen = [
        {"visit_id": f"{name}-{turn}", "horse_id": name, "visit_date": day, "visit_kind": "routine"}
        for name, _, _ in herd for turn, day in enumerate(days)
    ]  # fmt: skip
    feet = [
        {"visit_id": f"{name}-{turn}", "foot": "LF", "arrival": "off" if (name, turn) in lost else "on",
         "work": "fit_new"}
        for name, _, _ in herd for turn in range(visits)
    ]  # fmt: skip
    return world(horses=horses, visits=seen, feet=feet)


def shared(store, as_of: date = AS_OF, vet: str = "V") -> Gathered:
    return gather(store, Wanted(vet, as_of), Asks.empty())


def compare(tables: dict[str, pl.DataFrame]) -> dict[str, dict]:
    with open_store(None) as store:
        load(store, tables, AS_OF)
        store.derive(AS_OF)
        return lost_shoes(shared(store))


def lost_shoes(one: Gathered) -> dict[str, dict]:
    return {row["level"]: row for row in one.tables["peers"].filter(measure="lost_shoes").to_dicts()}


@pytest.mark.parametrize(("losses", "shown"), [(4, None), (5, 5), (6, 6)])
def test_losses_are_shown_from_five(losses, shown):
    rows = compare(practice({"polo": losses}))
    assert rows["polo"]["events"] == shown
    assert (rows["polo"]["figure"] is None) is (shown is None)


@pytest.mark.parametrize(("owners", "shown"), [(4, None), (5, 20), (6, 20)])
def test_a_group_is_shown_from_five_owners_beside_the_readers_own(owners, shown):
    rows = compare(practice({"polo": 20}, owners=owners))
    assert (rows["polo"]["events"], rows["all"]["events"]) == (shown, shown)


@pytest.mark.parametrize("owner", [pl.col("horse_name").str.tail(1).cast(pl.Int64) % 4, pl.lit(None, pl.Int64)])
def test_owners_are_counted_and_not_horses_and_blanks_count_as_one(owner):
    tables = practice({"polo": 30}, owners=9)
    of_others = pl.when(pl.col("horse_name") == "mine").then(pl.lit("me")).otherwise(owner.cast(pl.String))
    rows = compare(tables | {"horses": tables["horses"].with_columns(owner_ref=of_others)})
    assert (rows["polo"]["base"], rows["polo"]["events"]) == (None, None)


@pytest.mark.parametrize("written", [("O1", "o1"), ("O 1", " O  1"), ("A. Rider", "A Rider"), ("Ｏ1", "O1")])
def test_one_owner_written_in_two_ways_is_one(written):
    """Five owners beside the reader's own, two of whom are one: a group that rests on four."""
    tables = practice({"polo": 20}, owners=5)
    names = dict(zip(("polo0", "polo1"), written, strict=True))
    owner = pl.col("horse_name").replace_strict(names, default=pl.col("owner_ref"))
    rows = compare(tables | {"horses": tables["horses"].with_columns(owner_ref=owner)})
    assert (rows["polo"]["base"], rows["polo"]["events"]) == (None, None)


def test_a_rate_is_hidden_with_its_count_and_the_note_says_why():
    row = compare(practice({"polo": 4}))["polo"]
    assert [row[column] for column in ("figure", "low", "high")] == [None, None, None]
    assert row["note"].startswith("Hidden")


def test_the_rate_is_losses_over_shoe_days_of_whole_quarters_followed_to_the_end():
    row = compare(practice({"polo": 12}))["polo"]
    shoes = 7 * VISITS  # seven horses; the last shoe of each was nailed on 18 August and is followed for 84 days
    days = 7 * (VISITS - 1) * SEEN_EVERY + 7 * 84 - 12 * SEEN_EVERY / 2  # a loss is dated to the middle
    assert (row["counted_to"], row["base"], row["events"]) == (date(2025, 9, 30), shoes, 12)
    assert row["figure"] == pytest.approx(1000 * 12 / days, abs=0.005), "told to two places"
    # exact Poisson limits of 12: 6.201 and 20.962 (Garwood 1936, from memory of the table)
    assert row["low"] == pytest.approx(1000 * 6.201 / days, abs=0.006)
    assert row["high"] == pytest.approx(1000 * 20.962 / days, abs=0.006)


def test_a_discipline_that_a_total_would_give_away_takes_another_with_it():
    rows = compare(practice({"polo": 12, "trail": 7, "racing": 3}))
    assert {level: row["events"] for level, row in rows.items()} == {
        "all": 22, "polo": 12
    }, "a hidden discipline is not even named where the reader has no horse of it"  # fmt: skip


def test_a_discipline_without_a_single_loss_is_hidden_like_any_small_count():
    rows = compare(practice({"polo": 12, "trail": 7, "racing": 0}))
    assert {level: row["events"] for level, row in rows.items()} == {"all": 19, "polo": 12}


@pytest.fixture
def twice():
    """twice(first, second, …): the figures of two summaries of one record, the second after more was taken in.

    `twice.last` is the second as gathered.
    """

    def make(first, second, second_vet="V", as_of=(AS_OF, AS_OF)):
        with open_store(None) as store:
            load(store, first, as_of[0])
            store.derive(as_of[0])
            one = shared(store, as_of[0])
            record(store, one)
            load(store, second, as_of[1])
            store.derive(as_of[1])
            make.last = shared(store, as_of[1], second_vet)
            return lost_shoes(one), lost_shoes(make.last)

    return make


def test_the_same_figures_may_be_told_again_of_the_same_record(twice):
    first, second = twice(practice({"polo": 12}), practice({"polo": 12}))
    assert (first["polo"]["events"], second["polo"]["events"]) == (12, 12)


@pytest.mark.parametrize(("more", "shown"), [(4, None), (5, 17), (6, 18)])
def test_a_later_summary_tells_no_count_of_fewer_than_five_by_difference(twice, more, shown):
    """Corrections bring `more` losses to light within the quarters that were told before."""
    first, second = twice(practice({"polo": 12}), practice({"polo": 12 + more}))
    assert first["polo"]["events"] == 12
    assert second["polo"]["events"] == shown


def test_the_note_says_that_it_is_hidden_and_points_to_no_earlier_summary(twice):
    _, second = twice(practice({"polo": 12}), practice({"polo": 13}))
    assert second["polo"]["note"].startswith("Hidden: ")
    assert "See" not in second["polo"]["note"]


def test_a_new_quarter_in_which_nothing_was_lost_is_not_told_by_difference(twice):
    quarter_before = AS_OF - timedelta(days=92)
    early, late = practice({"polo": 12}, visits=6), practice({"polo": 12}, visits=9)
    first, second = twice(early, late, as_of=(quarter_before, AS_OF))
    assert first["polo"]["counted_to"] == date(2025, 6, 30)
    assert (first["polo"]["events"], second["polo"]["events"]) == (12, None)


def test_within_a_quarter_the_figures_do_not_move_with_the_day(twice):
    week_later = AS_OF + timedelta(days=7)
    first, second = twice(practice({"polo": 12}), practice({"polo": 12}), as_of=(AS_OF, week_later))
    assert first["polo"] == second["polo"]


def test_two_vet_practices_that_lay_their_summaries_together_learn_no_small_count(twice):
    def with_second_vet(losses: int):
        tables = practice({"polo": losses})
        horses = tables["horses"]
        theirs = pl.col("horse_name") == "polo3"  # the 25th loss is of polo0
        return tables | {
            "horses": horses.with_columns(
                vet_practice=pl.when(theirs).then(pl.lit("W")).otherwise("vet_practice"),
                share_with_vet=theirs | (pl.col("horse_name") == "mine"),
            )
        }

    first, second = twice(with_second_vet(24), with_second_vet(25), second_vet="W")
    assert (first["polo"]["events"], second["polo"]["events"]) == (24, None)


def of_vets(tables: dict[str, pl.DataFrame], vets: dict[str, tuple[str | None, bool]]) -> dict[str, pl.DataFrame]:
    """The practice with another vet practice and answer for some horses, by name."""
    name = pl.col("horse_name")
    vet = name.replace_strict({one: vet for one, (vet, _) in vets.items()}, default=pl.col("vet_practice"))
    agrees = name.replace_strict({one: answer for one, (_, answer) in vets.items()}, default=pl.col("share_with_vet"))
    return tables | {"horses": tables["horses"].with_columns(vet_practice=vet, share_with_vet=agrees)}


@pytest.mark.parametrize("vet", ["V", "W"])
@pytest.mark.parametrize("agrees", [True, False])
def test_horses_of_any_vet_practice_protect_nothing_for_they_may_be_shared_some_day(vet, agrees):
    """Six owners beside the reader's own, one of them of a vet practice: five are left; two of them: four."""
    one, two = {"polo0": (vet, agrees)}, {"polo0": (vet, agrees), "polo1": (vet, agrees)}
    assert compare(of_vets(practice({"polo": 24}), one))["polo"]["events"] == 24
    assert compare(of_vets(practice({"polo": 24}), two))["polo"]["events"] is None


def test_a_horse_that_once_stood_in_a_summary_protects_nothing_after_its_vet_practice_is_gone(twice):
    tables = practice({"polo": 24}, owners=5)
    _, second = twice(of_vets(tables, {"polo0": ("V", True)}), of_vets(tables, {"polo0": (None, False)}))
    assert second["polo"]["events"] is None


@pytest.mark.parametrize("before", [("V", False), ("W", True)])
def test_consent_given_or_a_vet_changed_leaves_no_small_group_in_what_was_told_before(twice, before):
    """Of six other owners, two come to the reader later; the four that are left could be reckoned from the first."""
    tables = practice({"polo": 24})
    names = ("polo0", "polo1")
    first, second = twice(*(of_vets(tables, dict.fromkeys(names, answer)) for answer in (before, ("V", True))))
    assert (first["polo"]["events"], second["polo"]["events"]) == (None, None)


def test_where_a_vet_practice_new_on_record_leaves_too_few_the_earlier_summary_is_named_and_no_more_is_told(twice):
    tables = practice({"polo": 24}, owners=5)
    first, second = twice(tables, of_vets(tables, {"polo0": ("V", True)}))
    assert (first["polo"]["events"], second["polo"]["events"]) == (24, None)
    assert twice.last.fallen == (Fallen("V", "shoeing-summary-2025-12-31-no1", AS_OF),)


@pytest.mark.parametrize("losses", [None, 3])
def test_a_hidden_row_tells_nothing_but_that_the_reader_has_a_horse_of_that_work(losses):
    """A horse new to racing, of which nothing is counted yet; others race, or none do."""
    tables = practice({"polo": 12, "trail": 12} | ({} if losses is None else {"racing": losses}))
    works = pl.when(pl.col("horse_name") == "mine").then(pl.lit("racing")).otherwise("discipline")
    seen = [tables[name].filter(~pl.col("visit_id").str.starts_with("mine-")) for name in ("visits", "feet")]
    made = {"horses": tables["horses"].with_columns(discipline=works), "visits": seen[0], "feet": seen[1]}
    rows = compare(tables | made)
    assert [rows["racing"][column] for column in ("base", "events", "figure", "low", "high")] == [None] * 5
    assert rows["racing"]["note"].startswith("Hidden")
    assert rows["trail"]["events"] == 12
