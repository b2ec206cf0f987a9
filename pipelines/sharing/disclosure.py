"""Which counts may be shown so that none that is hidden can be worked out.

The attack held off. The readers are all vet practices together: they lay every comparison ever handed to any of them
side by side, add and subtract, and take away every record that one of them has or could come to have: that of each
horse with a vet practice on record, whether its owner consents today or not, and of each horse that ever stood in a
summary. So consent given or withdrawn, a horse that moves from one vet practice to another, a summary cut to one horse
or to a time, and practices that pool what they have, all leave the readers with no more than is reckoned with here.
The records taken away are called *known*; what protects a figure is the others' alone.

The rule. Shown figures are sums over sets of records, and sets can be subtracted: a total less its shown parts, this
summary less an earlier one, a group less the readers' own horses. All that such arithmetic can reach is the *pieces*
into which the shown sets, earlier ones included, cut the record: records that stand in exactly the same shown figures
are one piece. Figures are shown only if every piece holds at least `MIN_COUNT` records that are not known, of at least
`MIN_OWNERS` owners. A hidden count of fewer then lies strictly inside a piece, mixed with others of it. Moving records
from the one to the other changes no shown figure, so that all values from 0 to the piece's own total fit what is
shown: a range at least `MIN_COUNT` wide. A hidden count that is not small is one whose showing would cut off a smaller
piece, and lies inside one as well; one that lies in no piece alone could be shown at no loss, and is. Empty pieces are
given as parts that count 0: that nothing happened is told by a difference of 0.

Stricter than need be where pieces can't be reached by adding and subtracting, or hold only what the one reader knows;
never laxer. What is told can't be taken back: where a horse that had no vet practice on record is given one later, what
was told before may come to rest on too few. Then `exposed` names those figures, so that they can be called back, and
no new figure is told.

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
    could be of. known: a reader has or could come to have each of these records, so that they protect nothing.
    """

    cells: frozenset[str]
    count: int
    owners: frozenset[str] = frozenset()
    known: bool = False


@dataclass(frozen=True)
class _Sum:
    """What is not known among some records."""

    count: int
    owners: frozenset[str]

    @property
    def safe(self) -> bool:
        return self.count >= MIN_COUNT and len(self.owners) >= MIN_OWNERS


def publishable(
    parts: Sequence[Part],
    candidates: Iterable[str],
    told: frozenset[str] = frozenset(),
    *,
    keep: frozenset[str] = frozenset(),
) -> frozenset[str]:
    """Names of the candidate figures that may be shown together.

    told: names of the figures shown earlier, to whomever. keep: figures that are hidden last. Among the others the one
    goes first that leaves the fewest unsafe pieces, then the smallest, then the first by name; so the same record gives
    the same answer.
    """
    if exposed(parts, told):
        return frozenset()
    totals = {name: _total(part for part in parts if name in part.cells) for name in candidates}
    sizes = {name: sum(part.count for part in parts if name in part.cells) for name in totals}
    order = sorted(totals, key=lambda name: (sizes[name], name))
    shown = {name for name in order if totals[name].safe}
    merged = _merge((part.cells & told.union(totals), part) for part in parts)
    while _unsafe(merged, told | shown):
        others = [name for name in order if name in shown - keep] or [name for name in order if name in shown]
        shown.remove(min(others, key=lambda name: len(_unsafe(merged, (told | shown) - {name}))))
    for name in reversed([name for name in order if totals[name].safe and name not in shown]):
        if not _unsafe(merged, told | shown | {name}):
            shown.add(name)
    return frozenset(shown)


def exposed(parts: Sequence[Part], told: frozenset[str]) -> frozenset[str]:
    """Names of the figures told earlier that stand in a piece which no longer holds enough that is not known."""
    return frozenset().union(*_unsafe(_merge((part.cells & told, part) for part in parts), told))


def _unsafe(merged: dict[frozenset[str], _Sum], shown: frozenset[str] | set[str]) -> set[frozenset[str]]:
    """The unsafe pieces that some figures cut out, each by the figures it stands in."""
    pieces: dict[frozenset[str], list[_Sum]] = {}
    for cells, found in merged.items():
        pieces.setdefault(cells & shown, []).append(found)
    return {cells for cells, found in pieces.items() if cells and not _add(found).safe}


def _merge(keyed: Iterable[tuple[frozenset[str], Part]]) -> dict[frozenset[str], _Sum]:
    groups: dict[frozenset[str], list[Part]] = {}
    for key, part in keyed:
        groups.setdefault(key, []).append(part)
    return {key: _total(group) for key, group in groups.items()}


def _total(parts: Iterable[Part]) -> _Sum:
    return _add(_Sum(part.count, part.owners) if not part.known else _Sum(0, frozenset()) for part in parts)


def _add(sums: Iterable[_Sum]) -> _Sum:
    found = list(sums)
    return _Sum(sum(one.count for one in found), frozenset().union(*(one.owners for one in found)))
