"""The sections on the season's weeks, days and minutes."""

from reports.charts.season import day_loads, minutes_by_work
from reports.page import Numbers, Section, columns, table
from reports.picking import NOT_RECORDED, Results, Row, everything, known, rows
from reports.wording import day, level_name, many, percent, resting, sentence, span, whole
from schemas.records import About

LOADS = (6, 8, 10)
A_DAY = "A day is one of one farrier: two who work on the same day have two. Call-outs count."
ANYBODYS_DAY = "No visit says which farrier made it, so a day is one whoever worked on it. Call-outs count."


def busiest(results: Results) -> Section | None:
    """The weeks with the most visits."""
    found = sorted(rows(results, "busiest_weeks"), key=lambda row: (-row["visits"], row["starts_on"]))
    if not found:
        return None
    first = found[0]
    lines = [
        (
            day(row["starts_on"]),
            whole(row["visits"]),
            whole(row["horses"]),
            whole(row["days_worked"]),
            resting(row["minutes"], row["timed"], row["visits"]),
        )
        for row in found
    ]
    heads = columns("Week of", "Visits", "Horses", "Days with a visit", "Minutes")
    return Section(
        "Which weeks were the busiest?",
        f"The week of {day(first['starts_on'])}, with {many(first['visits'], 'visit')} on "
        f"{many(first['days_worked'], 'day')}.",
        numbers=(Numbers("Weeks with the most visits", heads, lines),),
        notes=("Every week of the season is on the page Workload.",),
    )


def day_load(results: Results, about: About) -> Section | None:
    """How many horses a farrier saw a day, and on how many days more than the load chosen, or than 6, 8 and 10."""
    found = {which: _loads(results, which) for which in ("this", "before")}
    if not found["this"]:
        return None
    chosen = about.day_load
    work = rows(results, "workload")
    named = not work or any(row["farrier"] != NOT_RECORDED for row in work)
    note = (
        ()
        if chosen
        else ("No load has been chosen: “shoeing publish … --day-load 7” counts the days with more than 7.",)
    )
    return Section(
        "How full were the days?",
        _load_answer(found["this"], chosen, " of a farrier" if named else ""),
        (day_loads(found["this"], chosen),),
        (_load_numbers(found, (chosen,) if chosen else LOADS),),
        (A_DAY if named else ANYBODYS_DAY, *note),
    )


def _loads(results: Results, which: str) -> dict[int, int]:
    return {row["horses_a_day"]: row["farrier_days"] for row in rows(results, "day_loads", which=which)}


def _over(loads: dict[int, int], load: int) -> int:
    return sum(days for horses, days in loads.items() if horses > load)


def _load_answer(loads: dict[int, int], chosen: int | None, whose: str) -> str:
    days = sum(loads.values())
    most = max(loads)
    full = f" The fullest had {many(most, 'horse')}."
    if chosen:
        over = _over(loads, chosen)
        count, share = (whole(over), f", {percent(over / days)}") if over else ("None", "")
        return f"{count} of {many(days, 'day')} held more than {many(chosen, 'horse')}{share}.{full}"
    if not _over(loads, LOADS[0]):
        return f"None of {many(days, 'day')}{whose} held more than {LOADS[0]} horses.{full}"
    said = ", ".join(f"more than {load} on {_share(_over(loads, load), days)}" for load in LOADS)
    return f"Of {many(days, 'day')}{whose}: {said}.{full}"


def _share(over: int, days: int) -> str:
    return percent(over / days) if over else "none"


def _load_numbers(found: dict[str, dict[int, int]], loads: tuple[int, ...]) -> Numbers:
    lines = []
    for load in loads:
        cells = [whole(_over(found[which], load)) for which in ("this", "before")]
        shares = [_of(found[which], load) for which in ("this", "before")]
        lines.append((f"More than {load}", cells[0], shares[0], cells[1], shares[1]))
    heads = columns("Horses a day", "Days, this season", "Share", "Days, before", "Share")
    return Numbers("Days over a load, in both seasons", heads, lines)


def _of(loads: dict[int, int], load: int) -> str:
    return percent(_over(loads, load) / sum(loads.values())) if loads else "–"


def minutes(results: Results) -> Section | None:
    """How long visits take, by the work done and by how the horse stood."""
    every = everything(results, "visit_minutes")
    if every is None:
        return None
    by_work = _longest_first(rows(results, "visit_minutes", "work_done"))
    by_handling = sorted(rows(results, "visit_minutes", "handling"), key=_by_handling)
    drawn = [row for row in known(by_work, "median_minutes") if not row["note"]]
    return Section(
        "How long does a visit take?",
        _minutes_answer(every, drawn),
        (minutes_by_work(drawn),) if drawn else (),
        (_minutes_numbers("Work done", by_work), _minutes_numbers("How it stood", by_handling)),
        ("How a horse stands: 1 easy to 5 not safe to finish. Horses that stand badly may get other work, too.",),
    )


def _longest_first(found: list[Row]) -> list[Row]:
    return sorted(found, key=lambda row: (row["median_minutes"] is None, -(row["median_minutes"] or 0), row["level"]))


def _by_handling(row: Row) -> tuple[bool, str]:
    return row["level"] == NOT_RECORDED, row["level"]


def _minutes_answer(every: Row, drawn: list[Row]) -> str:
    if every["median_minutes"] is None:
        return "No visit of the season has its minutes on record."
    text = (
        f"Half of {many(every['timed'], 'visit')} with minutes on record took "
        f"{many(every['median_minutes'], 'minute')} or less."
    )
    if len(drawn) < 2:
        return text
    longest, shortest = drawn[0], drawn[-1]
    return (
        f"{text} Longest with “{longest['level']}”, half by {many(longest['median_minutes'], 'minute')}; shortest with "
        f"“{shortest['level']}”, half by {whole(shortest['median_minutes'])}."
    )


def _minutes_numbers(head: str, found: list[Row]) -> Numbers:
    dimension = found[0]["dimension"] if found else ""
    lines = [
        (
            level_name(dimension, row["level"]),
            whole(row["median_minutes"]),
            span(row["p25_minutes"], row["p75_minutes"], 0),
            whole(row["timed"]),
            whole(row["visits"]),
            sentence(row["note"]),
        )
        for row in found
    ]
    heads = (head, "Half by, minutes", "Middle half", "With minutes", "Visits", "Note *")
    faint = [place for place, row in enumerate(found) if row["note"]]
    return table(f"Minutes of a visit by {head.lower()}", heads, lines, faint)
