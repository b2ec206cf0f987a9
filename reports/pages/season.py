"""Season: the season under review beside the one before it, its days, its horses and the weeks to come."""

from datetime import timedelta

from reports.page import Numbers, Page, Section, columns
from reports.pages.call_outs import RESTS, none_made, on_record, took
from reports.pages.season_days import busiest, day_load, minutes
from reports.pages.season_horses import to_come, turnover
from reports.picking import NOT_RECORDED, Results, Row, one, rows
from reports.wording import BLANK, FOR_OWN_EYES, day, figure, many, resting, so_far, span, whole
from schemas.records import About

BEFORE = "The season before is the stretch of the same length that ends the day before."
OTHER_PART = (
    "The season before is the time just before, so another part of the year: weather and ground differ with it."
)
SHORT_DAYS = 300  # a season under 10 months does not go round the year
RUNS = "While this one runs, only as many days of the season before are counted, from its first day on."
UNPAID = (
    "Minutes are those at the horse. What else that time would have earned is not guessed. Fees are in the practice’s "
    "own currency, as written down."
)


def season(results: Results, about: About) -> Page:
    """The page of the season's review. It names horses that came or went, so it carries the cautions."""
    made = [_compared(results, about), busiest(results), day_load(results, about), minutes(results)]
    made += [_call_outs(results), turnover(results, about), to_come(results), _elsewhere(results, about)]
    return Page(
        "season.html",
        "Season",
        f"The season from {day(about.season_start)} to {day(about.season_stop)}"
        f"{so_far(about.season_start, about.season_stop, about.as_of)}, beside the one before it. {FOR_OWN_EYES}",
        tuple(section for section in made if section),
        names_horses=bool(rows(results, "horse_turnover")),
    )


def _both(results: Results) -> tuple[Row | None, Row | None]:
    return one(results, "season_compare", which="this"), one(results, "season_compare", which="before")


def _compared(results: Results, about: About) -> Section:
    this, before = _both(results)
    runs = about.season_start <= about.as_of < about.season_stop
    short = (about.season_stop - about.season_start).days + 1 < SHORT_DAYS
    told = [("This season", this), ("The season before", before)] if this and before and this["visits"] else []
    notes = [f"{name}: {row['note']}." for name, row in told if row["note"]]
    partial = any(row[known] < row["visits"] for _, row in told for known in ("timed", "driven", "charged"))
    return Section(
        "How was it beside the season before?",
        _compared_answer(this, before, about if runs else None),
        numbers=(_compared_numbers(this, before, on_record(results)),) if told else (),
        notes=(
            BEFORE,
            *((OTHER_PART,) if short else ()),
            *((RUNS,) if runs else ()),
            *notes,
            *((RESTS,) if partial else ()),
        ),
    )


def _compared_answer(this: Row | None, before: Row | None, running: About | None) -> str:
    if this is None or before is None or not this["visits"]:
        return "No visit is on record in this season."
    text = _runs(this, running) if running else ""
    text += (
        f"{many(this['visits'], 'visit')} to {many(this['horses'], 'horse')} on {many(this['days_worked'], 'day')}, "
        f"{many(this['losses'], 'shoe')} lost."
    )
    if not before["visits"]:
        return f"{text} No visit is on record in the season before, so there is nothing to set it beside."
    text += f" Before: {whole(before['visits'])} to {whole(before['horses'])} on {whole(before['days_worked'])}, "
    text += f"{whole(before['losses'])} lost."
    return (
        f"{text} {_ratio(this)}"
        if this["ratio"] is not None
        else f"{text} Too few were lost to set one rate beside the other."
    )


def _runs(this: Row, about: About) -> str:
    days, whole_season = ((stop - this["start"]).days + 1 for stop in (this["stop"], about.season_stop))
    return (
        f"The season still runs: its first {many(days, 'day')} of {whole(whole_season)} stand beside as many first "
        "days of the one before. "
    )


def _ratio(this: Row) -> str:
    times = f"For every day with a shoe on {figure(this['ratio'], 2)} times as many were lost as before"
    if this["ratio_low"] is None:
        return f"{times}; too few horses lost them to tell how sure that is."
    chance = this["ratio_low"] <= 1 <= this["ratio_high"]
    return f"{times} (likely {span(this['ratio_low'], this['ratio_high'], 2)}): " + (
        "the range holds 1, so this may be chance." if chance else "the range leaves out 1."
    )


def _compared_numbers(this: Row, before: Row, called: bool) -> Numbers:
    told = {name: tell for name, tell in COMPARED.items() if called or name != CALL_OUTS}
    lines = [(name, tell(this), tell(before)) for name, tell in told.items()]
    heads = columns("What", "This season", "Before")
    return Numbers("The season beside the one before", heads, lines, open=True)


def _plain(column: str):
    return lambda row: whole(row[column])


def _sum(column: str, known: str):
    return lambda row: resting(row[column], row[known], row["visits"])


CALL_OUTS = "Call-outs for a lost shoe"
COMPARED = {
    "From": lambda row: day(row["start"]),
    "To": lambda row: day(row["stop"]),
    "Visits": _plain("visits"),
    "Horses": _plain("horses"),
    "Days with a visit": _plain("days_worked"),
    "Hours at the horse": lambda row: (
        BLANK if row["minutes"] is None else resting(row["minutes"] / 60, row["timed"], row["visits"])
    ),
    "Driven, km": _sum("travel_km", "driven"),
    "Shoes nailed on": _plain("shoes_nailed"),
    "Shoes lost": _plain("losses"),
    "Days with a shoe on": _plain("shoe_days"),
    "Lost per 1,000 of these days": lambda row: figure(row["per_1000_days"], 2),
    "Likely": lambda row: span(row["low"], row["high"], 2),
    "Intervals that ended": _plain("intervals"),
    "Middle interval, days": lambda row: figure(row["median_days"]),
    CALL_OUTS: _plain("lost_shoe_visits"),
    "Fees charged": _sum("fee", "charged"),
}


def _call_outs(results: Results) -> Section | None:
    this, before = _both(results)
    if this is None or before is None or not this["visits"]:
        return None
    called = on_record(results)
    lines = [(name, *_took(row)) for name, row in (("This season", this), ("Before", before))] if called else []
    heads = columns("Season", "Call-outs", "Minutes", "Driven, km", "Fees charged")
    return Section(
        "What did call-outs for lost shoes take?",
        _call_outs_answer(this, results),
        numbers=(Numbers("Call-outs for a lost shoe in both seasons", heads, lines),) if called else (),
        notes=(UNPAID,) if called else (),
    )


def _took(row: Row) -> tuple[str, ...]:
    visits = row["lost_shoe_visits"]
    sums = (("lost_shoe_minutes", "timed"), ("lost_shoe_km", "driven"), ("lost_shoe_fee", "charged"))
    return whole(visits), *(resting(row[column], row[f"lost_shoe_{known}"], visits) for column, known in sums)


def _call_outs_answer(this: Row, results: Results) -> str:
    if not this["lost_shoe_visits"]:
        return none_made(results, "No visit of the season was made for a lost shoe.")
    spent = took(this)
    text = many(this["lost_shoe_visits"], "call-out")
    text += f" took {' and '.join(spent)}" if spent else " with neither minutes nor kilometres on record"
    if this["lost_shoe_fee"] is None:
        return f"{text}; no fee for them is on record."
    charged, visits = this["lost_shoe_charged"], this["lost_shoe_visits"]
    whom = "them" if charged >= visits else f"the {whole(charged)} with a fee on record"
    return f"{text}; {whole(this['lost_shoe_fee']) if this['lost_shoe_fee'] else 'nothing'} was charged for {whom}."


def _elsewhere(results: Results, about: About) -> Section | None:
    """One survey of full-time farriers beside the practice's own weeks."""
    own = [
        row
        for row in rows(results, "workload", period="week")
        if row["starts_on"] >= about.season_start
        and row["starts_on"] + timedelta(days=6) <= min(about.season_stop, about.as_of)
    ]
    if not own:
        return None
    horses, timed = sum(row["horses"] for row in own) / len(own), [row for row in own if row["minutes"] is not None]
    taken = sum(row["minutes"] for row in timed) / len(timed) / 60 if timed else None
    whose = "a farrier’s week" if any(row["farrier"] != NOT_RECORDED for row in own) else "a week"
    lines = [
        (f"Here, {whose} with work", figure(horses), figure(taken), f"{whole(len(own))} weeks", "The record"),
        ("Full-time farriers", "40", "42", "695 farriers", "A trade survey, quoted elsewhere"),
    ]
    heads = columns("Whose week", "Horses", "Hours", "Rests on *", "From *")
    return Section(
        "What is a farrier’s week elsewhere?",
        f"Here {whose} with work held {figure(horses)} horses on average"
        + ("" if taken is None else f" and {figure(taken)} hours at the horse")
        + "; a survey of full-time farriers found 40 horses and 42 hours.",
        numbers=(Numbers("A farrier’s week: here, and what others measured", heads, lines),),
        notes=(
            "Hours here are minutes written down at the horse, without the driving; the survey’s hours may hold more. "
            "The survey was not read, only quoted elsewhere.",
        ),
    )
