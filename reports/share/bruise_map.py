"""Where bruises were found: four soles side by side, toes up, the inner side of each foot toward its fellow's."""

from typing import Any

from reports import svg
from reports.charts.sole_map import PLACES, sole
from reports.theme import CARD, COLOURS, INK, SOFT
from reports.wording import FOOT_NAMES, level_name, many
from schemas.words import FEET

# On half a sheet of paper 400 across is 252 points, on a narrow screen 330 pixels: a name of 13 is 8 points, 10 pixels.
WIDTH, HEIGHT, NAME = 400.0, 144.0, 13.0
CORNERS = {"LF": (50.0, 4.0), "RF": (150.0, 4.0), "LH": (250.0, 4.0), "RH": (350.0, 4.0)}
SCALE = 0.87  # of the sole, which is 108 wide and 120 high about its middle, the inner side of a left foot at the right
SITES: dict[str | None, tuple[float, float]] = {
    **PLACES,
    "toe": (0.0, 17.0),  # higher, since a ring with a figure needs more room than the site's tint
    None: (0.0, 79.0),
}
ACCENT = COLOURS["accent"].light
STROKES = {1: 1.2, 2: 4.0, 3: 1.2}


def bruise_map(looks: list[dict[str, Any]]) -> str:
    """looks: rows of one horse. A mark holds how often a bruise was found there; its look tells the worst grade."""
    parts = [part for foot in FEET for part in _foot(foot, [look for look in looks if look["foot"] == foot])]
    return svg.picture(parts, WIDTH, HEIGHT, _alt(looks))


def _foot(foot: str, looks: list[dict[str, Any]]) -> list[str]:
    across, down = CORNERS[foot]
    side = 1 if foot.startswith("L") else -1
    looked = sum(look["looked"] for look in looks)
    names = [
        svg.text(words, across, down + 106 + line * (NAME + 2), NAME, ink, text_anchor="middle")
        for line, (words, ink) in enumerate(((FOOT_NAMES[foot], INK), (f"{looked} of {len(looks)}", SOFT)), start=1)
    ]
    marks = [mark for site in SITES for mark in _mark(_found_at(looks, site), site, across, down, side)]
    return [sole(across, down, SCALE), *names, *marks]


def _found_at(looks: list[dict[str, Any]], site: str | None) -> list[int]:
    return [look["bruise_grade"] for look in looks if (look["bruise_grade"] or 0) >= 1 and look["bruise_site"] == site]


def _mark(grades: list[int], site: str | None, across: float, down: float, side: int) -> list[str]:
    if not grades:
        return []
    x, y, worst = across + side * SCALE * SITES[site][0], down + SCALE * SITES[site][1], max(grades)
    fill, ink = (ACCENT, CARD) if worst == 3 else (CARD, INK)
    circle = svg.element("circle", cx=x, cy=y, r=12, fill=fill, stroke=ACCENT, stroke_width=STROKES[worst])
    return [circle, svg.text(str(len(grades)), x, y + 4.6, NAME, ink, text_anchor="middle", font_weight="bold")]


def _alt(looks: list[dict[str, Any]]) -> str:
    return (
        f"Bruises by site. {'. '.join(_told(foot, [look for look in looks if look['foot'] == foot]) for foot in FEET)}."
    )


def _told(foot: str, looks: list[dict[str, Any]]) -> str:
    found = []
    for site in SITES:
        if grades := _found_at(looks, site):
            where = level_name("site", site) if site else "site not told"
            found.append(f"{where} {many(len(grades), 'time')}, worst grade {max(grades)}")
    looked = f"looked at {sum(look['looked'] for look in looks)} of {many(len(looks), 'time')}"
    return f"{FOOT_NAMES[foot]} {looked}: {'; '.join(found) or 'no bruise found'}"
