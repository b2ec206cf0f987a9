"""At a glance: the season in a few sentences, each leading to its page. Names no horse."""

from reports.charts.retention import drawable_days, retention_all
from reports.page import Page, Section, Sentence
from reports.pages.call_outs import none_made, took
from reports.pages.retention import spread
from reports.picking import Results, Row, everything, one, rows
from reports.wording import BLANK, day, days_and_weeks, figure, many, percent, so_far, span, whole
from schemas.records import About

NUMBERS = {5: "five", 6: "six"}
NO_RANGE = "fewer than 5 horses, or one has most of the losses: no range"


def glance(results: Results, about: About) -> Page:
    """The front page. Its figures are of the season under review, and of the whole record where they say so."""
    season = one(results, "season_review")
    sentences = _sentences(results, season)
    part = so_far(about.season_start, about.season_stop, about.as_of)
    return Page(
        "index.html",
        "At a glance",
        f"The season from {day(about.season_start)} to {day(about.season_stop)}{part and f'{part},'} in "
        f"{NUMBERS[len(sentences)]} sentences: what was done, what came off, and what to look into.",
        sections=_sections(results),
        sentences=sentences,
    )


def _sentences(results: Results, season: Row | None) -> tuple[Sentence, ...]:
    work = (_work(season, results), _lost(season), _horses(results), _intervals(season, results), _feet(results))
    return (*_set_aside(results), *work)


def _set_aside(results: Results) -> tuple[Sentence, ...]:
    """First of all, where not everything that was read is in the figures: they would look whole.

    What a row set aside says may have been told by another load, so it need not be missing.
    """
    taken = rows(results, "rows_taken")
    read, aside = (sum(row[name] for row in taken) for name in ("rows_read", "rows_set_aside"))
    if not aside:
        return ()
    text = (
        f"Of {many(read, 'row')} read last, {whole(aside)} could not be taken; what only "
        f"{'it tells' if aside == 1 else 'they tell'} is in no figure on these pages."
    )
    links = (("data.html", "Why they were set aside"),)
    return (Sentence(whole(aside), "row set aside" if aside == 1 else "rows set aside", text, links),)


def _work(season: Row | None, results: Results) -> Sentence:
    links = (("workload.html", "The season’s work"), ("season.html", "Beside the season before"))
    if season is None or not season["visits"]:
        return Sentence("0", "visits", "No visit is on record in this season.", links)
    none = none_made(results, "None of the visits was for a lost shoe.")
    cost = _call_outs(season) if season["lost_shoe_visits"] else none
    text = f"{many(season['horses'], 'horse')} seen and {many(season['shoes_nailed'], 'shoe')} nailed on. {cost}"
    return Sentence(whole(season["visits"]), "visit" if season["visits"] == 1 else "visits", text, links)


def _call_outs(season: Row) -> str:
    spent = took(season)
    unpaid = f", unpaid: {' and '.join(spent)}" if spent else ""
    return f"{many(season['lost_shoe_visits'], 'visit')} went on lost shoes{unpaid}."


def _lost(season: Row | None) -> Sentence:
    links = (("lost-shoes.html", "How long shoes stay on"),)
    if season is None or not season["shoes_nailed"]:
        return Sentence("0", "shoes nailed on", "No shoe was nailed on in this season, so none can be counted.", links)
    lost = season["losses"]
    text = f"{many(lost, 'shoe')} came off before {'its' if lost == 1 else 'their'} time; "
    text += f"{many(season['shoes_nailed'], 'shoe was', 'shoes were')} nailed on."
    if season["per_1000_days"] is not None:
        likely = NO_RANGE if season["low"] is None else f"likely {span(season['low'], season['high'])}"
        text += f" That is {figure(season['per_1000_days'])} for every 1,000 days with a shoe on ({likely})."
    return Sentence(whole(lost), "shoe lost" if lost == 1 else "shoes lost", text, links)


def _horses(results: Results) -> Sentence:
    links = (("horses.html", "Which horses, and how sure that is"),)
    herd = next(iter(rows(results, "horse_spread")), None)
    if herd is None:
        return Sentence(BLANK, "horses stand out", "Too little is on record to compare horses yet.", links)
    above, far = herd["above_95"], herd["above_998"]
    text = (
        f"Over the whole record {whole(above)} of {many(herd['horses'], 'horse')} that can be compared lost more "
        f"shoes than chance would explain, {whole(far) if far else 'none'} of them far more."
    )
    return Sentence(whole(above), "horse stands out" if above == 1 else "horses stand out", text, links)


def _intervals(season: Row | None, results: Results) -> Sentence:
    links = (("intervals.html", "How long intervals are"), ("due.html", "Who is due"))
    if season is None or season["median_days"] is None:
        text = f"No horse was seen twice in this season.{_due(results)}"
        return Sentence(BLANK, "days between visits", text, links)
    middle = days_and_weeks(season["median_days"])
    text = f"Half of the {whole(season['intervals'])} intervals were {middle} or shorter."
    if season["intervals"] == 1:
        text = f"The one interval took {middle}."
    every = everything(results, "interval_lengths")
    if every and every["share_over_56"] is not None:
        text += f" Over the whole record {percent(every['share_over_56'])} ran past 8 weeks."
    return Sentence(figure(season["median_days"], 0), "days between visits", text + _due(results), links)


def _due(results: Results) -> str:
    """How many horses are overdue or soon due, of those seen of late."""
    dated = [row for row in rows(results, "due_list", silent=False) if row["due_on"]]
    if not dated:
        return ""
    overdue = sum(row["days_overdue"] > 0 for row in dated)
    soon = sum(-7 <= row["days_overdue"] <= 0 for row in dated)
    late = "No horse is" if not overdue else "1 horse is" if overdue == 1 else f"{whole(overdue)} horses are"
    return f" {late} overdue, and {whole(soon) if soon else 'none'} due within a week."


def _feet(results: Results) -> Sentence:
    bruises, drift = everything(results, "bruise_recurrence"), everything(results, "angle_drift")
    links = (("bruising.html", "Bruises"), ("angles.html", "Angles"))
    again = bruises["chance_again"] if bruises else None
    parts = [_again(bruises) if again is not None else "Too few bruises are on record to say whether they come back."]
    if drift and drift["deg_per_week"] is not None:
        way = "falls" if drift["deg_per_week"] < 0 else "rises"
        parts.append(f"Between visits the toe angle {way} by {figure(abs(drift['deg_per_week']), 2)}° a week.")
    return Sentence(percent(again), "of bruises are there again", " ".join(parts), links)


def _again(bruises: Row) -> str:
    return (
        f"Over the whole record {percent(bruises['chance_again'])} of feet with a bruise had one at the next look too, "
        f"against {percent(bruises['chance_new'])} of clear feet."
    )


def _sections(results: Results) -> tuple[Section, ...]:
    curve = rows(results, "retention", "all")
    if not drawable_days(curve):
        return ()
    answer = (
        "The share of shoes lost, by the age of the shoe. The page Lost shoes has this curve for each kind of work."
    )
    points = (spread(results, "all") or {}).get("all")
    return (Section("How long do shoes stay on?", answer, (retention_all(curve, points),)),)
