"""The sections on what goes with a late visit: lost shoes, angle and bruises."""

from reports.charts.lateness import angle_by_lateness, losses_past_plan
from reports.page import Section, table
from reports.picking import FEWEST_HORSES, Results, Row, apart, in_order, known, rate_limits, rows, with_enough_horses
from reports.wording import figure, many, percent, percent_span, sentence, span, whole

BANDS = ("more than 7 days early", "within 7 days", "8 to 14 days late", "15 to 28 days late", "over 28 days late")
PAST = (
    "before it was due",
    "1 to 7 days past",
    "8 to 14 days past",
    "15 to 28 days past",
    "over 28 days past",
    "on any day past it",
)
ON_TIME, NOT_YET, EVER_PAST, NO_PLAN = BANDS[1], PAST[0], PAST[-1], "no day agreed"
FEWEST_LOSSES, FEWEST_FEET = 2, 10
FAIR = (
    "Days are compared, not intervals: a long interval has more days in which to lose a shoe. Each day with a shoe on "
    "counts where it lies, before the day agreed or past it."
)
TOGETHER = "Horses that are seen late differ from others in more than that: what goes together need not be the cause."


def losses_when_late(results: Results) -> Section:
    """Loss rates before the day agreed and past it."""
    found = in_order(rows(results, "lateness", "days_past_plan"), (*PAST, NO_PLAN))
    drawn = known(found, "per_1000_days")
    lines = [_rate_line(row) for row in found]
    faint = [place for place, row in enumerate(found) if row["note"]]
    heads = ("When", "Lost per 1,000 days", "Likely", "Lost", "Days with a shoe on", "Shoes", "Horses", "Note *")
    return Section(
        "Are more shoes lost once a horse is past its day?",
        _losses_answer(found),
        (losses_past_plan(drawn),) if drawn else (),
        (table("Shoes lost by how long the horse was then past the day agreed", heads, lines, faint),) if found else (),
        (FAIR, *_left_out(found), TOGETHER) if found else (),
    )


def _left_out(found: list[Row]) -> tuple[str, ...]:
    """How many shoes went on without a day agreed, so that none of their days is before or past it."""
    shoes = next((row["shoes"] for row in found if row["level"] == NO_PLAN), 0)
    if not shoes:
        return ()
    return (f"{many(shoes, 'shoe')} went on at a visit that agreed no day: these are compared with neither.",)


def _losses_answer(found: list[Row]) -> str:
    told = [row for row in known(found, "per_1000_days") if row["losses"] >= FEWEST_LOSSES]
    before = next((row for row in told if row["level"] == NOT_YET), None)
    if before is None:
        return "Too few shoes with a day agreed have been lost to say."
    text = f"Before the day agreed {_rate(before)} were lost for every 1,000 days with a shoe on"
    late = next((row for row in told if row["level"] == EVER_PAST), None)
    if late is None:
        return f"{text}. Past it fewer than {FEWEST_LOSSES} were lost: too few to compare."
    return f"{text}, {EVER_PAST} {_rate(late)}. {_verdict(rate_limits(late), rate_limits(before))}"


def _rate(row: Row) -> str:
    low, high = rate_limits(row)
    return figure(row["per_1000_days"]) + ("" if low is None else f" (likely {span(low, high)})")


def _verdict(one: tuple[float | None, float | None], other: tuple[float | None, float | None]) -> str:
    if apart(one, other) or apart(other, one):
        return "The two ranges do not overlap."
    return "The two ranges overlap, so this may be chance."


def _rate_line(row: Row) -> tuple[str, ...]:
    return (
        row["level"][:1].upper() + row["level"][1:],
        figure(row["per_1000_days"]),
        span(*rate_limits(row)),
        whole(row["losses"]),
        whole(row["shoe_days"]),
        whole(row["shoes"]),
        whole(row["horses"]),
        sentence(row["note"]),
    )


def feet_when_late(results: Results) -> Section:
    """Angle and bruises from one visit to the next, by how late the next one was."""
    found = _ranged(in_order(rows(results, "lateness", "interval"), BANDS))
    drawn = known(found, "mean_change_deg")
    heads = ("Next visit", "Change of angle, °", "Likely", "Feet", "Newly bruised", "Likely", "Clear before")
    heads += ("Bruised again", "Likely", "Bruised before", "Intervals", "Horses")
    return Section(
        "What are feet like after a late visit?",
        _feet_answer(found),
        (angle_by_lateness(drawn),) if drawn else (),
        (table("Feet from one visit to the next by how late it was", heads, [_feet_line(row) for row in found]),)
        if found
        else (),
        (f"A range is told from {FEWEST_HORSES} horses on, since how much horses differ must be seen.", TOGETHER)
        if found
        else (),
    )


def _ranged(found: list[Row]) -> list[Row]:
    """Each range only where enough horses stand behind its figure."""
    found = with_enough_horses(found, "horses", "change_low", "change_high")
    found = with_enough_horses(found, "horses_clear", "new_low", "new_high")
    return with_enough_horses(found, "horses_bruised", "again_low", "again_high")


def _feet_answer(found: list[Row]) -> str:
    angle = _angle_answer([row for row in known(found, "change_low") if row["steps"] >= FEWEST_FEET])
    bruises = [said for name in SHARES if (said := _share_answer(name, found))]
    few = "Too few feet were looked at again after a late visit to compare bruises."
    return " ".join([angle, *(bruises or [few])])


def _two(told: list[Row]) -> tuple[Row, Row] | None:
    """The row of visits in time, and that of the latest ones of which enough is known."""
    on_time = next((row for row in told if row["level"] == ON_TIME), None)
    late = [row for row in told if BANDS.index(row["level"]) > BANDS.index(ON_TIME)]
    return (on_time, late[-1]) if on_time and late else None


def _angle_answer(told: list[Row]) -> str:
    pair = _two(told)
    if pair is None:
        return "Too few angles lie on both sides of a late visit to say how far they change."
    said = [f"{figure(row['mean_change_deg'])}° (likely {span(row['change_low'], row['change_high'])})" for row in pair]
    limits = [(row["change_low"], row["change_high"]) for row in pair]
    return (
        f"From leaving to the next arrival the angle changed by {said[0]} where the visit came {ON_TIME} of its day, "
        f"by {said[1]} where it came {pair[1]['level']}. {_verdict(*limits)} A longer interval has more growth."
    )


SHARES = {
    "new": ("New bruises were seen on", "chance_new", "steps_clear", "clear"),
    "again": ("Bruises were there again on", "chance_again", "steps_bruised", "bruised"),
}


def _share_answer(name: str, found: list[Row]) -> str:
    """In time beside late: new bruises on clear feet, or bruises that came back; empty where too few were seen."""
    opening, chance, steps, was = SHARES[name]
    low, high = f"{name}_low", f"{name}_high"
    pair = _two(known(found, low))
    if pair is None:
        return ""
    said = [
        f"{percent(row[chance])} of {whole(row[steps])} (likely {percent_span(row[low], row[high])})" for row in pair
    ]
    verdict = _verdict(*((row[low], row[high]) for row in pair))
    return f"{opening} {said[0]} {was} feet in time, and {said[1]} {pair[1]['level']}. {verdict}"


def _feet_line(row: Row) -> tuple[str, ...]:
    return (
        row["level"][:1].upper() + row["level"][1:],
        figure(row["mean_change_deg"]),
        span(row["change_low"], row["change_high"]),
        whole(row["steps"]),
        percent(row["chance_new"]),
        percent_span(row["new_low"], row["new_high"]),
        whole(row["steps_clear"]),
        percent(row["chance_again"]),
        percent_span(row["again_low"], row["again_high"]),
        whole(row["steps_bruised"]),
        whole(row["intervals"]),
        whole(row["horses"]),
    )
