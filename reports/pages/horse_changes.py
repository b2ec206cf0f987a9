"""What was tried for one horse, and what chance alone would have done."""

from reports.page import Numbers, Section, columns
from reports.picking import Row
from reports.wording import FOOT_NAMES, day, figure, many, sentence, span, whole

BY_CHANCE = (
    "A horse is mostly changed when it has lost many, and the worst horses lose fewer afterwards by chance alone. So "
    "what was found since stands beside what would be expected if the change had done nothing: the horse’s own ratio "
    "before, drawn to that of all horses."
)
PERIODS = "Before and since are the year up to the change and the year after it, as far as the record goes."


def tried(changes: list[Row]) -> Section | None:
    """The changes on record, the latest first; None where there are none."""
    if not changes:
        return None
    found = sorted(changes, key=lambda row: (row["changed_on"], row["what"], row["foot"]), reverse=True)
    return Section("Did what was tried help?", _answer(found[0]), (), (_numbers(found),), (BY_CHANCE, PERIODS))


def _answer(row: Row) -> str:
    begun = f"{_feet(row)}: “{row['what']}”, since {day(row['changed_on'])}."
    if row["note"] or row["losses_by_chance"] is None:
        return f"{begun} {sentence(row['note'] or 'too little is known to say')}"
    lost, chance = row["losses_after"], span(row["chance_low"], row["chance_high"], 0)
    text = (
        f"{begun} {many(lost, 'shoe')} lost since, where {figure(row['losses_by_chance'])} would be expected "
        f"(likely {chance}) if it had done nothing."
    )
    if lost < row["chance_low"]:
        return f"{text} That is fewer than chance alone would mostly bring; what else changed then is not known."
    if lost > row["chance_high"]:
        return f"{text} That is more than chance alone would mostly bring."
    return f"{text} So chance alone may be all there is to it."


def _feet(row: Row) -> str:
    return "All feet" if row["foot"] == "all" else FOOT_NAMES[row["foot"]]


def _numbers(found: list[Row]) -> Numbers:
    lines = [
        (
            day(row["changed_on"]),
            row["what"],
            _feet(row),
            whole(row["losses_before"]),
            figure(row["expected_before"]),
            whole(row["losses_after"]),
            figure(row["expected_after"]),
            _against(row),
            figure(row["losses_by_chance"]),
            span(row["chance_low"], row["chance_high"], 0),
            sentence(row["note"]) if row["note"] else "",
        )
        for row in found
    ]
    heads = ("Since", "What *", "Feet *", "Lost before", "Peers would", "Lost since", "Peers would")
    more = ("Since against before (likely)", "If it did nothing", "Likely", "Note *")
    return Numbers("Losses before and after each change", columns(*heads, *more), lines)


def _against(row: Row) -> str:
    """Losses over those of peers, since against before; without an upper limit where nothing was lost before."""
    if row["change_ratio"] is None:
        return "–"
    high = "…" if row["high"] is None else figure(row["high"])
    return f"{figure(row['change_ratio'])} ({figure(row['low'])} to {high})"
