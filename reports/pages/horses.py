"""Horses: which of them lose more shoes than horses in the same work would."""

from dataclasses import replace

from reports.charts.horse_losses import MOST_HORSES, MOST_POINTS, comparable, drawn_horses, found_and_expected, funnel
from reports.page import Numbers, Page, Section, columns, table
from reports.pages.horse import horse_file
from reports.pages.horse_peers import few_peers
from reports.pages.interval_guide import guide_by_work
from reports.picking import Results, Row, labelled, rows
from reports.wording import figure, level_name, listed, many, percent, sentence, span, whole
from schemas.records import About

MOST_NAMED = 5
FIRST_ROWS = 25  # rows of the table that stand open
PLACES = {"above_998": "far above", "above_95": "above", "inside": "", "below_95": "below", "below_998": "far below"}
SLANTED = (
    "Horses in slanted type have under one expected loss, or too few others in the same work: their ratio means little."
)
ABOVE = ("above_95", "above_998")


def horses(results: Results, about: About) -> Page:
    """The page of horses, over the whole record. It names horses, so it carries the cautions."""
    found = in_reading_order(labelled(rows(results, "horse_losses")))
    pages = {row["horse_id"]: horse_file(row["page_no"]) for row in rows(results, "horse_list")}
    return Page(
        "horses.html",
        "Horses",
        "Which horses lose more shoes than horses in the same work would lose in the same time. All figures here are "
        "of the whole record.",
        (
            _funnel(found, rows(results, "funnel_bands"), next(iter(rows(results, "horse_spread")), None)),
            _named(found),
            guide_by_work(results),
            _all(found, pages, _unshod(results)),
        ),
        names_horses=True,
    )


def in_reading_order(found: list[Row]) -> list[Row]:
    """By the ratio drawn toward 1 where there is one, where it is alike by the ratio itself; without any last."""
    column = "shrunk_ratio" if any(row["shrunk_ratio"] is not None for row in found) else "ratio"
    return sorted(
        found,
        key=lambda row: (
            row[column] is None,
            -(row[column] or 0),
            -(row["ratio"] or 0),
            -(row["expected"] or 0),
            row["label"],
        ),
    )


def _funnel(found: list[Row], bands: list[Row], spread: Row | None) -> Section:
    drawn = drawn_horses(found)
    placed = sum(comparable(row) for row in found)
    notes = [
        "Expected: what this horse’s days with a shoe on would bring at the rate of other horses in the same work, for "
        "shoes of the same age, front and hind apart."
    ]
    if placed > len(drawn) == MOST_POINTS:
        left_out = many(placed - len(drawn), "horse")
        notes.append(f"{left_out} inside the funnel not drawn, evenly from left to right; the table has all.")
    few = sum(bool(row["few_peers"]) for row in found)
    notes += [f"{many(few, 'horse')} with too few others in the same work to compare with not drawn."] if few else []
    notes += [_registry(found, spread)] if spread else []
    return Section(
        "Which horses stand out?",
        _funnel_answer(found, spread),
        (funnel(found, bands, spread),) if drawn else (),
        notes=tuple(notes),
    )


def _funnel_answer(found: list[Row], spread: Row | None) -> str:
    placed = [row for row in found if comparable(row)]
    if not placed or spread is None:
        return "Too little is on record to compare horses yet."
    above = [row for row in placed if row["funnel"] in ABOVE]
    if not above:
        return (
            f"None of {many(len(placed), 'horse')} lost more shoes than chance would explain. That is no proof that "
            "all are alike: with few shoes a horse must lose many to stand out."
        )
    far = sum(row["funnel"] == "above_998" for row in above)
    more = len(above) - MOST_NAMED
    names = [_said(row) for row in above[:MOST_NAMED]] + ([f"{whole(more)} more"] if more > 0 else [])
    verb = "lies" if len(above) == 1 else "lie"
    return (
        f"{whole(len(above))} of {many(len(placed), 'horse')} {verb} above the funnel, "
        f"{whole(far) if far else 'none'} of them far above: {listed(names)}. Chance alone would put "
        f"{_by_chance(spread['chance_above_95'])} there."
    )


def _by_chance(horses: float) -> str:
    return "fewer than one" if horses < 0.95 else f"about {figure(horses)}"


def _registry(found: list[Row], spread: Row) -> str:
    """What another register's rule would mark, beside ours."""
    marked = [row for row in found if comparable(row) and row["first_alarm"]]
    inside = sum(row["funnel"] not in ABOVE for row in marked)
    text = (
        "For comparison, the first alarm of a national joint registry (Australian Orthopaedic Association: over twice "
        "the losses expected, by chance less than 5 times in 100, and 10 shoes or more) would mark "
        f"{many(spread['first_alarms'], 'horse')}"
    )
    return text + (f", {whole(inside)} of them inside the funnel." if inside else ".")


def _said(row: Row) -> str:
    return f"{row['label']} ({whole(row['losses'])} lost, {figure(row['expected'])} expected)"


def _named(found: list[Row]) -> Section:
    above = [
        row
        for row in found
        if comparable(row) and (row["ratio"] or 0) > 1 and (row["funnel"] in ABOVE or row["expected"] >= 1)
    ]
    drawn = above[:MOST_HORSES]
    answer = (
        "These lost more than expected, in the order of the table of all horses. A horse with under one expected loss "
        "is shown only where it lies above the funnel: with so little known of it, a single loss makes a high ratio."
    )
    nobody = "No horse with enough on record lost more shoes than expected."
    return Section(
        "How many shoes did they lose, and how many were to be expected?",
        answer if drawn else nobody,
        (found_and_expected(drawn),) if drawn else (),
        notes=(f"{many(len(above) - len(drawn), 'more horse')} in the table only.",) if len(above) > len(drawn) else (),
    )


def _unshod(results: Results) -> tuple[Numbers, ...]:
    """Horses on record without a shoe: they too have a page."""
    shod = {row["horse_id"] for row in rows(results, "horse_losses")}
    found = [row for row in labelled(rows(results, "horse_list")) if row["horse_id"] not in shod]
    found.sort(key=lambda row: (row["label"].casefold(), row["horse_id"]))
    lines = [(row["label"], level_name("discipline", row["discipline"]), whole(row["visits"])) for row in found]
    links = tuple(horse_file(row["page_no"]) for row in found)
    heads = columns("Horse", "Work *", "Visits")
    return (Numbers("Horses with no shoe on record", heads, lines, links=links),) if found else ()


def _all(found: list[Row], pages: dict[str, str], unshod: tuple[Numbers, ...]) -> Section:
    shrunk = any(row["shrunk_low"] != row["shrunk_high"] for row in found)  # alike: a range of no width is none
    first, rest = found[:FIRST_ROWS], found[FIRST_ROWS:]
    tables = [
        replace(
            _table("Shoes lost and expected by horse; the ratio is lost over expected", first, shrunk, pages), open=True
        )
    ]
    tables += [_table("The other horses", rest, shrunk, pages)] if rest else []
    return Section(
        "What is on record for each horse?",
        _all_answer(found, shrunk),
        numbers=(*(tables if found else ()), *unshod),
        notes=(SLANTED,),
    )


def _all_answer(found: list[Row], shrunk: bool) -> str:
    if not found:
        return "No horse has had a shoe nailed on yet."
    by = "drawn toward 1 by how little is known of the horse" if shrunk else "lost over expected"
    return f"{many(len(found), 'horse')} with at least one shoe nailed on, the highest ratio ({by}) first."


def _table(caption: str, found: list[Row], shrunk: bool, pages: dict[str, str]) -> Numbers:
    heads = ("Horse", *(("Drawn toward 1", "Likely") if shrunk else ()), "Ratio", "Likely", "Lost", "Expected")
    heads += ("Shoes", "Work *", *(("Chance that it is over 2",) if shrunk else ()), "Funnel *", "Note *")
    faint = (place for place, row in enumerate(found) if (row["expected"] or 0) < 1 or row["few_peers"])
    links = tuple(pages.get(row["horse_id"], "") for row in found)
    return replace(table(caption, heads, [_line(row, shrunk) for row in found], faint), links=links)


def _line(row: Row, shrunk: bool) -> tuple[str, ...]:
    drawn = (figure(row["shrunk_ratio"]), span(row["shrunk_low"], row["shrunk_high"])) if shrunk else ()
    return (
        row["label"],
        *drawn,
        figure(row["ratio"]),
        span(row["ratio_low"], row["ratio_high"]),
        whole(row["losses"]),
        figure(row["expected"]),
        whole(row["shoes"]),
        level_name("discipline", row["discipline"]),
        *((percent(row["chance_above_double"]),) if shrunk else ()),
        PLACES.get(row["funnel"] or "inside", "") if comparable(row) else "",
        _note(row),
    )


def _note(row: Row) -> str:
    return " ".join(part for part in (sentence(row["note"]), few_peers(row)) if part)
