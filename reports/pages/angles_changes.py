"""The sections on changes of one foot that are larger than the error of reading, and on feet that change for years."""

from reports.page import Numbers, Section, columns
from reports.pages.angles_beyond import CALL_VET_DEG, growth_part, remains
from reports.pages.angles_trust import staged
from reports.pages.horse_names import Herd
from reports.picking import Results, Row, known, one, rows
from reports.wording import FOOT_NAMES, day, figure, many, percent, plain, span, whole

MOST_CHANGES = 60  # rows of a table; each horse’s own page has its own
BY_CHANCE = 0.05  # of feet that do not change at most this share has 95 % limits that leave out 0


def changes(results: Results) -> Section | None:
    """The latest change of each foot at one stage, where it is larger than the error explains."""
    precision = [row for row in staged(rows(results, "angle_precision")) if row["angle_at"] != "growth"]
    judged = known(precision, "changes_beyond")
    if not judged:
        return None
    found = [row for row in rows(results, "angle_changes") if row["angle_at"] != "growth"]
    herd = Herd(results)
    found.sort(key=lambda row: (-row["to_date"].toordinal(), herd.name(row["horse_id"]), row["foot"], row["angle_at"]))
    shown = found[:MOST_CHANGES]
    return Section(
        "Which changes are larger than that?",
        _changes_answer(judged, found),
        numbers=(_changes_numbers(shown, herd),) if found else (),
        notes=(
            "Each foot’s latest change at one stage, arrival with arrival or leaving with leaving, where it is larger "
            "than error explains. Of two arrivals growth is taken away first: the weeks since the foot was last "
            "handled before each, by its own change a week, shod or bare. What remains is judged. How the foot was "
            "trimmed counts in it.",
            *_unjudged(judged),
            *_left_out(len(found) - len(shown)),
        ),
    )


def _changes_answer(judged: list[Row], found: list[Row]) -> str:
    if not sum(row["changes"] for row in judged):
        return "No foot has been read twice at one stage yet."
    all_changes, beyond = (sum(row[name] for row in judged) for name in ("changes_judged", "changes_beyond"))
    if not all_changes:
        return "Of no change is it known what growth explains."
    large = sum(abs(remains(row)) > CALL_VET_DEG for row in found)
    vet = f" {whole(large)} of them {'is' if large == 1 else 'are'} over 3°, a reason to call the vet." if large else ""
    return (
        f"Of {many(all_changes, 'change')} that can be judged {whole(beyond)} are larger "
        f"({percent(beyond / all_changes)}); were no foot to change, 5% would be. Of the feet’s latest changes "
        f"{whole(len(found))} are.{vet}"
    )


def _unjudged(judged: list[Row]) -> tuple[str, ...]:
    count = sum(row["changes"] - row["changes_judged"] for row in judged)
    if not count:
        return ()
    return (
        f"{many(count, 'change')} between arrivals {'is' if count == 1 else 'are'} left out: it is not known when the "
        "foot was handled before, or how such feet grow.",
    )


def _left_out(count: int) -> tuple[str, ...]:
    return (f"{many(count, 'earlier one')} stand on the horses’ own pages.",) if count else ()


def _changes_numbers(shown: list[Row], herd: Herd) -> Numbers:
    lines = [
        (
            herd.name(row["horse_id"]),
            FOOT_NAMES[row["foot"]],
            plain(row["angle_at"]),
            figure(row["change_deg"]),
            growth_part(row),
            figure(remains(row)),
            day(row["from_date"]),
            day(row["to_date"]),
            "Another farrier" if row["hand_changed"] else "",
        )
        for row in shown
    ]
    heads = columns(
        "Horse", "Foot *", "Read on *", "Change, degrees", "Of it growth", "Remains", "From *", "To *", "Read by *"
    )
    links = tuple(herd.file(row["horse_id"]) for row in shown)
    return Numbers("Changes larger than error and growth explain, the latest first", heads, lines, links=links)


def growth_changes(results: Results) -> Section | None:
    """The latest change of each foot between leaving and the next arrival, where it is larger than the error."""
    precision = one(results, "angle_precision", angle_at="growth")
    if precision is None or precision["changes_beyond"] is None or not precision["changes"]:
        return None
    herd = Herd(results)
    found = rows(results, "angle_changes", angle_at="growth")
    found.sort(key=lambda row: (-_beyond(row), herd.name(row["horse_id"]), row["foot"]))
    shown = found[:MOST_CHANGES]
    return Section(
        "Which feet changed most since they last left?",
        _growth_answer(precision, found, herd),
        numbers=(_growth_numbers(shown, herd),) if found else (),
        notes=(
            "Each foot’s latest change from leaving to the next arrival, where it is larger than reading alone "
            "explains; those furthest beyond it first. Growth lowers the angle by itself, so most of these are falls.",
            *(
                (f"{many(len(found) - len(shown), 'smaller one')} stand on the horses’ own pages.",)
                if found[len(shown) :]
                else ()
            ),
        ),
    )


def _beyond(row: Row) -> float:
    return abs(row["change_deg"]) - row["smallest_change_deg"]


def _growth_answer(precision: Row, found: list[Row], herd: Herd) -> str:
    beyond = precision["changes_beyond"]
    share = percent(beyond / precision["changes"])
    text = (
        f"Of {many(precision['changes'], 'change')} from leaving to the next arrival {whole(beyond)} are larger than "
        f"{figure(precision['smallest_change_deg'])}°, what reading alone explains ({share})."
    )
    if not found:
        return f"{text} Of the feet’s latest none is."
    first = found[0]
    return (
        f"{text} Of the feet’s latest {whole(len(found))} {'is' if len(found) == 1 else 'are'}; furthest beyond it is "
        f"the {FOOT_NAMES[first['foot']].lower()} of {herd.name(first['horse_id'])}, {figure(first['change_deg'])}°."
    )


def _growth_numbers(shown: list[Row], herd: Herd) -> Numbers:
    lines = [
        (
            herd.name(row["horse_id"]),
            FOOT_NAMES[row["foot"]],
            day(row["from_date"]),
            day(row["to_date"]),
            whole((row["to_date"] - row["from_date"]).days),
            figure(row["change_deg"]),
            figure(row["smallest_change_deg"]),
            "Another farrier" if row["hand_changed"] else "",
        )
        for row in shown
    ]
    heads = columns(
        "Horse", "Foot *", "Left on *", "Back on *", "Days", "Change, degrees", "Limit of error", "Read by *"
    )
    links = tuple(herd.file(row["horse_id"]) for row in shown)
    return Numbers(
        "Changes from leaving to the next arrival, the furthest beyond error first", heads, lines, links=links
    )


def leaving_trends(results: Results) -> Section | None:
    """Feet whose angle on leaving goes one way over the years beyond what chance may bring."""
    told = known(rows(results, "horse_angle_drift"), "leaving_trend_deg_per_year")
    if not told:
        return None
    herd = Herd(results)
    found = [row for row in told if _from_nothing(row) > 0]
    found.sort(key=lambda row: (-_from_nothing(row), herd.name(row["horse_id"]), row["foot"]))
    shown = found[:MOST_CHANGES]
    left_out = len(found) - len(shown)
    return Section(
        "Which feet leave lower or steeper over the years?",
        _trends_answer(told, found),
        numbers=(_trends_numbers(shown, herd),) if found else (),
        notes=(
            "A foot’s own trend is drawn toward that of its peers, shod with shod and bare with bare, by how few its "
            "readings are.",
            *(
                (f"{many(left_out, 'foot', 'feet')} nearer to no change stand on the horses’ own pages.",)
                if left_out
                else ()
            ),
        ),
    )


def _from_nothing(row: Row) -> float:
    """How far the nearer limit lies from no change; negative where the range holds it."""
    return max(row["leaving_trend_low"], -row["leaving_trend_high"])


def _trends_answer(told: list[Row], found: list[Row]) -> str:
    lower = sum(row["leaving_trend_high"] < 0 for row in found)
    steeper, by_chance = len(found) - lower, BY_CHANCE * len(told)
    return (
        f"Of {many(len(told), 'foot', 'feet')} read often enough {whole(lower) if lower else 'none'} surely leave "
        f"lower as time goes on and {whole(steeper) if steeper else 'none'} steeper; were no foot to change, "
        f"{'fewer than one' if by_chance < 1 else f'up to {whole(by_chance)}'} would seem to."
    )


def _trends_numbers(shown: list[Row], herd: Herd) -> Numbers:
    lines = [
        (
            herd.name(row["horse_id"]),
            FOOT_NAMES[row["foot"]],
            figure(row["leaving_trend_deg_per_year"], 2),
            span(row["leaving_trend_low"], row["leaving_trend_high"], 2),
        )
        for row in shown
    ]
    heads = columns("Horse", "Foot *", "Degrees a year", "Likely")
    links = tuple(herd.file(row["horse_id"]) for row in shown)
    return Numbers("Feet whose angle on leaving surely changes, the surest first", heads, lines, links=links)
