"""The interval guide: what a booking at 4 to 10 weeks would cost in shoes, by kind of work and for one horse."""

from reports.charts.grid import Cell, grid
from reports.drawing import Chart
from reports.page import Numbers, Section, columns, table
from reports.picking import Results, Row, known, rows
from reports.wording import figure, level_name, many, percent, percent_span, sentence, whole

WEEKS = tuple(range(4, 11))
TITLE = "How many shoes would be lost between visits so far apart?"
GUIDE = (
    "Of a horse that is average for its work, with as many shoes on as is usual there. Each horse’s own guide is on "
    "its page. It says what the record so far would bring, not what will be. – : fewer than 10 shoes were followed so "
    "long."
)
FEWEST = 3  # with fewer horses a figure of a kind of work is one horse's
DRAWN = "From the ratio drawn toward 1 by how little is known of the horse."
ONE_INTERVAL = "A longer interval gives each shoe more days to come off in, but fewer intervals make up a year."


def guide_by_work(results: Results) -> Section:
    """The chance of losing at least one shoe, by kind of work and booking."""
    found = rows(results, "interval_guide", "discipline")
    shod = {row["level"]: row["horses"] for row in rows(results, "loss_rates", "discipline")}
    told = [row for row in known(found, "chance_of_a_loss") if shod.get(row["level"], 0) >= FEWEST]
    levels = sorted({row["level"] for row in told}, key=lambda level: (-_highest(told, level), level))
    return Section(
        TITLE,
        _answer(told, levels),
        (_picture(told, levels),) if levels else (),
        (_numbers(found, _all_levels(found, levels)), _in_a_year(found, _all_levels(found, levels))) if levels else (),
        (ONE_INTERVAL, GUIDE) if levels else (),
    )


def _all_levels(found: list[Row], drawn: list[str]) -> list[str]:
    """Those drawn, then those of too few horses to stand for a kind of work, where anything is told of them."""
    return [*drawn, *sorted({row["level"] for row in known(found, "chance_of_a_loss")} - {*drawn})]


def _highest(told: list[Row], level: str) -> float:
    """The chance at 8 weeks, or at the longest booking told."""
    return max((row["chance_of_a_loss"] for row in told if row["level"] == level and row["weeks"] <= 8), default=0.0)


def _answer(told: list[Row], levels: list[str]) -> str:
    if not levels:
        return "Too few shoes of too few horses have been lost, or followed for 4 weeks, to say."
    first, last = levels[0], levels[-1]
    text = f"In {_work(first)} the chance of losing at least one shoe before the next visit {_rise(told, first)}"
    text += "." if first == last else f"; in {_work(last)} it {_rise(told, last)}."
    return f"{text}{_over_a_year([row for row in told if row['level'] == first], f' In {_work(first)}')}"


def _rise(told: list[Row], level: str) -> str:
    short, long = _ends([row for row in told if row["level"] == level])
    if short is long:
        return f"is {percent(short['chance_of_a_loss'])} at {short['weeks']} weeks"
    return (
        f"goes from {percent(short['chance_of_a_loss'])} at {short['weeks']} weeks to "
        f"{percent(long['chance_of_a_loss'])} at {long['weeks']}"
    )


def _ends(told: list[Row]) -> tuple[Row, Row]:
    """The shortest booking told, and 8 weeks or the longest before it."""
    own = sorted((row for row in told if row["weeks"] <= 8), key=lambda row: row["weeks"])
    return own[0], own[-1]


def _over_a_year(told: list[Row], where: str) -> str:
    """What the two bookings come to in a year: two short intervals may lose more than a long one."""
    short, long = _ends(told)
    if short is long:
        return ""
    return (
        f"{where} a whole year so booked would lose {figure(short['losses_per_year'])} shoes at {short['weeks']} weeks "
        f"and {figure(long['losses_per_year'])} at {long['weeks']}."
    )


def _work(level: str) -> str:
    return level_name("discipline", level).lower()


def _picture(told: list[Row], levels: list[str]) -> Chart:
    most = max(row["chance_of_a_loss"] for row in told) or 1
    cell = {(row["level"], row["weeks"]): row for row in told}
    lines = [
        (level_name("discipline", level), [_cell(cell.get((level, weeks)), most) for weeks in WEEKS])
        for level in levels
    ]
    said = "; ".join(f"{_work(level)} {_rise(told, level)}" for level in levels)
    return Chart(
        "guide",
        grid("weeks between visits", [str(weeks) for weeks in WEEKS], lines),
        f"Chance of losing at least one shoe by booking interval: {said}.",
        "Each figure is the chance of losing at least one shoe before a visit so many weeks on. The stronger the "
        "tint, the higher.",
    )


def _cell(row: Row | None, most: float) -> Cell | None:
    if row is None:
        return None
    written = percent(row["chance_of_a_loss"]).replace("under ", "<")
    return Cell(written, row["chance_of_a_loss"] / most)


def _numbers(found: list[Row], levels: list[str]) -> Numbers:
    cell = {(row["level"], row["weeks"]): row for row in found}
    note = {row["level"]: sentence(row["note"]) for row in reversed(found)}
    shoes = {row["level"]: whole(row["shoes_at_once"]) for row in found}
    lines = [
        (
            level_name("discipline", level),
            shoes[level],
            *[_written(cell.get((level, weeks))) for weeks in WEEKS],
            note[level],
        )
        for level in levels
    ]
    heads = ("Work", "Shoes at once", *[many(weeks, "week") for weeks in WEEKS], "Note *")
    return table("Chance of losing at least one shoe, with its likely range", heads, lines)


def _written(row: Row | None) -> str:
    if row is None or row["chance_of_a_loss"] is None:
        return "–"
    return percent(row["chance_of_a_loss"]) + (
        "" if row["low"] is None else f" ({percent_span(row['low'], row['high'])})"
    )


def _in_a_year(found: list[Row], levels: list[str]) -> Numbers:
    cell = {(row["level"], row["weeks"]): row["losses_per_year"] for row in found}
    lines = [
        (level_name("discipline", level), *[figure(cell.get((level, weeks))) for weeks in WEEKS]) for level in levels
    ]
    heads = ("Work", *[many(weeks, "week") for weeks in WEEKS])
    return table("Shoes lost in a year if every interval were so long", heads, lines)


def guide_of_horse(found: list[Row]) -> Section | None:
    """The same for one horse: found are its rows of the guide."""
    found = sorted(found, key=lambda row: row["weeks"])
    told = known(found, "chance_of_a_loss")
    if not found:
        return None
    if not told:
        return Section(TITLE, sentence(found[0]["note"]))
    lines = [
        (
            many(row["weeks"], "week"),
            percent(row["chance_of_a_loss"]),
            percent_span(row["low"], row["high"]),
            figure(row["expected_losses"], 2),
            figure(row["losses_per_year"]),
        )
        for row in told
    ]
    heads = columns("Booked in", "Chance of a loss", "Likely", "Expected", "In a year")
    notes = (sentence(told[0]["note"]), _not_followed(found), DRAWN, ONE_INTERVAL)
    return Section(
        TITLE,
        f"With {many(told[0]['shoes_at_once'], 'shoe')} on, the chance of losing at least one before the next visit "
        f"{_with_ranges(*_ends(told))}.{_over_a_year(told, ' For this horse')}",
        numbers=(Numbers("By booking interval", heads, lines),),
        notes=tuple(note for note in notes if note),
    )


def _not_followed(found: list[Row]) -> str:
    """Why the longer bookings are missing."""
    missing = [row for row in found if row["chance_of_a_loss"] is None]
    if not missing:
        return ""
    return f"{many(missing[0]['weeks'], 'week')} and more: {missing[0]['note']}."


def _with_ranges(short: Row, long: Row) -> str:
    def said(row: Row) -> str:
        return f"{percent(row['chance_of_a_loss'])} at {many(row['weeks'], 'week')}{_likely(row)}"

    return f"is {said(short)}" if short is long else f"goes from {said(short)} to {said(long)}"


def _likely(row: Row) -> str:
    return "" if row["low"] is None else f" (likely {percent_span(row['low'], row['high'])})"
