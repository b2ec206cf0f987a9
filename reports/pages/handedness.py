"""Handedness: what each farrier leaves different between left and right, inside and outside. For the farrier alone."""

from dataclasses import dataclass

from reports.charts.dots import Dot, dots, runs_off
from reports.drawing import Chart
from reports.page import Numbers, Page, Section, table
from reports.picking import NOT_RECORDED, Results, Row, known, rows
from reports.wording import figure, listed, percent, percent_span, sentence, span, whole
from schemas.records import About

UNRANKED = (
    "Farriers stand in alphabetical order and are never ranked: each shoes other horses, and a difference may be the "
    "horses’ own. Ranges take horses as the units."
)
OWN_EYES = (
    "This page is for the farrier’s own eyes. Nothing of it goes into what is shared with a vet. Publish with "
    "--no-handedness to leave it out."
)


@dataclass(frozen=True)
class Comparison:
    """One thing compared: its question, what the figure counts, the figure of an even hand, and the words either way.

    share: whether the figure is a share.
    """

    compared: str
    question: str
    counts: str
    even: float
    above: str
    below: str
    pairs: str
    note: str = ""
    share: bool = False

    def written(self, value: float | None) -> str:
        """The figure as the page shows it."""
        return percent(value) if self.share else figure(value, 2)

    def range(self, row: Row) -> str:
        """The range as the page shows it."""
        low, high = row["low"], row["high"]
        return percent_span(low, high) if self.share else span(low, high, 2)


COMPARISONS = (
    Comparison(
        "leaving_angle", "Do left feet leave at another angle than right ones?", "left minus right, degrees", 0.0,
        "left feet leave steeper than right", "right feet leave steeper than left", "Pairs of feet",
    ),
    Comparison(
        "leaving_toe", "Do left toes leave at another length than right ones?", "left minus right, mm", 0.0,
        "left toes leave longer than right", "right toes leave longer than left", "Pairs of feet",
    ),
    Comparison(
        "wall_findings", "Is the wall hurt more often on the inside or the outside?", "share on the inner side", 0.5,
        "findings lie more often on the inner side", "findings lie more often on the outer side", "Findings",
        "A finding is a cracked, broken or missing wall on the inner or the outer side, as the foot came. Dashed: as "
        "often on one side as on the other.", share=True,
    ),
    Comparison(
        "nails", "Are more nails driven on the inside or the outside?", "inside minus outside, nails", 0.0,
        "more nails are driven on the inner side", "more nails are driven on the outer side", "Shoes",
        "Fewer nails on the inner side than on the outer is common practice (no source).",
    ),
)  # fmt: skip


def handedness(results: Results, about: About) -> Page | None:
    """The page of handedness, over the whole record; None where it is switched off."""
    if not about.handedness:
        return None
    return Page(
        "handedness.html",
        "Handedness",
        "Only for the farrier: what a hand does the same way on all horses, left against right and inside against "
        "outside. All figures here are of the whole record.",
        tuple(
            _section(comparison, rows(results, "handedness", compared=comparison.compared))
            for comparison in COMPARISONS
        ),
        remarks=(UNRANKED, OWN_EYES),
    )


def _section(comparison: Comparison, found: list[Row]) -> Section:
    found = sorted(found, key=lambda row: (row["farrier"] == NOT_RECORDED, row["farrier"].casefold(), row["farrier"]))
    drawn = known(found, "mean_difference")
    return Section(
        comparison.question,
        _answer(comparison, drawn),
        (_chart(comparison, drawn),) if drawn else (),
        (_numbers(comparison, found),) if found else (),
        (comparison.note,) if comparison.note and found else (),
    )


def _answer(comparison: Comparison, drawn: list[Row]) -> str:
    judged = [row for row in known(drawn, "low") if row["farrier"] != NOT_RECORDED]
    if not judged:
        return "Too few horses have been read to say."
    told = [_told(comparison, row) for row in judged if not row["low"] <= comparison.even <= row["high"]]
    if not told:
        names = listed([row["farrier"] for row in judged])
        return f"No difference that chance alone could not bring, with {names}."
    rest = len(judged) - len(told)
    others = (
        f" With {whole(rest)} {'other' if rest == 1 else 'others'} chance alone could bring the difference."
        if rest
        else ""
    )
    return f"With {'; with '.join(told)}.{others}"


def _told(comparison: Comparison, row: Row) -> str:
    way = comparison.above if row["mean_difference"] > comparison.even else comparison.below
    return f"{row['farrier']} {way}: {comparison.written(row['mean_difference'])} (likely {comparison.range(row)})"


def _chart(comparison: Comparison, drawn: list[Row]) -> Chart:
    marks = [Dot(row["farrier"], row["mean_difference"], row["low"], row["high"]) for row in drawn]
    said = "; ".join(
        f"{row['farrier']} {comparison.written(row['mean_difference'])} (likely {comparison.range(row)})"
        for row in drawn
    )
    return Chart(
        f"hand-{comparison.compared.replace('_', '-')}",
        dots(marks, comparison.counts, comparison.even or None, as_percent=comparison.share),
        f"By farrier, {comparison.counts}: {said}.",
        f"Dot: {comparison.counts}, by farrier. Line: where the true figure likely lies."
        + (" A line that ends at the edge goes on beyond it." if runs_off(marks, comparison.even or None) else ""),
    )


def _numbers(comparison: Comparison, found: list[Row]) -> Numbers:
    lines = [
        (
            row["farrier"],
            comparison.written(row["mean_difference"]),
            comparison.range(row),
            whole(row["pairs"]),
            whole(row["horses"]),
            sentence(row["note"]),
        )
        for row in found
    ]
    heads = ("Farrier", comparison.counts[:1].upper() + comparison.counts[1:], "Likely", comparison.pairs, "Horses")
    faint = (place for place, row in enumerate(found) if row["low"] is None)
    return table(f"By farrier: {comparison.counts}", (*heads, "Note *"), lines, faint)
