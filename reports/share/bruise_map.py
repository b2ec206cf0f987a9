"""Where bruises were found: four soles seen with the toe up, the inner side toward the middle of the picture."""

from typing import Any

from reports import svg
from reports.theme import CARD, COLOURS, INK, RULE, SOFT
from reports.wording import FOOT_NAMES, level_name, many
from schemas.words import FEET

WIDTH, HEIGHT = 300.0, 268.0
PLACES = {"LF": (75.0, 4.0), "RF": (225.0, 4.0), "LH": (75.0, 134.0), "RH": (225.0, 134.0)}
# The sole of a left foot on a field 100 wide and 104 high about x 0; a right foot is its mirror. Own drawing.
SOLE = "M-20 98C-44 84 -46 42 -34 22C-24 6 24 6 34 22C46 42 44 84 20 98C12 92 -12 92 -20 98Z"
FROG = "M-13 94L0 48L13 94"
SITES = {
    "toe": (0.0, 22.0),
    "quarter_medial": (29.0, 50.0),
    "quarter_lateral": (-29.0, 50.0),
    "heel_medial": (24.0, 82.0),
    "heel_lateral": (-24.0, 82.0),
    "body": (0.0, 43.0),
    None: (0.0, 68.0),
}
ACCENT = COLOURS["accent"].light
STROKES = {1: 1.0, 2: 3.0, 3: 1.0}


def bruise_map(looks: list[dict[str, Any]]) -> str:
    """looks: rows of one horse. A mark holds how often a bruise was found there; its look tells the worst grade."""
    parts = [part for foot in FEET for part in _foot(foot, [look for look in looks if look["foot"] == foot])]
    return svg.picture(parts, WIDTH, HEIGHT, _alt(looks))


def _foot(foot: str, looks: list[dict[str, Any]]) -> list[str]:
    across, down = PLACES[foot]
    side = 1 if foot.startswith("L") else -1
    looked = sum(look["looked"] for look in looks)
    label = f"{FOOT_NAMES[foot]}: {looked} of {many(len(looks), 'look')} made"
    drawn = [
        svg.element("path", d=SOLE, fill=CARD, stroke=INK, stroke_width=1.5),
        svg.element("path", d=FROG, fill="none", stroke=RULE, stroke_width=1.5),
    ]
    frame = svg.element("g", "".join(drawn), transform=f"translate({across} {down}) scale({side} 1)")
    name = svg.text(label, across, down + 113, 8.5, SOFT, text_anchor="middle")
    marks = [mark for site in SITES for mark in _mark(_found_at(looks, site), site, across, down, side)]
    return [frame, name, *marks]


def _found_at(looks: list[dict[str, Any]], site: str | None) -> list[int]:
    return [look["bruise_grade"] for look in looks if (look["bruise_grade"] or 0) >= 1 and look["bruise_site"] == site]


def _mark(grades: list[int], site: str | None, across: float, down: float, side: int) -> list[str]:
    if not grades:
        return []
    x, y, worst = across + side * SITES[site][0], down + SITES[site][1], max(grades)
    fill, ink = (ACCENT, CARD) if worst == 3 else (CARD, INK)
    circle = svg.element("circle", cx=x, cy=y, r=8.5, fill=fill, stroke=ACCENT, stroke_width=STROKES[worst])
    return [circle, svg.text(str(len(grades)), x, y + 3.4, 9.5, ink, text_anchor="middle", font_weight="bold")]


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
