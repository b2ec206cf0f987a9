"""Which changes of shoeing are listed: the kind of shoe, and shod or bare. What is left out of the list is said."""

from dataclasses import dataclass
from itertools import groupby
from typing import Any

from reports.wording import many, plain

Rows = list[dict[str, Any]]
# How a shoe is held on says nothing of what it does for the foot; the data have it.
LEFT_OUT = ("clips",)
SHOD = "Shod or bare"
NAMES = {
    "shod": SHOD,
    "branch_past_heel_mm": "Steel behind the heel, mm",
    "shoe_style": "Style",
    "shoe_material": "Material",
    "sole_relief": "Clear of the sole",
}


@dataclass(frozen=True)
class Change:
    """One change of one or more feet on a day. feet: in order, a blank between."""

    day: str
    feet: str
    what: str
    before: str
    after: str

    @property
    def step(self) -> str:
        """From what to what."""
        return f"{self.before} → {self.after}"

    @property
    def said(self) -> str:
        """Feet, what and from what to what: `RF style plain → bar`, `RF steel behind the heel 4 → 12 mm`."""
        if self.what == SHOD:
            return f"{self.feet} {self.step}"
        what, _, unit = self.what.partition(", ")
        return f"{self.feet} {what.lower()} {self.step} {unit}".rstrip()


def listed_changes(changes: Rows) -> list[Change]:
    """The latest first; feet that changed alike on one day together."""

    def same(row: dict[str, Any]) -> tuple:
        return row["changed_on"], row["change"], row["before"], row["after"]

    kept = sorted((row for row in changes if row["change"] not in LEFT_OUT), key=same, reverse=True)
    return [_change(*key, [row["foot"] for row in rows]) for key, rows in groupby(kept, key=same)]


def _change(when: Any, what: str, before: str, after: str, feet: list[str]) -> Change:
    if what == "shod":
        before, after = ("bare", "shod") if after == "yes" else ("shod", "bare")
    words = (word.replace("_", " ").replace("-", "−") for word in (before, after))
    return Change(str(when), " ".join(sorted(feet)), NAMES.get(what, plain(what)), *words)


def left_out_said(changes: Rows) -> str:
    """What the list leaves out, counted where it is known."""
    clips = sum(row["change"] in LEFT_OUT for row in changes)
    counted = f"{many(clips, 'change')} of clips (data/changes.csv)" if clips else "clips"
    return f"Not listed: {counted}, nails, a branch moved by under 5 mm."
