"""Which counts may be shown so that none that is hidden can be worked out.

The rule. Shown figures are sums over sets of records, and sets can be subtracted: a total less its shown parts, this
summary less an earlier one, a group less the reader's own horses. All that such arithmetic can reach is the *pieces*
into which the shown sets cut the record: records that stand in exactly the same shown figures are one piece. Figures
are shown only if every piece counts at least `MIN_COUNT` records of at least `MIN_OWNERS` owners. A hidden count of
fewer then lies strictly inside a piece, mixed with others of it. Moving records from the one to the other changes no
shown figure, so that all values from 0 to the piece's own total fit what is shown: a range at least `MIN_COUNT` wide.
A hidden count that is not small is one whose showing would cut off a smaller piece, and lies inside one as well; one
that lies in no piece alone could be shown at no loss, and is. Empty pieces are given as parts that count 0: that
nothing happened is told by a difference of 0.

Stricter than need be where pieces can't be reached by adding and subtracting; never laxer. What the rule does not
see: readers who put their own horses' records together, and consent given to the same reader later for a horse that
was counted before among the others.

Sources, from memory: complementary suppression, Cox 1980, J Am Stat Assoc 75:377; cells and thresholds, Willenborg &
de Waal 2001, Elements of Statistical Disclosure Control; answering only about unions of fixed pieces of a record,
the partitioning of Denning & Schlörer 1983, Computer 16(7):69. Thresholds: fewer than 5 is hidden, this project's own.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

MIN_COUNT = 5  # counts below are hidden
MIN_OWNERS = 5  # a comparison rests on at least so many owners


@dataclass(frozen=True)
class Part:
    """Records that stand in the same figures, whether those are shown or only could be.

    cells: names of the figures. count: how many records, 0 for one that could be but is not. owners: whose horses they
    could be of. known: the reader holds each of these records anyway, so they need no protection and give none.
    """

    cells: frozenset[str]
    count: int
    owners: frozenset[str] = frozenset()
    known: bool = False


@dataclass(frozen=True)
class _Sum:
    count: int
    owners: frozenset[str]

    @property
    def safe(self) -> bool:
        return self.count >= MIN_COUNT and len(self.owners) >= MIN_OWNERS


def publishable(
    parts: Sequence[Part],
    candidates: Iterable[str],
    readers: Sequence[frozenset[str]] = (frozenset(),),
    *,
    keep: frozenset[str] = frozenset(),
) -> frozenset[str]:
    """Names of the candidate figures that may be shown together.

    readers: for each reader to be held off, names of the figures shown to that reader earlier. keep: figures that are
    hidden last. Among the others the one goes first that leaves the fewest unsafe pieces, then the smallest, then the
    first by name; so the same record gives the same answer.
    """
    totals = {name: _total(part for part in parts if name in part.cells) for name in candidates}
    order = sorted(totals, key=lambda name: (totals[name].count, name))
    shown = {name for name in order if totals[name].safe}
    weighed = _Weighed(parts, shown, readers)
    while weighed.unsafe(shown):
        others = [name for name in order if name in shown - keep] or [name for name in order if name in shown]
        shown.remove(min(others, key=lambda name: weighed.left(shown, name)))
    for name in reversed([name for name in order if totals[name].safe and name not in shown]):
        if not weighed.unsafe(shown | {name}):
            shown.add(name)
    return frozenset(shown)


class _Weighed:
    """Parts merged to those that the figures in question can tell apart."""

    def __init__(self, parts: Sequence[Part], candidates: Iterable[str], readers: Sequence[frozenset[str]]):
        self._readers = readers
        told = frozenset(candidates).union(*readers)
        self._parts = _merge((part.cells & told, part) for part in parts if not part.known)
        self._before = [self._unsafe_for(known) for known in readers]

    def left(self, shown: set[str], without: str) -> int:
        """How many unsafe pieces are left once one figure is hidden."""
        return len(self.unsafe(shown - {without}))

    def unsafe(self, shown: set[str]) -> set[frozenset[str]]:
        """The unsafe pieces, each by the figures it stands in, that the shown figures add for any reader."""
        found: set[frozenset[str]] = set()
        for earlier, before in zip(self._readers, self._before, strict=True):
            found |= self._unsafe_for(earlier | shown) - before
        return found

    def _unsafe_for(self, told: frozenset[str]) -> set[frozenset[str]]:
        pieces = _merge((cells & told, Part(cells, s.count, s.owners)) for cells, s in self._parts.items())
        return {cells for cells, piece in pieces.items() if cells and not piece.safe}


def _merge(keyed: Iterable[tuple[frozenset[str], Part]]) -> dict[frozenset[str], _Sum]:
    groups: dict[frozenset[str], list[Part]] = {}
    for key, part in keyed:
        groups.setdefault(key, []).append(part)
    return {key: _total(group) for key, group in groups.items()}


def _total(parts: Iterable[Part]) -> _Sum:
    found = list(parts)
    return _Sum(sum(part.count for part in found), frozenset().union(*(part.owners for part in found)))
