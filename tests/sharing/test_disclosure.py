"""Small counts stay hidden, and nothing that is shown gives them away."""

from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipelines.sharing.disclosure import MIN_COUNT, MIN_OWNERS, Part, exposed, publishable
from tests.sharing.attacking import feasible_width

OWNERS = [f"o{number}" for number in range(9)]


def owned(count: int, owners: int = 6, *cells: str) -> Part:
    return Part(frozenset(cells), count, frozenset(OWNERS[:owners]) if count else frozenset())


@pytest.mark.parametrize(("losses", "shown"), [(4, False), (5, True), (6, True)])
def test_a_count_is_shown_from_five(losses, shown):
    assert ("lost" in publishable([owned(losses, 6, "lost")], ["lost"])) is shown


@pytest.mark.parametrize(("owners", "shown"), [(4, False), (5, True), (6, True)])
def test_a_comparison_rests_on_five_owners(owners, shown):
    assert ("lost" in publishable([owned(40, owners, "lost")], ["lost"])) is shown


def test_a_second_figure_is_hidden_where_the_total_would_give_the_small_one_away():
    parts = [owned(20, 6, "all", "trail"), owned(12, 6, "all", "polo"), owned(3, 6, "all", "racing")]
    assert publishable(parts, ["all", "trail", "polo", "racing"]) == {"all", "trail"}


def test_a_count_of_none_is_as_small_as_any():
    parts = [owned(20, 6, "all", "trail"), owned(12, 6, "all", "polo"), Part(frozenset({"all", "racing"}), 0)]
    assert publishable(parts, ["all", "trail", "polo", "racing"]) == {"all", "trail"}


def test_what_is_not_lost_may_be_the_small_count():
    parts = [owned(9, 6, "shoes", "lost"), owned(3, 6, "shoes")]
    assert publishable(parts, ["shoes", "lost"]) == {"shoes"}


def test_the_reader_takes_their_own_horses_away_from_the_group():
    own = Part(frozenset({"polo"}), 30, frozenset(OWNERS), known=True)
    assert publishable([own, owned(4, 6, "polo")], ["polo"]) == frozenset()
    assert publishable([own, owned(5, 6, "polo")], ["polo"]) == {"polo"}


@pytest.mark.parametrize(("more", "shown"), [(0, False), (4, False), (5, True)])
def test_a_later_figure_is_held_against_the_earlier_one(more, shown):
    parts = [owned(30, 6, "before", "now"), owned(more, 6, "now")]
    assert ("now" in publishable(parts, ["now"], frozenset({"before"}))) is shown


def test_a_figure_over_the_very_same_records_may_be_shown_again():
    assert publishable([owned(30, 6, "before", "now")], ["now"], frozenset({"before"})) == {"now"}


def test_a_figure_that_was_told_to_another_is_reckoned_with():
    parts = [owned(30, 6, "theirs", "now"), owned(2, 2, "theirs")]
    assert publishable(parts, ["now"]) == {"now"}
    assert publishable(parts, ["now"], frozenset({"theirs"})) == frozenset()


def test_what_the_readers_have_protects_nothing_however_much_of_it_there_is():
    own = Part(frozenset({"polo", "mended"}), 30, frozenset(OWNERS), known=True)
    parts = [own, owned(30, 6, "polo")]
    assert publishable(parts, ["polo", "mended"]) == {"polo"}


def test_where_earlier_figures_have_come_to_rest_on_too_few_they_are_named_and_no_new_one_is_told():
    parts = [owned(4, 4, "1/polo", "1/all", "new"), owned(30, 6, "1/all", "new")]
    told = frozenset({"1/polo", "1/all"})
    assert exposed(parts, told) == told
    assert publishable(parts, ["new"], told) == frozenset()
    assert exposed(parts, frozenset({"1/all"})) == frozenset()


@st.composite
def records(draw, slots: int):
    """Shoes by discipline, time and whether lost; cells of two summaries that cover some of the same time."""
    levels = draw(st.integers(2, 5))
    covered = [draw(st.sets(st.integers(0, slots - 1), min_size=1)) for _ in range(2)]
    parts = []
    for level, slot, lost, known in product(range(levels), range(slots), (False, True), (False, True)):
        cells = {
            f"{share}/{group}/{what}"
            for share in range(2) if slot in covered[share]
            for group in ("all", level)
            for what in ("shoes", "lost")[: 1 + lost]
        }  # fmt: skip
        count = draw(st.sampled_from([0, 0, 1, 2, 3, 4, 5, 6, 8, 15, 40]))
        owners = draw(st.sets(st.sampled_from(OWNERS), min_size=1, max_size=max(1, min(count, 9)))) if count else set()
        parts.append(Part(frozenset(cells), count, frozenset(owners), known))
    return parts


def cells_of(parts: list[Part], share: int) -> list[str]:
    return sorted({cell for part in parts for cell in part.cells if cell.startswith(f"{share}/")})


@settings(max_examples=40, deadline=None)
@given(records(slots=1))
def test_an_attacker_with_one_summary_recovers_no_hidden_figure(parts):
    shown = publishable(parts, cells_of(parts, 0))
    for hidden in set(cells_of(parts, 0)) - shown:
        assert feasible_width(parts, shown, hidden) >= MIN_COUNT - 1e-6, hidden


@settings(max_examples=40, deadline=None)
@given(records(slots=3))
def test_an_attacker_with_two_overlapping_summaries_recovers_no_hidden_figure(parts):
    first = publishable(parts, cells_of(parts, 0))
    told = first | publishable(parts, cells_of(parts, 1), first)
    for hidden in set(cells_of(parts, 0) + cells_of(parts, 1)) - told:
        if not stands_among(parts, hidden, told):
            assert feasible_width(parts, told, hidden) >= MIN_COUNT - 1e-6, hidden


def stands_among(parts: list[Part], hidden: str, told: frozenset[str]) -> bool:
    """Whether a figure hidden earlier is over the very records of one that was rightly shown since."""
    same = [cell for cell in told if all((cell in p.cells) == (hidden in p.cells) for p in parts if not p.known)]
    return bool(same)


@settings(max_examples=40, deadline=None)
@given(records(slots=3))
def test_no_piece_cut_out_by_two_summaries_is_small_or_of_few_owners(parts):
    first = publishable(parts, cells_of(parts, 0))
    told = first | publishable(parts, cells_of(parts, 1), first)
    pieces: dict[frozenset[str], list[Part]] = {}
    for part in parts:
        pieces.setdefault(part.cells & told, []).extend([] if part.known else [part])
    for cells, members in pieces.items():
        if cells:
            assert sum(part.count for part in members) >= MIN_COUNT
            assert len(frozenset().union(*(part.owners for part in members))) >= MIN_OWNERS


def test_the_attacker_does_recover_a_small_count_where_only_small_counts_are_hidden():
    parts = [owned(20, 6, "all", "trail"), owned(12, 6, "all", "polo"), owned(3, 6, "all", "racing")]
    assert feasible_width(parts, ["all", "trail", "polo"], "racing") == pytest.approx(0)
