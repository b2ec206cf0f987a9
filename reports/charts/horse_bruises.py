"""One horse's bruises: four soles from below, how often at each site, the worst grade by the look of the mark."""

from collections import Counter

from reports import svg
from reports.charts.sole_map import PLACES, sole
from reports.drawing import Chart, Drawn
from reports.picking import Row
from reports.theme import CARD, CHART_WIDTH, INK, SOFT, VERMILLION
from reports.wording import FOOT_NAMES, level_name, many
from schemas.words import FEET

SCALE, DOWN = 1.15, 176.0
STROKES = {1: 1.2, 2: 3.2, 3: 1.2}
UNTOLD = (0.0, 84.0)  # on the frog, where no site is


def horse_bruises(looks: list[Row]) -> Chart:
    """looks: rows of one horse, each a foot at a visit."""
    parts: list[str] = []
    for place, foot in enumerate(FEET):
        x, top = (0.25 + 0.5 * (place % 2)) * CHART_WIDTH, 4 + (place // 2) * DOWN
        parts += _foot(foot, [look for look in looks if look["foot"] == foot], x, top)
    return Chart(
        "bruises",
        Drawn(tuple(parts), CHART_WIDTH, 2 * DOWN + 2),
        f"Bruises by foot and site: {'; '.join(_said(foot, looks) for foot in FEET)}.",
        "Soles from below, the toe up, the horse’s left feet at the left; inner sides face the middle. Figure: looks "
        "that found a bruise there. Thin ring: faint at worst; thick ring: clear; full: deep or painful.",
    )


def _foot(foot: str, looks: list[Row], x: float, top: float) -> list[str]:
    side = 1 if foot.startswith("L") else -1
    found = found_at(looks)
    marks = [part for site in (*PLACES, None) if site in found for part in _mark(found[site], site, x, top, side)]
    seen = sum(look["looked"] for look in looks)
    under = f"looked at {seen} of {len(looks)}" if looks else "not seen"
    return [
        sole(x, top, SCALE),
        *marks,
        svg.label(FOOT_NAMES[foot], x, top + 150, text_anchor="middle"),
        svg.label(under, x, top + 164, SOFT, text_anchor="middle"),
    ]


def found_at(looks: list[Row]) -> dict[str | None, list[int]]:
    """Site (None where it was not told) → the grades of the bruises found there."""
    found: dict[str | None, list[int]] = {}
    for look in looks:
        if (look["bruise_grade"] or 0) >= 1:
            found.setdefault(look["bruise_site"], []).append(look["bruise_grade"])
    return found


def _mark(grades: list[int], site: str | None, x: float, top: float, side: int) -> list[str]:
    across, down = UNTOLD if site is None else PLACES[site]
    at, worst = (x + side * across * SCALE, top + down * SCALE), max(grades)
    fill, ink = (VERMILLION, CARD) if worst >= 3 else (CARD, INK)
    look = {"fill": fill, "stroke": VERMILLION, "stroke_width": STROKES.get(worst, 1.2)}
    ring = svg.element("circle", cx=at[0], cy=at[1], r=10, **look)
    return [ring, svg.label(str(len(grades)), at[0], at[1] + 4, ink, text_anchor="middle")]


def _said(foot: str, looks: list[Row]) -> str:
    own = [look for look in looks if look["foot"] == foot]
    seen = f"{FOOT_NAMES[foot].lower()} looked at {sum(look['looked'] for look in own)} of {many(len(own), 'time')}"
    counts = Counter({site: len(grades) for site, grades in found_at(own).items()})
    where = [
        f"{level_name('site', site).lower() if site else 'site not told'} {counts[site]}"
        for site in (*PLACES, None)
        if counts[site]
    ]
    return f"{seen}, {', '.join(where) or 'no bruise'}"
