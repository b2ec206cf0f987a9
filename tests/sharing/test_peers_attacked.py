"""Readers with linear algebra, the finished rows of several summaries, and all that they know of their own horses."""

from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import product

import numpy as np
import polars as pl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pipelines.sharing import peers
from pipelines.sharing.disclosure import MIN_COUNT, MIN_OWNERS
from pipelines.sharing.gather import NothingToShare, Wanted, gather
from pipelines.store import open_store
from schemas.shared import Asks
from tests.sharing.drawn import record
from tests.store.drawn import load, world

FIRST = date(2025, 1, 6)
TURNS, EVERY = 8, 28  # visits to each horse; the shoes of turns 0 to 3 were nailed on in the first quarter
DAYS = {4: date(2025, 6, 30), 7: date(2025, 9, 22)}  # as-of days, by the turns whose shoes are counted then
QUARTERS = {4: date(2025, 3, 31), 7: date(2025, 6, 30)}
Unit = tuple[str, int]


@dataclass(frozen=True)
class Horse:
    """vet: the practice on record, blank for none; agrees: whether the owner does."""

    name: str
    work: str
    owner: str
    vet: str | None
    agrees: bool


@dataclass(frozen=True)
class Step:
    """One summary: for whom, of so many turns, with so much known of horses and losses by then."""

    vet: str
    turns: int
    horses: tuple[Horse, ...]
    lost: frozenset[Unit]


@dataclass(frozen=True)
class Told:
    """One figure: to whom, its group, whether of losses, and the shoes that it counts."""

    vet: str
    events: bool
    units: frozenset[Unit]


def export(step: Step) -> dict[str, pl.DataFrame]:
    """The record as it is when a summary is made: visits up to its as-of day."""
    until = DAYS[step.turns]
    turns = [turn for turn in range(TURNS) if FIRST + timedelta(EVERY * turn) <= until]
    horses = [
        {"horse_id": h.name, "horse_name": h.name, "discipline": h.work, "owner_ref": h.owner, "vet_practice": h.vet,
         "share_with_vet": h.agrees}
        for h in step.horses
    ]  # fmt: skip
    visits = [
        {"visit_id": f"{h.name}-{turn}", "horse_id": h.name, "visit_date": FIRST + timedelta(EVERY * turn),
         "visit_kind": "routine"}
        for h in step.horses for turn in turns
    ]  # fmt: skip
    feet = [
        {"visit_id": f"{h.name}-{turn}", "foot": "LF", "work": "fit_new",
         "arrival": "off" if (h.name, turn - 1) in step.lost else "on"}
        for h in step.horses for turn in turns
    ]  # fmt: skip
    return world(horses=horses, visits=visits, feet=feet)


def handed_over(steps: list[Step]) -> tuple[list[Told], dict[str, set[str]]]:
    """Every figure of every summary, and the horses whose pages each vet practice got."""
    told, pages = [], {"V": set(), "W": set()}
    with open_store(None) as store:
        for step in steps:
            load(store, export(step), DAYS[step.turns])
            store.derive(DAYS[step.turns])
            try:
                one = gather(store, Wanted(step.vet, DAYS[step.turns]), Asks.empty())
            except NothingToShare:
                continue
            assert one.counted_to == QUARTERS[step.turns]
            record(store, one, step.vet)
            told += figures(step, one.tables["peers"])
            pages[step.vet] |= set(one.horse_ids)
    return told, pages


def figures(step: Step, rows: pl.DataFrame) -> list[Told]:
    """The finished rows, each figure with the shoes that by its heading it counts; the count must be theirs."""
    found = []
    for row, what in product(rows.filter(measure="lost_shoes").to_dicts(), ("base", "events")):
        units = frozenset(
            (h.name, turn) for h in step.horses for turn in range(step.turns)
            if row["level"] in ("all", h.work) and (what == "base" or (h.name, turn) in step.lost)
        )  # fmt: skip
        if row[what] is not None:
            assert row[what] == len(units), (row["level"], what)
            found.append(Told(step.vet, what == "events", units))
    return found


def reckoned(told: list[Told], known: set[str]) -> list[set[Unit]]:
    """Every set of shoes of unknown horses whose number follows from the figures by linear algebra alone."""
    kinds: dict[tuple[bool, ...], set[Unit]] = {}
    for unit in frozenset().union(*(one.units for one in told)):
        if unit[0] not in known:
            kinds.setdefault(tuple(unit in one.units for one in told), set()).add(unit)
    if not kinds:
        return []
    pieces = list(kinds.values())
    figures_of = np.array(list(kinds), dtype=float).T  # a row a figure, a column a piece
    chosen = np.array(list(product((0.0, 1.0), repeat=len(pieces))))[1:]
    through = np.linalg.pinv(figures_of) @ figures_of
    follows = np.abs(chosen @ through - chosen).max(axis=1) < 1e-6
    return [set().union(*(p for p, taken in zip(pieces, one, strict=True) if taken)) for one in chosen[follows]]


def small(steps: list[Step]) -> list[str]:
    """What any reader, or both together, can work out that is too small: empty where the rule holds."""
    told, pages = handed_over(steps)
    owner = {h.name: h.owner for step in steps for h in step.horses}
    faults = []
    for readers in ("V", "W", "VW"):
        known = set().union(*(pages[vet] for vet in readers))
        theirs = [one for one in told if one.vet in readers]
        faults += [f"{readers}: a count of {len(units)}" for units in reckoned(theirs, known) if len(units) < MIN_COUNT]
        groups = [one for one in theirs if not one.events]
        owners = [len({owner[horse] for horse, _ in units}) for units in reckoned(groups, known)]
        faults += [f"{readers}: a group of {count} owners" for count in owners if count < MIN_OWNERS]
    return faults


@st.composite
def summaries(draw) -> list[Step]:
    """Two or three summaries, to one or two vet practices; between them owners give or withdraw consent, horses move
    from one vet practice to the other, a quarter passes, and losses come to light that had been forgotten.
    """
    works = draw(st.sampled_from([("polo", "trail"), ("polo", "racing", "trail")]))
    count = draw(st.integers(9, 20))
    horses = tuple(
        Horse(f"h{n}", works[n % len(works)], draw(st.sampled_from([f"o{n}", f"o{n}", "o0"])),
              draw(st.sampled_from([None, None, None, "V", "W"])), draw(st.booleans()))
        for n in range(count)
    )  # fmt: skip
    mine = Horse("mine", "polo", "me", "V", True)
    units = [(h.name, turn) for h in horses for turn in range(TURNS - 1)]
    lost = frozenset(draw(st.lists(st.sampled_from(units), min_size=20, max_size=90)))
    steps = [Step("V", draw(st.sampled_from([4, 7])), (mine, *horses), lost)]
    for _ in range(draw(st.integers(1, 2))):
        last = steps[-1]
        changed = draw(st.sets(st.sampled_from([h.name for h in horses]), max_size=6))
        found = frozenset(draw(st.lists(st.sampled_from(units), max_size=draw(st.sampled_from([0, 2, 12])))))
        moved = tuple(
            replace(h, vet=draw(st.sampled_from("VW")), agrees=draw(st.booleans())) if h.name in changed and h.vet
            else h
            for h in last.horses
        )  # fmt: skip
        turns = draw(st.sampled_from([last.turns, 7]))
        steps.append(Step(draw(st.sampled_from("VW")), turns, moved, last.lost | found))
    return steps


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(summaries())
def test_no_readers_reckon_a_count_under_five_nor_a_group_of_under_five_owners_from_finished_rows(steps):
    assert small(steps) == []


def herd(*answers: tuple[str | None, bool]) -> tuple[Horse, ...]:
    """One horse each of its own owner, all in polo, after `mine` of vet practice V."""
    own = Horse("mine", "polo", "me", "V", True)
    return (own, *(Horse(f"h{n}", "polo", f"o{n}", *answer) for n, answer in enumerate(answers)))


LOST = frozenset((f"h{n}", turn) for n in range(9) for turn in range(2))


def test_figures_are_told_where_enough_owners_have_no_vet_practice_on_record_so_that_the_attack_has_a_target():
    told, _ = handed_over([Step("V", 7, herd(*[(None, False)] * 6), LOST)])
    assert len(told) == 4, "shoes and losses of all and of polo"


@pytest.mark.parametrize(
    ("then", "later"),
    [(("V", False), ("V", True)), (("V", True), ("V", False)), (("W", True), ("V", True)), (("V", True), ("W", True))],
)
def test_the_attack_finds_what_a_laxer_rule_gives_away(monkeypatch, then, later):
    """Where only horses that are shared today count as known: of seven owners three come, go or move."""
    first, second = (herd(*[answer] * 3, *[(None, False)] * 4) for answer in (then, later))
    steps = [Step("V", 7, first, LOST), Step("V" if later[0] == "V" else "W", 7, second, LOST)]
    assert small(steps) == []
    lax = "coalesce(h.share_with_vet and trim(h.vet_practice) = 'V', false)"
    monkeypatch.setattr(peers, "UNITS", peers.UNITS.replace(peers.KNOWN, lax))
    assert small(steps) != []
