"""The section on the intervals of one horse: agreed beside done, whether it slips, and when it is due."""

from datetime import date

from reports.charts.horse_rounds import horse_rounds
from reports.page import Numbers, Section, columns
from reports.picking import Row
from reports.wording import BLANK, day, days_and_weeks, figure, many, percent, weeks, whole

LATE = "Late: more than 7 days past the day agreed. Call-outs for a lost shoe do not end an interval."
DRAWN = "Its trend is drawn toward that of all horses by how little is known of it."


def intervals_of_horse(
    rounds: list[Row], summary: list[Row], trend: list[Row], due: list[Row], last: date
) -> Section | None:
    """Rows of one horse: horse_rounds, horse_intervals, lateness_trend, due_list. last: the as-of date."""
    if not summary and not due:
        return None
    chart = horse_rounds(rounds, last)
    told = [*map(_summary, summary), *map(_trend, trend), *map(_due, due)]
    drawn = bool(trend) and trend[0]["days_later_per_year"] is not None
    return Section(
        "Does it come when it was agreed, and when is it due?",
        " ".join(told),
        (chart,) if chart else (),
        (_numbers(rounds),) if rounds else (),
        (LATE, DRAWN) if drawn else (LATE,) if rounds else (),
    )


def _summary(row: Row) -> str:
    text = f"{many(row['intervals'], 'interval')}, half of them {days_and_weeks(row['median_days'])} or shorter"
    if row["intervals"] == 1:
        text = f"One interval on record, of {days_and_weeks(row['median_days'])}"
    if not row["intervals_planned"]:
        return f"{text}; none had a plan."
    return (
        f"{text}. Agreed were {figure(row['planned_days'])} days on average and they took "
        f"{figure(row['done_days'])}; {percent(row['late_share'])} of {whole(row['intervals_planned'])} with a plan "
        "ran late."
    )


def _trend(row: Row) -> str:
    later = row["days_later_per_year"]
    if later is None:
        return f"Whether it comes later and later cannot be told: {row['note']}."
    way = "later" if later >= 0 else "earlier"
    text = f"{figure(abs(later))} days {way} each year (likely {_years(row['low'])} to {_years(row['high'])})"
    sure = "It comes later and later" if row["slipping"] else "That it comes later and later is not sure"
    return f"{sure}: {text}."


def _years(days: float) -> str:
    return f"{figure(abs(days))} {'later' if days >= 0 else 'earlier'}"


def _due(row: Row) -> str:
    if row["silent"]:
        return f"Last seen on {day(row['last_visit_on'])}, over 26 weeks ago: it may have left."
    if row["due_on"] is None:
        return f"When it is due cannot be told: {row['note']}."
    when = f"is due on {day(row['due_on'])}"
    if row["days_overdue"] > 0:
        when = f"was due on {day(row['due_on'])}, {many(row['days_overdue'], 'day')} ago"
    by = "" if row["planned_weeks"] is not None else f" ({row['note']})"
    return f"It {when}{by}. {_chance(row)}"


def _chance(row: Row) -> str:
    if row["shoes_on"] is None:
        return f"Whether its shoes are still on is not known: {row['chance_note']}."
    if not row["shoes_on"]:
        return "No shoe is on, as far as is known."
    if row["chance_lost"] is None:
        return f"How likely a shoe is lost meanwhile cannot be told: {row['chance_note']}."
    until = "before then" if row["days_overdue"] <= -7 else "in the next 7 days"
    which = "its one shoe" if row["shoes_on"] == 1 else f"one of its {whole(row['shoes_on'])} shoes"
    return f"The chance that {which} is lost {until} is {percent(row['chance_lost'])}."


def _numbers(rounds: list[Row]) -> Numbers:
    lines = [
        (
            day(row["to_date"]),
            whole(row["days"]),
            BLANK if row["planned_weeks"] is None else weeks(row["planned_weeks"]),
            figure(row["days_late"], 0),
        )
        for row in reversed(rounds)
    ]
    heads = columns("Ended on", "Days", "Agreed *", "Days late")
    return Numbers("Its intervals, the latest first", heads, lines)
