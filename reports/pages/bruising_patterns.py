"""The sections on patterns of bruising: the same site again, and both front feet at once."""

from reports.charts.dots import Dot, dots
from reports.charts.sole_map import PLACES
from reports.drawing import Chart
from reports.page import Numbers, Section, table
from reports.picking import Results, Row, by_name, everything, in_order, known, rows
from reports.wording import figure, level_name, many, percent, percent_span, sentence, span, whole
from schemas.words import ENDS

OWN_FEET = (
    "What chance would bring is itself only known from these horses: the ranges leave each horse out in turn, figure "
    "and chance together. Some horses bruise more than others, which alone brings both feet together; held against "
    "each horse’s own feet, that is left out."
)
SAME_SITE = "The same site twice running is a reason to call the vet: see the horse’s own page."


def same_site(results: Results) -> Section | None:
    """How often a bruise that was there again lay where it had lain."""
    every = everything(results, "bruise_returns")
    if every is None or not every["returns"]:
        return None
    found = [every, *in_order(rows(results, "bruise_returns", "end"), ENDS)]
    found += in_order(rows(results, "bruise_returns", "site"), PLACES)
    works = by_name(rows(results, "bruise_returns", "discipline"))
    return Section(
        "Does a bruise come back where it was?",
        _same_answer(every),
        (_same_chart(known(found, "same_share"), every["share_by_chance"]),),
        (_same_numbers("By feet and by site of the first bruise", found), _same_numbers("By kind of work", works)),
        (SAME_SITE,),
    )


def _same_answer(every: Row) -> str:
    likely = "" if every["low"] is None else f" (likely {percent_span(every['low'], every['high'])})"
    text = (
        f"Of {many(every['returns'], 'bruise')} found again with the site told both times, {whole(every['same_site'])} "
        f"lay at the same site: {percent(every['same_share'])}{likely}."
    )
    if every["share_by_chance"] is None:
        return text
    return f"{text} Had the second site nothing to do with the first, {percent(every['share_by_chance'])} would."


def _same_chart(found: list[Row], chance: float | None) -> Chart:
    drawn = [
        Dot(level_name(row["dimension"], row["level"]), row["same_share"], row["low"], row["high"]) for row in found
    ]
    said = "; ".join(f"{row.label} {percent(row.value)} (likely {percent_span(row.low, row.high)})" for row in drawn)
    return Chart(
        "same-site",
        dots(drawn, "found again at the same site", chance, as_percent=True),
        f"Share of bruises found again at the same site: {said}.",
        "Dot: share found again at the same site. Line: where the true share likely lies."
        + (f" Dashed: what chance alone would bring, {percent(chance)}." if chance is not None else ""),
    )


def _same_numbers(caption: str, found: list[Row]) -> Numbers:
    lines = [
        (
            level_name(row["dimension"], row["level"]),
            percent(row["same_share"]),
            percent_span(row["low"], row["high"]),
            percent(row["share_by_chance"]),
            f"{whole(row['same_site'])} of {whole(row['returns'])}",
            whole(row["horses"]),
            sentence(row["note"]),
        )
        for row in found
    ]
    heads = ("Bruises", "Same site", "Likely", "By chance", "Counted", "Horses", "Note *")
    return table(caption, heads, lines, (place for place, row in enumerate(found) if row["low"] is None))


def both_fronts(results: Results) -> Section | None:
    """How often both front feet were bruised at one look."""
    every = everything(results, "both_fronts")
    if every is None or not every["pair_looks"] or every["both_share"] is None:
        return None
    found = [every, *by_name(rows(results, "both_fronts", "discipline"))]
    return Section(
        "Do both front feet bruise together?",
        _both_answer(every),
        numbers=(_both_numbers(found),),
        notes=(OWN_FEET,),
    )


def _both_answer(every: Row) -> str:
    likely = "" if every["low"] is None else f" (likely {percent_span(every['low'], every['high'], 1)})"
    text = (
        f"At {whole(every['both_bruised'])} of {many(every['pair_looks'], 'look')} at both front feet both were "
        f"bruised: {percent(every['both_share'], 1)}{likely}; one of the two at {whole(every['one_bruised'])}."
    )
    if every["ratio"] is None:
        return text
    text += f" Had the one nothing to do with the other, it would be about {percent(every['share_by_chance'], 1)}: "
    text += f"{_times(every, 'ratio')} as often as that{_verdict(every, 'ratio')}"
    if every["own_ratio"] is None:
        return f"{text}."
    return (
        f"{text}. Held against what each horse’s own feet would bring, {_times(every, 'own_ratio')} as "
        f"often{_verdict(every, 'own_ratio')}."
    )


def _times(row: Row, name: str) -> str:
    likely = span(row[f"{name}_low"], row[f"{name}_high"]) if row[f"{name}_low"] is not None else ""
    return f"{figure(row[name])} times" + (f" (likely {likely})" if likely else "")


def _verdict(row: Row, name: str) -> str:
    """What the range says of 1; nothing is said where there is none."""
    low, high = row[f"{name}_low"], row[f"{name}_high"]
    if low is None:
        return ", from too few horses to give a range"
    return ", and the range leaves out 1" if low > 1 or high < 1 else ", but the range holds 1, so this may be chance"


def _both_numbers(found: list[Row]) -> Numbers:
    lines = [
        (
            level_name(row["dimension"], row["level"]),
            percent(row["both_share"], 1),
            percent_span(row["low"], row["high"], 1),
            percent(row["share_by_chance"], 1),
            figure(row["ratio"]),
            span(row["ratio_low"], row["ratio_high"]),
            figure(row["own_ratio"]),
            span(row["own_ratio_low"], row["own_ratio_high"]),
            whole(row["both_bruised"]),
            whole(row["one_bruised"]),
            whole(row["pair_looks"]),
            whole(row["horses"]),
            sentence(row["note"]),
        )
        for row in found
    ]
    heads = ("Work", "Both bruised", "Likely", "By chance", "Times chance", "Likely", "Times own feet", "Likely")
    heads += ("Both", "One only", "Looks at both", "Horses", "Note *")
    caption = "Both front feet at one look, by kind of work"
    return table(caption, heads, lines, (place for place, row in enumerate(found) if row["low"] is None))
