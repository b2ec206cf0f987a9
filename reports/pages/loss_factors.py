"""The sections on what goes with lost shoes: all factors together, and the fit by pace."""

from reports.charts.grid import Cell, grid
from reports.charts.loss_factors import Ratio, loss_factors
from reports.drawing import Chart
from reports.page import Numbers, Section, columns, table
from reports.picking import NOT_RECORDED, Results, Row, in_order, known, rows
from reports.wording import PACE_NAMES, figure, level_name, listed, many, percent, plain, sentence, span, whole

MOST_NAMED = 4
FACTORS = {
    "discipline": "Work",
    "end": "Front or hind",
    "branch_past_heel_mm": "Steel behind the heel",
    "wall_state": "Hoof wall",
    "hind_shod": "Hind foot, same side",
    "hind_toe_leaving_mm": "Hind toe, same side",
    "hind_angle_leaving_deg": "Hind angle, same side",
    "season": "Season of nailing",
    "turnout": "Turnout",
    "nails_total": "Nails in all",
    "heel_nails": "Nails at the heel",
    "edges_dressed": "Edges rounded",
    "clips": "Clips",
    "pad": "Pad",
    "fitting": "Fitting",
    "nail_line": "Line of the clinches",
    "sole_relief": "Clear of the sole",
    "shoe_style": "Style of the shoe",
    "shoe_material": "Material",
    "handling": "How the horse stands",
    "wall_side": "Side of a poor wall",
    "nails_on_unsound_side": "Nails on a poor wall",
    "farrier": "Farrier",
    "days_late": "Planned date",
    "ground": "Ground",
}
# Shorter, for the picture: the ratio of a measure has its step written behind it.
MEASURES = {
    "branch_past_heel_mm": "Steel behind heel",
    "hind_toe_leaving_mm": "Hind toe",
    "hind_angle_leaving_deg": "Hind angle",
    "nails_on_unsound_side": "Nails, poor wall",
}
ENOUGH_SHOES = 30  # a cell with fewer is not tinted: one loss would darken it
HANDLING = {"1": "easy", "2": "fairly easy", "3": "middling", "4": "hard", "5": "not safe to finish"}
BY_PACE = "branch_by_pace"
UNSHOWN = ("farrier", BY_PACE)
TOGETHER = (
    "Each ratio is taken with all the others held equal, and its range allows for shoes of one horse going together. "
    "Within the horse: the same from comparing each horse’s shoes only with its own, which leaves out all that differs "
    "between horses. What goes together need not be the cause."
)
FARRIERS = (
    "The farrier is held equal too where one is on record, but has no line here: farriers see different horses and are "
    "never compared."
)
PRACTICE = (
    "Fast work is commonly shod closer and slow work with more steel behind the heel, since a longer branch is easier "
    "to tread on (common practice, no source)."
)
BRANCHES = ("short of the heel", "0 to 5 mm", "5 to 10 mm", "10 mm and over")
SHORT = BRANCHES[:2]


def together(results: Results) -> Section:
    """All factors in one model."""
    found = [row for row in rows(results, "loss_factors") if row["factor"] not in UNSHOWN]
    told = known(found, "low")
    drawn = [row for row in told if row["level"] != NOT_RECORDED]
    return Section(
        "What goes with losing a shoe, all taken together?",
        _answer(told),
        (loss_factors(_ratios(drawn)),) if drawn else (),
        (_numbers(found),) if found else (),
        (TOGETHER, *_without(found), FARRIERS) if found else (),
    )


def _answer(told: list[Row]) -> str:
    if not told:
        return "Too few shoes have been lost to weigh one thing against another."
    sure = sorted((row for row in told if _leaves_out_one(row)), key=lambda row: row["p_value"])
    expected = f"about {whole(len(told) / 20)}" if len(told) >= 20 else "fewer than one" if len(told) < 15 else "one"
    text = (
        f"{whole(len(sure)) if sure else 'None'} of {many(len(told), 'ratio')} {'has' if len(sure) == 1 else 'have'} a "
        f"likely range that leaves out 1; were there nothing to find, {expected} would by chance alone."
    )
    named = [_said(row) for row in sure if row["level"] != NOT_RECORDED][:MOST_NAMED]
    return f"{text} Clearest: {'; '.join(named)}." if named else text


def _leaves_out_one(row: Row) -> bool:
    return row["low"] > 1 or row["high"] < 1


def _said(row: Row) -> str:
    name = FACTORS[row["factor"]].lower()
    likely = span(row["low"], row["high"])
    beside = "" if row["level"].startswith("per ") else f" beside “{_reference(row)}”"
    return f"{name}, “{_level(row)}”: {figure(row['rate_ratio'])} times the rate{beside} (likely {likely})"


def _level(row: Row) -> str:
    level = row["level"]
    if level.startswith("per "):
        return f"{level[4:]} more"
    if row["factor"] == "handling":
        return HANDLING.get(level, level)
    return level_name(row["factor"], level).lower() if row["factor"] == "discipline" else plain(level).lower()


def _reference(row: Row) -> str:
    reference = row["reference"] or ""
    return _level({**row, "level": reference}) if reference else "–"


def _ratios(drawn: list[Row]) -> list[Ratio]:
    """One line a row; a measure stands alone, levels stand under the name of their factor and what it is set beside."""
    ratios = []
    for row in drawn:
        name = FACTORS[row["factor"]]
        alone = row["level"].startswith("per ") or row["level"] == "yes"
        group = "" if alone else f"{name}, beside {_reference(row)}"
        written = _alone(row) if alone else plain(_level(row))
        figures = (row["rate_ratio"], row["low"], row["high"], row["within_horse_ratio"], row["losses"], row["shoes"])
        ratios.append(Ratio(group, written, *figures))
    return ratios


def _alone(row: Row) -> str:
    """A measure with the step of its ratio: `per 5 mm` → `Hind toe, +5 mm`; a yes beside a no by its name."""
    name = FACTORS[row["factor"]]
    if row["level"] == "yes":
        return name
    step = row["level"].removeprefix("per ").replace(" degree", "°").replace(" nail", "")
    return f"{MEASURES.get(row['factor'], name)}, +{step}"


def _without(found: list[Row]) -> tuple[str, ...]:
    left = [(row["factor"], row["note"]) for row in found if (row["note"] or "").startswith("left out: ")]
    if not left:
        return ()
    told = [f"{FACTORS[factor].lower()} ({note.removeprefix('left out: ')})" for factor, note in left]
    return (f"Left out: {'; '.join(told)}.",)


def _numbers(found: list[Row]) -> Numbers:
    heads = ("What", "Level *", "Beside *", "Ratio", "Likely", "Within the horse", "Likely", "Lost", "Shoes", "Note *")
    faint = (place for place, row in enumerate(found) if row["rate_ratio"] is None)
    return table("Ratios of loss rates, all factors together", heads, [_line(row) for row in found], faint)


def _line(row: Row) -> tuple[str, ...]:
    is_reference = row["note"] == "reference"
    return (
        FACTORS[row["factor"]],
        _level(row) if row["level"] != "all" else "–",
        "–" if is_reference else _reference(row),
        figure(row["rate_ratio"]),
        span(row["low"], row["high"]),
        figure(row["within_horse_ratio"]),
        span(row["within_low"], row["within_high"]),
        whole(row["losses"]),
        whole(row["shoes"]),
        "Set beside." if is_reference else sentence(row["note"]),
    )


def by_pace(results: Results) -> Section | None:
    """Losses by length of branch on each pace."""
    found = rows(results, "fit_by_pace")
    if not found:
        return None
    return Section(
        "Does close fitting keep shoes on in fast work?",
        _pace_answer(results, found),
        (_picture(found),),
        (_pace_numbers(found), _rates(found)),
        (PRACTICE, "Steel behind the heel was measured when the shoe was nailed on; shoes without it are left out."),
    )


def _pace_answer(results: Results, found: list[Row]) -> str:
    short = [part for pace in ("fast", "slow") if (part := _short_share(found, pace))]
    shod = f"Under 5 mm of steel behind the heel: {' and '.join(short)}. " if short else ""
    told = known(rows(results, "loss_factors", factor=BY_PACE), "low")
    told = in_order(told, PACE_NAMES)
    if not told:
        return f"{shod}Too few shoes have been lost to say what a longer branch goes with on each pace."
    ratios = [
        f"{figure(row['rate_ratio'])} times in {_pace(row['level'])} (likely {span(row['low'], row['high'])})"
        for row in told
    ]
    sure = [_pace(row["level"]) for row in told if _leaves_out_one(row)]
    verdict = f"The range leaves out 1 in {listed(sure)} only." if sure and len(sure) < len(told) else ""
    verdict = "Every range holds 1, so all of this may be chance." if not sure else verdict
    return f"{shod}All else being equal, each 5 mm more goes with a loss rate {listed(ratios)}. {verdict}".strip()


def _short_share(found: list[Row], pace: str) -> str:
    own = [row for row in found if row["pace"] == pace]
    total = sum(row["shoes"] for row in own)
    few = sum(row["shoes"] for row in own if row["branch_band"] in SHORT)
    return f"{percent(few / total)} of shoes in {_pace(pace)}" if total else ""


def _pace(pace: str) -> str:
    return level_name("pace", pace).lower()


def _picture(found: list[Row]) -> Chart:
    cell = {(row["branch_band"], row["pace"]): row for row in found}
    paces = [pace for pace in PACE_NAMES if any(row["pace"] == pace for row in found)]
    most = max((row["per_100_shoes"] or 0 for row in found if row["shoes"] >= ENOUGH_SHOES), default=0) or 1
    lines = [(plain(band), [_cell(cell.get((band, pace)), most) for pace in paces]) for band in BRANCHES]
    said = "; ".join(
        f"{_pace(row['pace'])}, {row['branch_band']}: {figure(row['per_100_shoes'])} of 100, "
        f"{many(row['shoes'], 'shoe')}"
        for row in found
    )
    return Chart(
        "fit-by-pace",
        grid("lost of 100 shoes, and how many were nailed on", [PACE_NAMES[pace] for pace in paces], lines),
        f"Shoes lost of 100 by steel behind the heel and pace: {said}.",
        "Each figure: shoes lost of every 100 nailed on; below it, shoes nailed on. A stronger tint: more lost; cells "
        f"with under {ENOUGH_SHOES} shoes have none. Nothing else is held equal here.",
    )


def _cell(row: Row | None, most: float) -> Cell | None:
    if row is None or row["per_100_shoes"] is None:
        return None
    share = row["per_100_shoes"] / most if row["shoes"] >= ENOUGH_SHOES else 0.0
    return Cell(figure(row["per_100_shoes"]), share, f"of {whole(row['shoes'])}")


def _pace_numbers(found: list[Row]) -> Numbers:
    heads = columns("Steel behind the heel", *[f"{name}" for name in PACE_NAMES.values()])
    cell = {(row["branch_band"], row["pace"]): row for row in found}
    lines = [(plain(band), *[_written(cell.get((band, pace))) for pace in PACE_NAMES]) for band in BRANCHES]
    return Numbers("Losses per 100 shoes, and shoes lost of those nailed on", heads, lines)


def _written(row: Row | None) -> str:
    if row is None:
        return "–"
    return f"{figure(row['per_100_shoes'])} ({whole(row['losses'])} of {whole(row['shoes'])})"


def _rates(found: list[Row]) -> Numbers:
    heads = ("Pace", "Steel behind the heel *", "Rate", "Likely", "Lost", "Expected", "Shoes", "Note *")
    order = sorted(found, key=lambda row: (list(PACE_NAMES).index(row["pace"]), BRANCHES.index(row["branch_band"])))
    faint = (place for place, row in enumerate(order) if row["note"])
    return table(
        "Losses per 1,000 shoe-days, beside those expected in the same work",
        heads,
        [_rate(row) for row in order],
        faint,
    )


def _rate(row: Row) -> tuple[str, ...]:
    return (
        PACE_NAMES[row["pace"]],
        plain(row["branch_band"]),
        figure(row["per_1000_days"]),
        span(row["low"], row["high"]),
        whole(row["losses"]),
        figure(row["expected"]),
        whole(row["shoes"]),
        sentence(row["note"]),
    )
