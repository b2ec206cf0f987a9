"""The section on horses that are seen later and later against their plan."""

from dataclasses import replace

from reports.page import Numbers, Section, table
from reports.pages.horse import horse_files
from reports.picking import Results, Row, known, labelled, rows
from reports.wording import figure, listed, many, percent, sentence, span, whole

MOST_NAMED = 5
BY_CHANCE = 0.025  # of horses that do not change at most this share lies above 0 with both 95 % limits
DRAWN = "A horse’s trend is drawn toward that of all horses by how little is known of it."


def slipping(results: Results) -> Section | None:
    """Each horse’s trend of lateness, the steepest first."""
    found = labelled(rows(results, "lateness_trend"))
    if not found:
        return None
    found.sort(key=lambda row: (row["days_later_per_year"] is None, -(row["days_later_per_year"] or 0), row["label"]))
    return Section(
        "Which horses are seen later and later?",
        _slipping_answer(found),
        numbers=(_slipping_numbers(found, results),),
        notes=(DRAWN, "Late is counted from the day agreed: a plan that was never meant makes a horse late."),
    )


def _slipping_answer(found: list[Row]) -> str:
    told = known(found, "days_later_per_year")
    if not told:
        return "Too few intervals with a plan are on record to say."
    by_chance = f"By chance alone {_about(BY_CHANCE * len(told))} would be named."
    named = [row for row in told if row["slipping"]]
    if not named:
        return f"None of {many(len(told), 'horse')} surely is. {by_chance}"
    said = [
        f"{row['label']}, {figure(row['days_later_per_year'])} days later each year (likely "
        f"{span(row['low'], row['high'])})"
        for row in named[:MOST_NAMED]
    ]
    said += [f"{whole(len(named) - MOST_NAMED)} more"] if len(named) > MOST_NAMED else []
    return f"{whole(len(named))} of {many(len(told), 'horse')}: {listed(said)}. {by_chance}"


def _about(expected: float) -> str:
    return "fewer than one" if expected < 1 else f"up to {whole(expected)}"


def _slipping_numbers(found: list[Row], results: Results) -> Numbers:
    own = {row["horse_id"]: row for row in rows(results, "horse_intervals")}
    files = horse_files(results)
    heads = ("Horse", "Days later each year", "Likely", "Days late, mean", "Agreed, days", "Done, days", "Late")
    heads += ("Intervals with a plan", "Note *")
    faint = [place for place, row in enumerate(found) if row["days_later_per_year"] is None]
    made = table(
        "Days past the plan by horse, the steepest trend first",
        heads,
        [_slipping_line(row, own) for row in found],
        faint,
    )
    return replace(made, links=tuple(files.get(row["horse_id"], "") for row in found))


def _slipping_line(row: Row, own: dict[str, Row]) -> tuple[str, ...]:
    summary = own.get(row["horse_id"], {})
    return (
        row["label"],
        figure(row["days_later_per_year"]),
        span(row["low"], row["high"]),
        figure(row["mean_days_late"]),
        figure(summary.get("planned_days")),
        figure(summary.get("done_days")),
        percent(summary.get("late_share")),
        whole(row["intervals"]),
        sentence(row["note"]),
    )
