"""The sections on horses that came and went, and on how many the coming weeks will bring."""

from reports.charts.season import weeks_to_come
from reports.page import Numbers, Section, columns, table
from reports.pages.horse import horse_files
from reports.picking import Results, Row, known, labelled, rows
from reports.wording import day, figure, many, sentence, span, whole
from schemas.records import About

STANDINGS = {"new": "New", "returned": "Returned", "gone": "Gone", "not_yet": "Not seen yet"}
MEANING = "New: never seen before this season. Returned: seen earlier, but not in the season before."
GONE = "Gone: seen in the season before and not in this one."
NOT_YET = "Not seen yet: seen in the whole season before and not so far in this one, which still runs."
BY_LATENESS = (
    "Each horse is counted once, on its next visit: it comes as late or early to its day as horses have come so far. "
    "New horses and call-outs come on top."
)


def turnover(results: Results, about: About) -> Section | None:
    """Horses new, kept, returned and gone; all but the kept ones by name."""
    found = labelled(rows(results, "horse_turnover"))
    if not found:
        return None
    if all(row["standing"] in ("new", "returned") for row in found):
        return Section("Which horses came, and which went?", "No visit is on record in the season before to tell by.")
    order, runs = list(STANDINGS), about.as_of < about.season_stop
    named = [row for row in found if row["standing"] in order]
    named.sort(key=lambda row: (order.index(row["standing"]), row["label"].casefold(), row["horse_id"]))
    return Section(
        "Which horses came, and which went?",
        _turnover_answer(found, runs),
        numbers=(_turnover_numbers(named, results),) if named else (),
        notes=(f"{MEANING} {NOT_YET if runs else GONE}",),
    )


def _turnover_answer(found: list[Row], runs: bool) -> str:
    count = {standing: sum(row["standing"] == standing for row in found) for standing in ("kept", *STANDINGS)}
    return f"{many(count['kept'], 'horse')} kept, {whole(count['new'])} new, {whole(count['returned'])} returned, " + (
        f"{whole(count['not_yet'])} not seen yet." if runs else f"{whole(count['gone'])} gone."
    )


def _turnover_numbers(named: list[Row], results: Results) -> Numbers:
    files = horse_files(results)
    lines = [
        (row["label"], STANDINGS[row["standing"]], day(row["first_visit_on"]), day(row["last_visit_on"]))
        for row in named
    ]
    heads = columns("Horse", "Standing *", "First seen *", "Last seen *")
    links = tuple(files.get(row["horse_id"], "") for row in named)
    return Numbers("Horses new, returned or gone", heads, lines, links=links)


def to_come(results: Results) -> Section | None:
    """Horses to be expected in each of the coming weeks."""
    found = sorted(rows(results, "load_to_come"), key=lambda row: row["starts_on"])
    if not found:
        return None
    drawn = known(found, "visits_expected")
    lines = [
        (
            day(row["starts_on"]),
            figure(row["visits_expected"]),
            span(row["low"], row["high"], 0),
            whole(row["horses_due"]),
            sentence(row["note"]),
        )
        for row in found
    ]
    heads = ("Week of", "Horses expected", "Likely", "Due in it", "Note *")
    return Section(
        "How many horses will the coming weeks bring?",
        _to_come_answer(found, drawn),
        (weeks_to_come(drawn),) if drawn else (),
        (table("Horses of the coming weeks; the first holds those overdue", heads, lines),),
        (BY_LATENESS, *_beyond(drawn)) if drawn else (),
        (("due.html", "Which horses are due"),),
    )


def _beyond(drawn: list[Row]) -> tuple[str, ...]:
    count = drawn[0]["horses_beyond"] or 0
    if not count:
        return ()
    verb = "is" if count == 1 else "are"
    came = "overdue by as much as any has come late so far, or more: expected in no week."
    return (f"{many(count, 'horse')} {verb} {came}",)


def _to_come_answer(found: list[Row], drawn: list[Row]) -> str:
    if not drawn:
        due = sum(row["horses_due"] for row in found)
        return f"{many(due, 'horse')} in {many(len(found), 'week')}; when they will come cannot be told yet."
    most = max(drawn, key=lambda row: (row["visits_expected"], -row["starts_on"].toordinal()))
    return (
        f"Most in the week of {day(most['starts_on'])}: about {whole(most['visits_expected'])} (likely "
        f"{span(most['low'], most['high'], 0)}). In all {len(drawn)} weeks about "
        f"{whole(sum(row['visits_expected'] for row in drawn))}."
    )
