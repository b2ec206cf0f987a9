"""The sections on when shoes come off: in the life of a shoe, and month by month."""

from reports.charts.loss_hazard import loss_hazard, stretch
from reports.charts.loss_watch import loss_watch
from reports.page import Numbers, Section, columns
from reports.picking import Results, Row, everything, in_order, known, rows
from reports.wording import figure, level_name, listed, many, sentence, span, whole
from schemas.words import PHASES

USUALLY = (
    "What it usually means (common practice, no source): lost in the first days, look at the nailing, at a branch left "
    "long, and at what the horse did; lost late or past the plan, look at growth that has carried the shoe forward, at "
    "risen clinches and at the interval. This is where to look, not what was the cause."
)
SPREAD = (
    "A loss known only to lie between two days is spread over them by how likely each is, so losses are no whole "
    "numbers. One found at a call-out that nobody gave the day of is spread over the week before it (common practice, "
    "no source)."
)
PLANNED = (
    "The stretches about the planned date count only shoes with a planned interval; “first 14 days” and “last 14 "
    "planned” leave a stretch in between where the plan is over 4 weeks."
)
WATCHING = (
    "Expected: what the month’s days with a shoe on would bring at this record’s own rates for the same work, age of "
    "shoe and feet. The season is not taken out, so the wet months of each year may stand high. The month under way "
    "counts the days so far, and the latest weeks stand low: a loss that nobody reported is known only at the next "
    "visit."
)


def hazard(results: Results) -> Section | None:
    """How fast shoes come off by age, and about the planned date."""
    found = known(rows(results, "loss_hazard", "all"), "per_1000_days")
    if not found:
        return None
    every = everything(results, "loss_rates")
    rate = every["per_1000_days"] if every else None
    ages = [row for row in found if row["phase"] == "age"]
    planned = in_order([{**row, "level": row["phase"]} for row in found if row["phase"] != "age"], PHASES)
    charts = (
        [loss_hazard("age", ages, rate, "by age of the shoe; dashed, all shoes" if rate else "by age of the shoe")]
        if ages
        else []
    )
    if planned:
        charts.append(loss_hazard("planned", planned, rate, "about the planned date"))
    return Section(
        "When in its life does a shoe come off?",
        _hazard_answer(ages, planned),
        tuple(charts),
        (_hazard_numbers("By age of the shoe", ages), _by_level(results)),
        (USUALLY, SPREAD, *((PLANNED,) if planned else ())),
    )


def _hazard_answer(ages: list[Row], planned: list[Row]) -> str:
    sure = [row for row in known(ages, "low") if row["losses_spread"] >= 5]
    if len(sure) < 2:
        return "Too few shoes have been lost to tell one age from another."
    upper = max(sure, key=lambda row: row["per_1000_days"])
    lower = min(sure, key=lambda row: row["per_1000_days"])
    verdict = "do not overlap" if upper["low"] > lower["high"] else "overlap, so this may be chance"
    text = (
        f"For every 1,000 days with a shoe on, most come off in {_said(upper)} and fewest in {_said(lower)}; the two "
        f"ranges {verdict}."
    )
    past = next((row for row in planned if row["phase"] == "after_planned"), None)
    if past is None:
        return text
    likely = "" if past["low"] is None else f" (likely {_likely(past)})"
    return f"{text} Past the planned date it is {figure(past['per_1000_days'])}{likely}."


def _said(row: Row) -> str:
    return f"{stretch(row).lower()} ({figure(row['per_1000_days'])}, likely {_likely(row)})"


def _likely(row: Row) -> str:
    return span(row["low"], row["high"])


def _hazard_numbers(caption: str, found: list[Row]) -> Numbers:
    lines = [
        (stretch(row), figure(row["per_1000_days"]), _likely(row), figure(row["losses_spread"]), whole(row["horses"]))
        for row in found
    ]
    heads = columns("Age", "Rate", "Likely", "Lost", "Horses")
    return Numbers(f"{caption}: losses per 1,000 shoe-days", heads, lines)


def _by_level(results: Results) -> Numbers:
    """Every stretch about the plan, front and hind, then each kind of work."""
    found = [row for row in rows(results, "loss_hazard") if row["dimension"] != "all" and row["phase"] != "age"]
    found.sort(key=lambda row: (row["dimension"] != "end", row["level"], PHASES.index(row["phase"])))
    lines = [
        (
            level_name(row["dimension"], row["level"]),
            stretch(row),
            figure(row["per_1000_days"]),
            _likely(row),
            figure(row["losses_spread"]),
            whole(row["horses"]),
        )
        for row in found
    ]
    heads = columns("Feet or work", "Stretch *", "Rate", "Likely", "Lost", "Horses")
    return Numbers("About the planned date, by feet and by kind of work: losses per 1,000 shoe-days", heads, lines)


def watch(results: Results) -> Section | None:
    """Losses by month against expected."""
    months = sorted(rows(results, "loss_watch"), key=lambda row: row["starts_on"])
    if not months:
        return None
    watched = known(months, "threshold")
    return Section(
        "Is a bad run of lost shoes under way?",
        _watch_answer(months, watched),
        (loss_watch(watched),) if watched else (),
        (_watch_numbers(months),),
        (
            WATCHING,
            "The evidence is summed so that, were all as ever, it would signal once in ten years; after a signal it "
            "starts anew.",
        )
        if watched
        else (),
    )


def _watch_answer(months: list[Row], watched: list[Row]) -> str:
    if not watched:
        return sentence(months[0]["note"]) or "Too little is on record to watch."
    last, signals = watched[-1], [row for row in watched if row["signal"]]
    now = f"{last['starts_on']:%B %Y}: {many(last['losses'], 'shoe')} lost, {figure(last['expected'])} expected so far."
    if not signals:
        return f"Nothing on record shows one: in {many(len(watched), 'month')} the watch never signalled. {now}"
    named = [f"{row['starts_on']:%B %Y}" for row in signals[-4:]]
    more = f" and {whole(len(signals) - 4)} earlier" if len(signals) > 4 else ""
    verdict = "Perhaps: it signalled in the latest month." if last["signal"] else "Not in the latest month."
    return f"{verdict} The watch signalled {many(len(signals), 'time')}, in {listed(named)}{more}. {now}"


def _watch_numbers(months: list[Row]) -> Numbers:
    lines = [
        (
            f"{row['starts_on']:%B %Y}",
            whole(row["losses"]),
            figure(row["expected"]),
            "–" if row["low"] is None else f"{whole(row['low'])} to {whole(row['high'])}",
            figure(row["cusum"]),
            "Signal" if row["signal"] else "",
        )
        for row in reversed(months)
    ]
    heads = columns("Month", "Lost", "Expected", "By chance", "Evidence", "Watch *")
    return Numbers("Shoes lost month by month, the latest first", heads, lines)
