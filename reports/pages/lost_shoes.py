"""Lost shoes: how long shoes stay on, when and where they come off more often, and what goes with it."""

from reports.charts.loss_causes import loss_causes
from reports.page import Numbers, Page, Section, columns
from reports.pages.booking import booking
from reports.pages.fit_by_pace import by_pace
from reports.pages.loss_factors import together
from reports.pages.loss_rates import rate_sections
from reports.pages.loss_timing import hazard, watch
from reports.pages.retention import ends, kinds, stay, tests
from reports.picking import Results, Row, rows
from reports.wording import many, percent, plain, whole
from schemas.records import About

UNPUBLISHED = (
    "Nothing peer-reviewed gives the chance of losing a shoe day by day: there is no published figure to hold these "
    "against, only your own record from year to year."
)


def lost_shoes(results: Results, about: About) -> Page:
    """The page of lost shoes, over the whole record."""
    sections = [stay(results), booking(results), *rate_sections(results, first=True), ends(results), kinds(results)]
    sections += [tests(results), hazard(results), watch(results), together(results), by_pace(results)]
    sections += [*rate_sections(results, first=False), _causes(results)]
    return Page(
        "lost-shoes.html",
        "Lost shoes",
        "How long shoes stay on, and on which work, feet and shoes they come off more often. All figures here are of "
        "the whole record. What goes together need not be the cause.",
        tuple(section for section in sections if section),
        remarks=(UNPUBLISHED,),
    )


def _causes(results: Results) -> Section:
    told_last = ("other", "unknown")
    found = sorted(
        rows(results, "loss_causes"), key=lambda row: (row["cause"] in told_last, -row["losses"], row["cause"])
    )
    figures = [(plain(row["cause"]), whole(row["losses"]), percent(row["cause_share"])) for row in found]
    return Section(
        "What is reported to have pulled them?",
        _causes_answer(found),
        (loss_causes(found),) if found else (),
        (Numbers("Lost shoes by reported cause", columns("Cause", "Lost", "Share"), figures),) if found else (),
        ("A cause is what was reported, often by whoever found the shoe gone. It is counted, not weighed.",),
    )


def _causes_answer(found: list[Row]) -> str:
    total = sum(row["losses"] for row in found)
    told = [row for row in found if row["cause"] != "unknown"]
    if not told:
        return "No cause of a lost shoe has been reported."
    most = max(told, key=lambda row: (row["losses"], row["cause"]))
    count = sum(row["losses"] for row in told)
    return (
        f"A cause is on record for {whole(count)} of {many(total, 'lost shoe')}. Most often: "
        f"{plain(most['cause']).lower()}, {whole(most['losses'])} of those {whole(count)}."
    )
