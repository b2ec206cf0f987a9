"""The section that sets one horse’s lost shoes beside those its peers would have lost."""

from reports.page import Numbers, Section, columns
from reports.picking import Row
from reports.wording import figure, many, percent, sentence, span

PLACES = {"above_998": "far above", "above_95": "above", "below_95": "below", "below_998": "far below"}


def peers(row: Row | None) -> Section | None:
    """Its losses beside those its peers would have had; row: its own of the losses by horse."""
    if row is None:
        return None
    if row["ratio"] is None:
        reason = sentence(row["note"]) or "Too little is on record to compare it."
        return Section("Does it lose more than its peers?", reason)
    return Section(
        "Does it lose more than its peers?",
        f"{many(row['losses'], 'shoe')} lost where horses in the same work would have lost {figure(row['expected'])} "
        f"in the same time. {_drawn(row)}{_place(row)}",
        numbers=(_peers_numbers(row),),
        notes=tuple(note for note in (sentence(row["note"]),) if note),
    )


def few_peers(row: Row) -> str:
    """That too few others do its work, as a sentence; nothing where there are enough."""
    if not row["few_peers"] or row["ratio"] is None:
        return ""
    others = f"{many(row['peers'], 'other horse does', 'other horses do')} its work"
    return f"Only {others}, with {many(row['peer_losses'], 'loss', 'losses')}: what was to be expected is a guess."


def _drawn(row: Row) -> str:
    """The ratio to go by: the raw one of a horse with few shoe-days means little."""
    if not _apart(row):
        return f"That is {figure(row['ratio'])} times (likely {span(row['ratio_low'], row['ratio_high'])}). "
    return (
        f"Allowing for how little is known of it, that makes {figure(row['shrunk_ratio'])} times "
        f"(likely {span(row['shrunk_low'], row['shrunk_high'])}). "
    )


def _apart(row: Row) -> bool:
    """Whether the horses were found to differ, so that its ratio drawn to theirs has a range of its own."""
    return row["shrunk_ratio"] is not None and row["shrunk_low"] != row["shrunk_high"]


def _place(row: Row) -> str:
    if row["few_peers"]:
        return few_peers(row)
    place = PLACES.get(row["funnel"] or "")
    if place is None:
        return "Chance alone may bring that."
    return f"That lies {place} what chance alone would bring; among many horses a few do so by chance."


def _peers_numbers(row: Row) -> Numbers:
    lines = [("Lost over expected", figure(row["ratio"]), span(row["ratio_low"], row["ratio_high"]))]
    if _apart(row):
        drawn = (figure(row["shrunk_ratio"]), span(row["shrunk_low"], row["shrunk_high"]))
        lines.append(("Drawn toward 1 by how little is known of it", *drawn))
    if _apart(row) and row["chance_above_double"] is not None:
        lines.append(("Chance that it is truly over 2", percent(row["chance_above_double"]), "–"))
    return Numbers("Against horses in the same work", columns("Ratio", "Figure", "Likely"), lines)
