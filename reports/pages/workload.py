"""Workload: the season's visits, why they took place, and what lost shoes took."""

from collections import defaultdict
from datetime import timedelta

from reports.charts.workload import lost_shoe_time, visits_by_kind, visits_by_period
from reports.page import Numbers, Page, Section, columns
from reports.pages.call_outs import RESTS, none_made, on_record, took
from reports.picking import NOT_RECORDED, Results, Row, one, rows
from reports.wording import BLANK, FOR_OWN_EYES, day, level_name, listed, many, percent, resting, so_far, whole
from schemas.records import About

COUNTED = ("Visits", "For a lost shoe", "Shoes nailed on", "Feet trimmed", "Minutes", "Minutes for lost shoes", "km")
MOST_WEEKS = 60  # more bars than this are months
SUMMED = (
    "visits",
    "shoes_nailed",
    "feet_trimmed",
    "timed",
    "minutes",
    "charged",
    "fee",
    "driven",
    "travel_km",
    "lost_shoe_visits",
    "lost_shoe_timed",
    "lost_shoe_minutes",
)
OF_CALL_OUTS = "lost_shoe_minutes"


def workload(results: Results, about: About) -> Page:
    """The page of the season's work."""
    return Page(
        "workload.html",
        "Workload",
        f"The work of the season under review, {day(about.season_start)} to {day(about.season_stop)}"
        f"{so_far(about.season_start, about.season_stop, about.as_of)}. Weeks and months that reach over its edge are "
        f"counted whole. {FOR_OWN_EYES}",
        (_weeks(results, about), _kinds(results), _call_outs(results, about), _farriers(results, about)),
        ranges=False,
    )


def periods(results: Results, about: About, period: str, by: str = "starts_on") -> list[Row]:
    """The season's weeks or months, summed over farriers, or the farriers, summed over the season, in order."""
    groups: dict = defaultdict(list)
    for row in rows(results, "workload", period=period):
        if _within(row, about, period):
            groups[row[by]].append(row)
    return [{by: key, **{column: _sum(groups[key], column) for column in SUMMED}} for key in sorted(groups)]


def _within(row: Row, about: About, period: str) -> bool:
    start = row["starts_on"]
    stop = start + timedelta(days=7) if period == "week" else (start + timedelta(days=32)).replace(day=1)
    return start <= about.season_stop and stop > about.season_start


def _sum(found: list[Row], column: str) -> float | None:
    if column == OF_CALL_OUTS and any(row["lost_shoe_visits"] for row in found):
        found = [row for row in found if row["lost_shoe_visits"]]  # the 0 of a farrier without one is no minute told
    told = [row[column] for row in found if row[column] is not None]
    return sum(told) if told else None


def _weeks(results: Results, about: About) -> Section:
    weeks = periods(results, about, "week")
    period = "week" if len(weeks) <= MOST_WEEKS else "month"
    found = weeks if period == "week" else periods(results, about, "month")
    return Section(
        "How busy was the season?",
        _weeks_answer(results, found, period),
        (visits_by_period(found, period),) if found else (),
        (_numbers(found, period, on_record(results)),) if found else (),
        (RESTS,) if any(row[known] < row["visits"] for row in found for known in ("timed", "driven")) else (),
    )


def _weeks_answer(results: Results, found: list[Row], period: str) -> str:
    season = one(results, "season_review")
    if season is None or not season["visits"] or not found:
        return "No visit is on record in this season."
    busiest = max(found, key=lambda row: row["visits"])  # of equal ones the first, as on Season
    return (
        f"{many(season['visits'], 'visit')} to {many(season['horses'], 'horse')}, "
        f"{many(season['shoes_nailed'], 'shoe')} nailed on. The busiest {period} began on "
        f"{day(busiest['starts_on'])}, with {many(busiest['visits'], 'visit')}."
    )


def _numbers(found: list[Row], period: str, called: bool) -> Numbers:
    lines = [(day(row["starts_on"]), *_counts(row, called)) for row in found]
    return Numbers(f"Work by {period}", columns(f"{period.title()} of", *COUNTED), lines)


def _kinds(results: Results) -> Section:
    kinds = sorted(rows(results, "visit_kinds"), key=lambda row: (-row["visits"], row["visit_kind"]))
    lines = [
        (
            level_name("visit_kind", row["visit_kind"]),
            whole(row["visits"]),
            resting(row["minutes"], row["timed"], row["visits"]),
            resting(row["travel_km"], row["driven"], row["visits"]),
        )
        for row in kinds
    ]
    return Section(
        "Why were visits made?",
        _kinds_answer(kinds),
        (visits_by_kind(kinds),) if kinds else (),
        (Numbers("Visits of the season by kind", columns("Kind", "Visits", "Minutes", "km"), lines),) if kinds else (),
    )


def _kinds_answer(kinds: list[Row]) -> str:
    if not kinds:
        return "No visit is on record in this season."
    total = sum(row["visits"] for row in kinds)
    most = kinds[0]
    name = level_name("visit_kind", most["visit_kind"]).lower()
    return f"Most were “{name}”: {whole(most['visits'])} of {whole(total)}, {percent(most['visits'] / total)}."


def _call_outs(results: Results, about: About) -> Section:
    season = one(results, "season_review")
    months = periods(results, about, "month")
    told = [row for row in months if row["lost_shoe_minutes"]]
    untold = [f"{row['starts_on']:%B %Y}" for row in months if row["lost_shoe_visits"] and not row["lost_shoe_timed"]]
    return Section(
        "What did lost shoes take?",
        _call_outs_answer(season, results),
        (lost_shoe_time(months),) if told else (),
        notes=(
            "Call-outs for a lost shoe are counted as unpaid work: their minutes and their driving.",
            *(
                (f"No bar though there were call-outs, since none has its minutes: {listed(untold)}.",)
                if untold
                else ()
            ),
        ),
    )


def _call_outs_answer(season: Row | None, results: Results) -> str:
    if season is None or not season["lost_shoe_visits"]:
        return none_made(results, "No visit of the season was made for a lost shoe.")
    were = "was" if season["lost_shoe_visits"] == 1 else "were"
    text = f"{whole(season['lost_shoe_visits'])} of {many(season['visits'], 'visit')} {were} for a lost shoe"
    spent = took(season)
    return f"{text}: {' and '.join(spent)}, unpaid." if spent else f"{text}; their minutes are not on record."


def _farriers(results: Results, about: About) -> Section:
    found = sorted(
        periods(results, about, "month", by="farrier"),
        key=lambda row: (row["farrier"] == NOT_RECORDED, row["farrier"].casefold(), row["farrier"]),
    )
    named = [row for row in found if row["farrier"] != NOT_RECORDED]
    called = on_record(results)
    lines = [
        (row["farrier"], *_counts(row, called), resting(row["fee"], row["charged"], row["visits"])) for row in found
    ]
    return Section(
        "Who did what?",
        _farriers_answer(found, named),
        numbers=(Numbers("Work of the season’s months by farrier", columns("Farrier", *COUNTED, "Fees"), lines),)
        if found
        else (),
    )


def _farriers_answer(found: list[Row], named: list[Row]) -> str:
    if not found:
        return "No visit is on record in this season."
    if not named:
        return "No visit of the season says which farrier made it."
    if len(named) == 1:
        return "1 farrier at work."
    return (
        f"{whole(len(named))} farriers at work, in alphabetical order. Who sees which horses differs, so these counts "
        "rank nobody."
    )


def _counts(row: Row, called: bool) -> list[str]:
    """The cells of the columns COUNTED. called: whether call-outs are on record."""
    visits = row["visits"]
    return [
        whole(visits),
        whole(row["lost_shoe_visits"]) if called else BLANK,
        whole(row["shoes_nailed"]),
        whole(row["feet_trimmed"]),
        resting(row["minutes"], row["timed"], visits),
        resting(row["lost_shoe_minutes"], row["lost_shoe_timed"], row["lost_shoe_visits"]) if called else BLANK,
        resting(row["travel_km"], row["driven"], visits),
    ]
