"""The sections on growth drift: how the angle changes between visits, by kind of work, and in single feet."""

from reports.charts.angle_drift import angle_drift, feet_by_drift
from reports.charts.dots import MOST_ROWS
from reports.page import Numbers, Section, columns, table
from reports.pages.angles_trend import BY_HORSE, likely, limits
from reports.pages.horse_names import Herd
from reports.picking import FEWEST_HORSES, Results, Row, everything, highest_first, in_order, known, one, rows
from reports.wording import FOOT_NAMES, figure, level_name, many, plain, sentence, span, whole

MOST_FEET = 400  # rows of the table; each horse’s own page has its feet
BY_CHANCE = 0.05  # of kinds of work that do not differ at most this share has 95 % limits that leave out the whole
MIXED = (
    "Front and hind hold shod and bare feet in unlike parts: where they differ, it may be by who wears shoes. Shod and "
    "bare stand apart."
)
SHOD_ONLY = (
    "Shod feet alone: bare ones change at another pace, and how many go bare differs from work to work. Breed, ground "
    "and season are not taken out."
)
PEERS = (
    "A foot’s own figure is drawn toward that of its peers, shod with shod and bare with bare, by how few its readings "
    "are. Of a foot that was both, its own figure and that of its peers are means by its pairs of readings."
)


def growth(results: Results) -> Section:
    """All feet, front and hind, shod and bare."""
    every = everything(results, "angle_drift")
    found = [every] if every else []
    found += in_order(rows(results, "angle_drift", "end"), ("front", "hind"))
    found += [{**row, "dimension": "shod"} for row in in_order(rows(results, "angle_drift", "shod"), ("yes", "no"))]
    found = [_renamed(row) for row in found]
    drawn = known(found, "deg_per_week")
    return Section(
        "How does the angle change between visits?",
        _growth_answer(every),
        (angle_drift("feet", drawn, None),) if drawn else (),
        (_numbers("Feet", found),) if found else (),
        (MIXED, BY_HORSE) if found else (),
    )


def _renamed(row: Row) -> Row:
    return {**row, "level": level_name(row["dimension"], row["level"])}


def _growth_answer(every: Row | None) -> str:
    if every is None or every["deg_per_week"] is None:
        reason = sentence(every["note"]) if every else ""
        return f"Too few feet have an angle on leaving and on the next arrival to say. {reason}".strip()
    way = "falls" if every["deg_per_week"] < 0 else "rises"
    return (
        f"It {way}: the mean change is {figure(every['deg_per_week'], 2)}° a week{likely(every)}, from "
        f"{many(every['steps'], 'pair')} of readings on {many(every['feet'], 'foot', 'feet')}."
    )


def growth_by_work(results: Results) -> Section | None:
    """Shod feet of each kind of work, fastest fall first."""
    found = highest_first(rows(results, "angle_drift", "discipline_shod"), "deg_per_week")
    if not found:
        return None
    told = known(found, "deg_per_week")
    most = sorted(told, key=lambda row: (-row["steps"], row["level"]))[:MOST_ROWS]
    drawn = sorted((row for row in told if row in most), key=lambda row: (row["deg_per_week"], row["level"]))
    shod = one(results, "angle_drift", dimension="shod", level="yes")
    overall = shod["deg_per_week"] if shod else None
    return Section(
        "Does the change differ by kind of work?",
        _compared(told, overall),
        (angle_drift("discipline", drawn, overall),) if drawn else (),
        (_numbers("Work", [{**row, "level": level_name("discipline", row["level"])} for row in found]),),
        (SHOD_ONLY, BY_HORSE),
    )


def _compared(told: list[Row], overall: float | None) -> str:
    """The two ends, and how many kinds of work lie apart from all of them: the ends are always far from one another."""
    ranged = sorted(known(told, "low_by_horse"), key=lambda row: (row["deg_per_week"], row["level"]))
    if len(ranged) < 2 or overall is None:
        return "Too few horses have both angles to compare."
    apart = sum(not row["low_by_horse"] <= overall <= row["high_by_horse"] for row in ranged)
    by_chance = BY_CHANCE * len(ranged)
    kinds = f"{many(len(ranged), 'kind')} of work with {FEWEST_HORSES} horses or more"
    few = "fewer than one" if by_chance < 1 else f"about {whole(by_chance)}"
    return (
        f"Among shod feet it runs from {_said(ranged[0])} to {_said(ranged[-1])}: the two ends of {kinds}. The range "
        f"of {whole(apart) if apart else 'none'} of them leaves out {figure(overall, 2)}°, the figure of all shod "
        f"feet; were work to make no difference, {few} would."
    )


def _said(row: Row) -> str:
    return f"{figure(row['deg_per_week'], 2)}° a week in {level_name('discipline', row['level']).lower()}{likely(row)}"


def feet(results: Results) -> Section:
    """Single feet, each beside its peers."""
    herd = Herd(results)
    found = rows(results, "horse_angle_drift")
    told = known(found, "deg_per_week")
    place = list(FOOT_NAMES).index
    told.sort(key=lambda row: (_beside(row), herd.name(row["horse_id"]), place(row["foot"])))
    shown = _furthest(told)
    heads = columns(
        "Horse", "Foot *", "Shod or bare *", "Degrees a week", "Likely", "Peers", "Beside peers", "Pairs of readings"
    )
    lines = [_foot_line(row, herd) for row in shown]
    links = tuple(herd.file(row["horse_id"]) for row in shown)
    nearer = len(told) - len(shown)
    left_out = (
        (f"{many(nearer, 'foot', 'feet')} nearer to their peers stand on the horses’ own pages.",) if nearer else ()
    )
    return Section(
        "Which feet drift most beside their peers?",
        _feet_answer(told, herd, len(found)),
        (feet_by_drift(told),) if told else (),
        (Numbers("Change of the toe angle by foot, fastest fall beside its peers first", heads, lines, links=links),)
        if told
        else (),
        (PEERS, *left_out) if told else (),
    )


def _furthest(told: list[Row]) -> list[Row]:
    """Of very many feet those furthest from their peers either way, in the same order."""
    if len(told) <= MOST_FEET:
        return told
    least = sorted((abs(_beside(row)) for row in told), reverse=True)[MOST_FEET - 1]
    return [row for row in told if abs(_beside(row)) >= least]


def _beside(row: Row) -> float:
    return row["deg_per_week"] - row["peers_deg_per_week"]


def _feet_answer(told: list[Row], herd: Herd, count: int) -> str:
    if not told:
        return "No foot has enough readings of its own yet."
    first = told[0]
    return (
        f"Fastest is the {FOOT_NAMES[first['foot']].lower()} of {herd.name(first['horse_id'])}, at "
        f"{figure(first['deg_per_week'], 2)}° a week (likely {span(first['low'], first['high'], 2)}) against "
        f"{figure(first['peers_deg_per_week'], 2)}° of its peers. {whole(len(told))} of "
        f"{many(count, 'foot', 'feet')} have enough readings to tell."
    )


def _foot_line(row: Row, herd: Herd) -> tuple[str, ...]:
    return (
        herd.name(row["horse_id"]),
        FOOT_NAMES[row["foot"]],
        plain(row["shod_or_bare"]),
        figure(row["deg_per_week"], 2),
        span(row["low"], row["high"], 2),
        figure(row["peers_deg_per_week"], 2),
        figure(_beside(row), 2),
        whole(row["steps"]),
    )


def _numbers(head: str, found: list[Row]) -> Numbers:
    heads = (head, "Degrees a week", "Likely", "Scatter of a change", "Pairs of readings", "Feet", "Horses", "Note *")
    faint = (place for place, row in enumerate(found) if row["deg_per_week"] is None)
    return table(
        f"Change of the toe angle between visits by {head.lower()}", heads, [_line(row) for row in found], faint
    )


def _line(row: Row) -> tuple[str, ...]:
    return (
        row["level"],
        figure(row["deg_per_week"], 2),
        span(*limits(row), 2),
        figure(row["residual_sd_deg"]),
        whole(row["steps"]),
        whole(row["feet"]),
        whole(row["horses"]),
        sentence(row["note"]),
    )
