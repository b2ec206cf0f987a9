"""Lost shoes: how long shoes stay on, and where they come off more often."""

from reports.charts.loss_causes import loss_causes
from reports.charts.retention import drawable_days, retention_all, retention_ends, retention_small
from reports.charts.share_lost_by_weeks import share_lost_by_weeks
from reports.page import Numbers, Page, Section, columns
from reports.pages.loss_rates import rate_sections
from reports.picking import Results, Row, everything, known, one, rows
from reports.wording import figure, level_name, many, percent, percent_span, plain, sentence, whole
from schemas.records import About

MOST_SMALL = 8
WEEKS = tuple(range(4, 11))
UNPUBLISHED = (
    "Nothing peer-reviewed gives the chance of losing a shoe day by day: there is no published figure to hold these "
    "against, only your own record from year to year."
)


def lost_shoes(results: Results, about: About) -> Page:
    """The page of lost shoes, over the whole record."""
    sections = [_stay(results), _booking(results), *rate_sections(results, first=True), _ends(results)]
    sections += [_kinds(results), *rate_sections(results, first=False), _causes(results)]
    return Page(
        "lost-shoes.html",
        "Lost shoes",
        "How long shoes stay on, and on which work, feet and shoes they come off more often. All figures here are of "
        "the whole record. What goes together need not be the cause.",
        tuple(section for section in sections if section),
        remarks=(UNPUBLISHED,),
    )


def _stay(results: Results) -> Section:
    curve, weeks = rows(results, "retention", "all"), rows(results, "share_lost_by_weeks", "all")
    figures = [(many(row["weeks"], "week"), *_share(row), whole(row["at_risk"])) for row in weeks]
    heads = ("By", "Lost", "Likely", "Shoes still followed")
    return Section(
        "How long do shoes stay on?",
        _stay_answer(results, weeks),
        (retention_all(curve),) if drawable_days(curve) else (),
        (Numbers("All shoes: share lost by week", columns(*heads), figures),) if weeks else (),
        (_until_now(results),),
    )


def _stay_answer(results: Results, weeks: list[Row]) -> str:
    told = [row for row in known(weeks, "share_lost") if row["weeks"] in (6, 8)]
    if not told:
        return "Too few shoes have been followed for six weeks to say." + _note(weeks)
    parts = [f"{percent(row['share_lost'])} are lost within {row['weeks']} weeks{_likely(row)}" for row in told]
    return f"Of all shoes nailed on, {' and '.join(parts)}."


def _note(found: list[Row]) -> str:
    return next((f" {sentence(row['note'])}" for row in found if row["note"]), "")


def _likely(row: Row) -> str:
    return "" if row["low"] is None else f" (likely {percent_span(row['low'], row['high'])})"


def _share(row: Row) -> tuple[str, str]:
    return percent(row["share_lost"]), percent_span(row["low"], row["high"])


def _until_now(results: Results) -> str:
    every = everything(results, "loss_rates")
    if every is None or not every["shoes"]:
        return "No shoe is on record yet."
    rate = f" – {figure(every['per_1000_days'])} for every 1,000 days with a shoe on" if every["per_1000_days"] else ""
    return (
        f"{many(every['shoes'], 'shoe')} on {many(every['horses'], 'horse')}: {whole(every['losses'])} lost{rate}. "
        "A shoe renewed or taken off counts as kept up to that day and is then no longer followed."
    )


def _booking(results: Results) -> Section:
    found = rows(results, "share_lost_by_weeks", "discipline")
    levels = sorted({row["level"] for row in found}, key=lambda level: (-_eight(found, level), level))
    drawn = [(level, known([row for row in found if row["level"] == level], "share_lost")) for level in levels]
    drawn = [(level, cells) for level, cells in drawn if cells]
    everyone = known(rows(results, "share_lost_by_weeks", "all"), "share_lost")
    grid = ([("all", everyone)] if everyone else []) + drawn
    return Section(
        "How many are lost if I book every 4 to 10 weeks?",
        _booking_answer(found),
        (share_lost_by_weeks(grid),) if grid else (),
        (_booking_numbers(found, levels),) if levels else (),
    )


def _eight(found: list[Row], level: str) -> float:
    return next((row["share_lost"] or 0 for row in found if row["level"] == level and row["weeks"] == 8), 0)


def _booking_answer(found: list[Row]) -> str:
    eight = [row for row in known(found, "share_lost") if row["weeks"] == 8]
    if len(eight) < 2:
        return "Too few shoes have been followed for 8 weeks to compare kinds of work." + _note(found)
    most = max(eight, key=lambda row: (row["share_lost"], row["level"]))
    least = min(eight, key=lambda row: (row["share_lost"], row["level"]))
    return (
        f"By 8 weeks the share lost runs from {percent(least['share_lost'])} in {_work(least)} to "
        f"{percent(most['share_lost'])} in {_work(most)}."
    )


def _work(row: Row) -> str:
    return level_name("discipline", row["level"]).lower()


def _booking_numbers(found: list[Row], levels: list[str]) -> Numbers:
    cell = {(row["level"], row["weeks"]): row for row in found}
    lines = []
    for level in levels:
        told = [cell.get((level, week)) for week in WEEKS]
        lines.append((level_name("discipline", level), *[_with_range(row) for row in told]))
    heads = columns("Work", *[f"{week} weeks" for week in WEEKS])
    return Numbers("Share of shoes lost by booking interval, with the likely range", heads, lines)


def _with_range(row: Row | None) -> str:
    if row is None or row["share_lost"] is None:
        return "–"
    return percent(row["share_lost"]) + ("" if row["low"] is None else f" ({percent_span(row['low'], row['high'])})")


def _ends(results: Results) -> Section | None:
    front, hind = (rows(results, "retention", "end", level=end) for end in ("front", "hind"))
    if not (drawable_days(front) and drawable_days(hind)):
        return None
    return Section(
        "Do front shoes stay on as long as hind shoes?",
        f"{_by_six('Front', results, 'front')} {_by_six('Hind', results, 'hind')}{_chance(results, 'end')}",
        (retention_ends(front, hind),),
        (_weeks_numbers(results, "end", ["front", "hind"]),),
    )


def _by_six(name: str, results: Results, end: str) -> str:
    row = one(results, "share_lost_by_weeks", dimension="end", level=end, weeks=6)
    if row is None or row["share_lost"] is None:
        return f"{name} feet: too few followed for 6 weeks to say."
    return f"{name} feet: {percent(row['share_lost'])} lost within 6 weeks{_likely(row)}."


def _weeks_numbers(results: Results, dimension: str, levels: list[str]) -> Numbers:
    found = rows(results, "share_lost_by_weeks", dimension)
    lines = [
        (level_name(dimension, row["level"]), str(row["weeks"]), *_share(row), whole(row["at_risk"]))
        for level in levels
        for row in found
        if row["level"] == level
    ]
    return Numbers("Share lost by week", columns("Feet", "Weeks", "Lost", "Likely", "Shoes still followed"), lines)


def _chance(results: Results, dimension: str) -> str:
    test = one(results, "retention_tests", dimension=dimension)
    if test is None or test["p_value"] is None:
        return ""
    if test["p_value"] < 0.001:
        return " Were there no true difference, curves this far apart would come up less than once in 1,000 times."
    return (
        " Were there no true difference, curves at least this far apart would still come up "
        f"{figure(100 * test['p_value'], 0 if test['p_value'] >= 0.01 else 1)} times in 100."
    )


def _kinds(results: Results) -> Section | None:
    found = rows(results, "retention", "discipline")
    curves = {level: [row for row in found if row["level"] == level] for level in {row["level"] for row in found}}
    shod = {row["level"]: row["shoes"] for row in rows(results, "loss_rates", "discipline")}
    levels = sorted(curves, key=lambda level: (-shod.get(level, 0), level))
    drawn = [(level, curves[level]) for level in levels if drawable_days(curves[level])][:MOST_SMALL]
    if not drawn:
        return None
    return Section(
        "How long do shoes stay on in each kind of work?",
        "One picture a kind of work, those with the most shoes first. Up: share of shoes lost; across: weeks since "
        "nailed on; band: where the true share likely lies; grey: all shoes." + _chance(results, "discipline"),
        retention_small(drawn, rows(results, "retention", "all")),
        notes=(_left_out(len(levels) - len(drawn)),) if len(levels) > len(drawn) else (),
    )


def _left_out(count: int) -> str:
    return f"{many(count, 'kind', 'kinds')} of work with fewer shoes not drawn; the tables above have all."


def _causes(results: Results) -> Section:
    told_last = ("other", "unknown")
    found = sorted(
        rows(results, "loss_causes"), key=lambda row: (row["cause"] in told_last, -row["losses"], row["cause"])
    )
    figures = [(plain(row["cause"]), whole(row["losses"]), percent(row["cause_share"])) for row in found]
    return Section(
        "What pulled them?",
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
