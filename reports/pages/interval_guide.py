"""The interval guide: what a booking at 4 to 10 weeks would cost in shoes, by kind of work and for one horse."""

from reports.charts.grid import Cell, grid
from reports.drawing import Chart
from reports.page import Numbers, Section, columns, table
from reports.picking import Results, Row, known, rows
from reports.wording import figure, level_name, many, percent, percent_span, sentence, whole

WEEKS = tuple(range(4, 11))
GUIDE = (
    "Of a horse that is average for its work, with as many shoes on as is usual there. Each horse’s own guide is on "
    "its page. It says what the record so far would bring, not what will be."
)


def guide_by_work(results: Results) -> Section:
    """The chance of losing at least one shoe, by kind of work and booking."""
    found = rows(results, "interval_guide", "discipline")
    told = known(found, "chance_of_a_loss")
    levels = sorted({row["level"] for row in told}, key=lambda level: (-_at(told, level, 8), level))
    return Section(
        "What would a longer interval cost in shoes?",
        _answer(told, levels),
        (_picture(told, levels),) if levels else (),
        (_numbers(found, levels),) if levels else (),
        (GUIDE,),
    )


def _at(told: list[Row], level: str, weeks: int) -> float:
    return next((row["chance_of_a_loss"] for row in told if (row["level"], row["weeks"]) == (level, weeks)), 0.0)


def _answer(told: list[Row], levels: list[str]) -> str:
    if not levels:
        return "Too few shoes have been lost to say what a longer interval would cost."
    first, last = levels[0], levels[-1]
    text = f"In {_work(first)} the chance of losing at least one shoe before the next visit {_rise(told, first)}"
    return f"{text}." if first == last else f"{text}; in {_work(last)} it {_rise(told, last)}."


def _rise(told: list[Row], level: str) -> str:
    four, eight = (_at(told, level, weeks) for weeks in (4, 8))
    return f"goes from {percent(four)} at 4 weeks to {percent(eight)} at 8"


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
    note = {row["level"]: sentence(row["note"]) for row in found}
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
    return f"{percent(row['chance_of_a_loss'])} ({percent_span(row['low'], row['high'])})"


def guide_of_horse(found: list[Row]) -> Section | None:
    """The same for one horse: found are its rows of the guide."""
    found = sorted(found, key=lambda row: row["weeks"])
    told = known(found, "chance_of_a_loss")
    if not found:
        return None
    if not told:
        return Section("What would a longer interval cost in shoes?", sentence(found[0]["note"]))
    at = {row["weeks"]: row for row in told}
    four, eight = at[4], at[8]
    lines = [
        (
            many(row["weeks"], "week"),
            percent(row["chance_of_a_loss"]),
            percent_span(row["low"], row["high"]),
            figure(row["expected_losses"], 2),
        )
        for row in told
    ]
    return Section(
        "What would a longer interval cost in shoes?",
        f"With {many(four['shoes_at_once'], 'shoe')} on, the chance of losing at least one before the next visit goes "
        f"from {percent(four['chance_of_a_loss'])} at 4 weeks (likely {percent_span(four['low'], four['high'])}) to "
        f"{percent(eight['chance_of_a_loss'])} at 8 (likely {percent_span(eight['low'], eight['high'])}).",
        numbers=(
            Numbers("By booking interval", columns("Booked in", "Chance of a loss", "Likely", "Expected"), lines),
        ),
        notes=tuple(
            note
            for note in (sentence(four["note"]), "From the ratio drawn toward 1 by how little is known of the horse.")
            if note
        ),
    )
