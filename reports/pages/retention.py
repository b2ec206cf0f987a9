"""The sections on how long shoes stay on: all shoes, front and hind, each kind of work, and how far curves differ."""

from reports.charts.retention import (
    drawable_days,
    lost_on,
    retention_all,
    retention_ends,
    retention_small,
    spread_curve,
)
from reports.page import Numbers, Section, columns, table
from reports.picking import Results, Row, everything, known, one, rows
from reports.wording import figure, level_name, listed, many, percent, percent_span, sentence, whole

MOST_SMALL = 8
WIDE_SHARE = 0.1
CLEAR, SELDOM = 0.01, 0.05
SPLITS = {"discipline": "Kind of work", "pace": "Pace", "end": "Front or hind", "foot": "Foot",
          "season": "Season of nailing", "shoe_style": "Style of the shoe"}  # fmt: skip
TOGETHER = (
    "Shoes of one horse go together, so the test counts horses, not shoes. With few horses a split it is slow to call "
    "a difference more than chance."
)
BY_HORSES = "Likely: horses are counted, not shoes, since a horse that pulls one shoe pulls another."


def spread(results: Results, dimension: str) -> dict[str, list[dict]] | None:
    """Points of the curve that spreads losses over the days they may lie on, by level, where that is the one to draw.

    It is where over a tenth of losses are dated by more than a week; None where the days are known well enough.
    """
    dating = everything(results, "loss_dating")
    if dating is None or dating["wide"] <= WIDE_SHARE * dating["losses"]:
        return None
    intervals = rows(results, "retention_interval", dimension)
    points = {}
    for level, days in _by_level(rows(results, "retention", dimension)).items():
        ended = drawable_days(days)
        own = [row for row in intervals if row["level"] == level]
        points[level] = spread_curve(sorted(own, key=lambda row: row["day_from"]), ended[-1]["day"] if ended else 0)
    return points


def _by_level(found: list[Row]) -> dict[str, list[Row]]:
    levels: dict[str, list[Row]] = {}
    for row in found:
        levels.setdefault(row["level"], []).append(row)
    return levels


def stay(results: Results) -> Section:
    """How long all shoes stay on."""
    curve, weeks = rows(results, "retention", "all"), rows(results, "share_lost_by_weeks", "all")
    points = (spread(results, "all") or {}).get("all")
    return Section(
        "How long do shoes stay on?",
        _stay_answer(results, weeks),
        (retention_all(curve, points),) if drawable_days(curve) else (),
        (_stay_numbers(weeks, points),) if weeks else (),
        (_until_now(results), *_dating(results, points), BY_HORSES),
    )


def _stay_numbers(weeks: list[Row], points: list[dict] | None) -> Numbers:
    lines = []
    for row in weeks:
        drawn = (percent(lost_on(points, 7 * row["weeks"])),) if points else ()
        lines.append((many(row["weeks"], "week"), *_share(row), *drawn, whole(row["at_risk"])))
    heads = ("By", "Lost", "Likely", *(("By the line",) if points else ()), "Shoes still followed")
    return Numbers("All shoes: share lost by week", columns(*heads), lines)


def _dating(results: Results, points: list[dict] | None) -> tuple[str, ...]:
    if not points:
        return ()
    dating = everything(results, "loss_dating")
    of_all = f"{whole(dating['wide'])} of {many(dating['losses'], 'loss', 'losses')}"
    return (
        f"{of_all} {'is' if dating['wide'] == 1 else 'are'} known only to lie between two days over a week apart. "
        "The line spreads them over those days; the shares in words and table take the day in the "
        f"middle.{_no_day_given(dating['wide_at_call_outs'])}",
    )


def _no_day_given(count: int) -> str:
    if not count:
        return ""
    told = f"{whole(count)} of them {'was' if count == 1 else 'were'} found at a call-out and given no day by anyone"
    told += f": the line puts {'it' if count == 1 else 'these'} too early"
    return f" {told}. Write down the day a shoe was found off, and its day is known."


def _stay_answer(results: Results, weeks: list[Row]) -> str:
    told = [row for row in known(weeks, "share_lost") if row["weeks"] in (6, 8)]
    if not told:
        return "Too few shoes have been followed for six weeks to say." + note_of(weeks)
    parts = [f"{percent(row['share_lost'])} are lost within {row['weeks']} weeks{_likely(row)}" for row in told]
    return f"Of all shoes nailed on, {' and '.join(parts)}."


def note_of(found: list[Row]) -> str:
    """The first note of these rows as a sentence, after a space; nothing where there is none."""
    return next((f" {sentence(row['note'])}" for row in found if row["note"]), "")


def _likely(row: Row) -> str:
    span = percent_span(row["low_left_out"], row["high_left_out"])
    return "" if row["low_left_out"] is None else f" (likely {span})"


def _share(row: Row) -> tuple[str, str]:
    return percent(row["share_lost"]), percent_span(row["low_left_out"], row["high_left_out"])


def _until_now(results: Results) -> str:
    every = everything(results, "loss_rates")
    if every is None or not every["shoes"]:
        return "No shoe is on record yet."
    rate = f" – {figure(every['per_1000_days'])} for every 1,000 days with a shoe on" if every["per_1000_days"] else ""
    return (
        f"{many(every['shoes'], 'shoe')} on {many(every['horses'], 'horse')}: {whole(every['losses'])} lost{rate}. "
        "A shoe renewed or taken off counts as kept up to that day and is then no longer followed."
    )


def ends(results: Results) -> Section | None:
    """Front shoes beside hind shoes."""
    front, hind = (rows(results, "retention", "end", level=end) for end in ("front", "hind"))
    if not (drawable_days(front) and drawable_days(hind)):
        return None
    return Section(
        "Do front shoes stay on as long as hind shoes?",
        f"{_by_six('Front', results, 'front')} {_by_six('Hind', results, 'hind')}{chance_alone(results, 'end')}",
        (retention_ends(front, hind, spread(results, "end")),),
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


def chance_alone(results: Results, dimension: str) -> str:
    """How often chance alone would set the curves of this split at least so far apart, after a space; else nothing."""
    test = one(results, "retention_tests", dimension=dimension)
    if test is None or test["p_clustered"] is None:
        return ""
    chance = test["p_clustered"]
    so = ", so this may be chance" if chance >= SELDOM else ""
    return f" Were there no true difference, curves at least so far apart would come up {_often(chance)}{so}."


def _often(chance: float) -> str:
    if chance < CLEAR:
        return f"less than once in {'1,000' if chance < 0.001 else '100'} times"
    return f"{many(round(100 * chance), 'time')} in 100"


def kinds(results: Results) -> Section | None:
    """One curve a kind of work."""
    found = rows(results, "retention", "discipline")
    curves = _by_level(found)
    shod = {row["level"]: row["shoes"] for row in rows(results, "loss_rates", "discipline")}
    levels = sorted(curves, key=lambda level: (-shod.get(level, 0), level))
    drawn = [(level, curves[level]) for level in levels if drawable_days(curves[level])][:MOST_SMALL]
    if not drawn:
        return None
    points = spread(results, "discipline")
    points = {**points, **spread(results, "all")} if points else None
    band = "" if points else " band: where the true share likely lies;"
    return Section(
        "How long do shoes stay on in each kind of work?",
        "One picture a kind of work, those with the most shoes first. Up: share of shoes lost; across: weeks since "
        f"nailed on;{band} grey: all shoes." + chance_alone(results, "discipline"),
        retention_small(drawn, rows(results, "retention", "all"), points),
        notes=(_left_out(len(levels) - len(drawn)),) if len(levels) > len(drawn) else (),
    )


def _left_out(count: int) -> str:
    return f"{many(count, 'kind', 'kinds')} of work with fewer shoes not drawn; the tables above have all."


def tests(results: Results) -> Section | None:
    """How far apart chance alone would set the curves, for each way of splitting the shoes."""
    found = {row["dimension"]: row for row in known(rows(results, "retention_tests"), "p_clustered")}
    told = [(name, found[dimension]) for dimension, name in SPLITS.items() if dimension in found]
    if not told:
        return None
    clear = [name.lower() for name, row in told if row["p_clustered"] < CLEAR]
    seldom = [name.lower() for name, row in told if CLEAR <= row["p_clustered"] < SELDOM]
    often = [name.lower() for name, row in told if row["p_clustered"] >= SELDOM]
    text = f"Hard to put down to chance: {listed(clear)}." if clear else "None is hard to put down to chance."
    text += f" Seldom brought by chance: {listed(seldom)}." if seldom else ""
    text += f" No more than chance often brings: {listed(often)}." if often else ""
    lines = [(name, _times(row["p_clustered"]), whole(row["df"] + 1)) for name, row in told]
    heads = ("Shoes split by", "Chance alone", "Groups compared")
    return Section(
        "Do whole lives of shoes differ by more than chance?",
        text,
        numbers=(table("How often chance alone would set the curves at least so far apart", heads, lines),),
        notes=(TOGETHER, *_by_luck(len(told))),
    )


def _by_luck(tests: int) -> tuple[str, ...]:
    """Many questions at once: one in 20 comes out as seldom by chance alone."""
    if tests < 2:
        return ()
    return (f"{whole(tests)} ways of splitting were tried: each comes out below 5 in 100 by chance one time in 20.",)


def _times(p_value: float) -> str:
    return "under 1 in 1,000" if p_value < 0.001 else f"{_in_a_hundred(p_value)} in 100"


def _in_a_hundred(p_value: float) -> str:
    return figure(100 * p_value, 0 if p_value >= 0.095 else 1)
