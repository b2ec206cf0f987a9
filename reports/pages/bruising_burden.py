"""The sections on how many bruises a foot gathers in time: over all feet, by sole relief, by kind of work."""

from reports.charts.bruise_burden import YEAR, burden_all, burden_at, burden_small, burden_two, drawable, limits
from reports.page import Numbers, Section, table
from reports.picking import Results, Row, by_name, rows
from reports.wording import RELIEF_NAMES, figure, level_name, span, whole

TIMES = ((0.25, "3 months"), (0.5, "6 months"), (1, "1 year"), (1.5, "18 months"), (2, "2 years"), (3, "3 years"))
BY_HORSE = (
    "The ranges take horses as the units: the feet of one horse are alike, so they are the ones to trust. Where there "
    "are too few horses for that, feet are taken."
)
WORN = (
    "A foot counts with the shoe it wore on each day, so one foot may be in both lines; only bruises between two looks "
    "belong to a shoe. What goes together need not be the cause: who gets relief is often who was bruised."
)


def burden(results: Results) -> Section | None:
    """All feet."""
    curve = rows(results, "bruise_burden", "all")
    if len(drawable(curve)) < 2:
        return None
    return Section(
        "How many bruises does a foot gather?",
        _answer(curve),
        (burden_all(curve),),
        (_numbers([("All feet", curve)], "All feet: new bruises of a foot since its first look"),),
        (BY_HORSE,),
    )


def _answer(curve: list[Row]) -> str:
    told = [(name, row) for years, name in TIMES if (row := burden_at(curve, round(years * YEAR)))]
    if not told:
        return "No foot has been followed for three months yet."
    year = next(((name, row) for name, row in told if name == "1 year"), told[-1])
    return (
        f"By {year[0]} after its first look a foot has had {figure(year[1]['mean_episodes'], 2)} new bruises on "
        f"average{_likely(year[1])}: {figure(100 * year[1]['mean_episodes'], 0)} for every 100 feet."
    )


def _likely(row: Row) -> str:
    low, high = limits(row)
    return "" if low is None or high is None else f" (likely {span(low, high, 2)})"


def burden_by_relief(results: Results) -> Section | None:
    """Shoes clear of the sole beside shoes that are not."""
    clear, not_clear = (rows(results, "bruise_burden", "sole_relief", level=level) for level in ("yes", "no"))
    if len(drawable(clear)) < 2 or len(drawable(not_clear)) < 2:
        return None
    names = (RELIEF_NAMES["yes"], RELIEF_NAMES["no"])
    return Section(
        "Do bruises gather more slowly under a shoe clear of the sole?",
        _relief_answer(clear, not_clear),
        (burden_two(clear, not_clear, names),),
        (_numbers(list(zip(names, (clear, not_clear), strict=True)), "New bruises of a foot by sole relief"),),
        (WORN,),
    )


def _relief_answer(clear: list[Row], not_clear: list[Row]) -> str:
    both = [
        (name, one, other)
        for years, name in TIMES
        if (one := burden_at(clear, round(years * YEAR))) and (other := burden_at(not_clear, round(years * YEAR)))
    ]
    if not both:
        return "Neither has been followed for three months yet."
    name, one, other = next((found for found in both if found[0] == "1 year"), both[-1])
    fewer = "fewer" if one["mean_episodes"] < other["mean_episodes"] else "no fewer"
    (low, high), (low_other, high_other) = limits(one), limits(other)
    unknown = None in (low, high, low_other, high_other)
    overlap = unknown or not (high < low_other or high_other < low)
    verdict = "The two ranges overlap, so this may be chance." if overlap else "The two ranges do not overlap."
    return (
        f"With the shoe clear of the sole a foot has had {fewer} by {name}: {figure(one['mean_episodes'], 2)}"
        f"{_likely(one)}, and {figure(other['mean_episodes'], 2)} where it was not{_likely(other)}. {verdict}"
    )


def burden_by_work(results: Results) -> Section | None:
    """One small curve a kind of work."""
    every = rows(results, "bruise_burden", "all")
    names = by_name(
        [{"level": level} for level in {row["level"] for row in rows(results, "bruise_burden", "discipline")}]
    )
    found = [(row["level"], rows(results, "bruise_burden", "discipline", level=row["level"])) for row in names]
    drawn = [(level_name("discipline", level), curve) for level, curve in found if len(drawable(curve)) > 1]
    if len(drawn) < 2:
        return None
    curves = [curve for _, curve in drawn]
    return Section(
        "In which work do bruises gather fastest?",
        _work_answer(drawn),
        tuple(burden_small(place, name, curve, every, curves) for place, (name, curve) in enumerate(drawn)),
        (_numbers(drawn, "New bruises of a foot by kind of work"),),
        ("Grey: all feet. Across: years since the first look; up: new bruises of a foot, all on one scale.",),
    )


def _work_answer(drawn: list[tuple[str, list[Row]]]) -> str:
    told = [(name, row) for name, curve in drawn if (row := burden_at(curve, YEAR)) and None not in limits(row)]
    if len(told) < 2:
        return "Too few feet have been followed for a year to compare."
    upper = max(told, key=lambda one: (one[1]["mean_episodes"], one[0]))
    lower = min(told, key=lambda one: (one[1]["mean_episodes"], one[0]))
    apart = limits(upper[1])[0] > limits(lower[1])[1]
    verdict = "The two ranges do not overlap." if apart else "The two ranges overlap, so this may be chance."
    return (
        f"By 1 year most on “{upper[0].lower()}”, {figure(upper[1]['mean_episodes'], 2)}{_likely(upper[1])}, fewest on "
        f"“{lower[0].lower()}”, {figure(lower[1]['mean_episodes'], 2)}{_likely(lower[1])}. {verdict}"
    )


def _numbers(curves: list[tuple[str, list[Row]]], caption: str) -> Numbers:
    lines = [
        (name, time, figure(row["mean_episodes"], 2), span(*limits(row), 2), whole(row["feet"]))
        for name, curve in curves
        for years, time in TIMES
        if (row := burden_at(curve, round(years * YEAR)))
    ]
    return table(caption, ("Feet", "By *", "New bruises a foot", "Likely", "Feet still followed"), lines)
