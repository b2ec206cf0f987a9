"""The section on fit by pace: losses by how much steel stands behind the heel in fast, mixed and slow work."""

from reports.charts.grid import Cell, grid
from reports.drawing import Chart
from reports.page import Numbers, Section, columns, table
from reports.pages.loss_factors import BY_PACE, SET_TO_THE_MIDDLE, held, leaves_out_one
from reports.picking import Results, Row, in_order, known, rows
from reports.wording import PACE_NAMES, figure, level_name, listed, many, percent, plain, sentence, span, whole

PRACTICE = (
    "Fast work is commonly shod closer and slow work with more steel behind the heel, since a longer branch is easier "
    "to tread on (common practice, no source)."
)
BRANCHES = ("short of the heel", "0 to 5 mm", "5 to 10 mm", "10 mm and over")
SHORT = BRANCHES[:2]
ENOUGH_SHOES = 30  # a cell with fewer is not tinted: one loss would darken it


def by_pace(results: Results) -> Section | None:
    """Losses by length of branch on each pace."""
    found = rows(results, "fit_by_pace")
    if not found:
        return None
    return Section(
        "How does close fitting go with lost shoes on each pace?",
        _pace_answer(results, found),
        (_picture(found),),
        (_pace_numbers(found), _rates(found)),
        (
            PRACTICE,
            "Steel behind the heel was measured when the shoe was nailed on; shoes without it are left out.",
            *((SET_TO_THE_MIDDLE,) if known(_by_pace(results), "ratio_median_unbiased") else ()),
        ),
    )


def _by_pace(results: Results) -> list[Row]:
    return [held(row) for row in rows(results, "loss_factors", factor=BY_PACE)]


def _pace_answer(results: Results, found: list[Row]) -> str:
    short = [part for pace in ("fast", "slow") if (part := _short_share(found, pace))]
    shod = f"Under 5 mm of steel behind the heel: {' and '.join(short)}. " if short else ""
    told = known(_by_pace(results), "low")
    told = in_order(told, PACE_NAMES)
    if not told:
        return f"{shod}Too few shoes have been lost to say what a longer branch goes with on each pace."
    ratios = [
        f"{figure(row['rate_ratio'])} times in {_pace(row['level'])} (likely {span(row['low'], row['high'])})"
        for row in told
    ]
    sure = [_pace(row["level"]) for row in told if leaves_out_one(row)]
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
        grid("shoes lost of every 100 nailed on", [PACE_NAMES[pace] for pace in paces], lines),
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
