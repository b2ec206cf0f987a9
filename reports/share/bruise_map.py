"""Where bruises were found: four soles side by side, toes up, the inner side of each foot toward its fellow's."""

from typing import Any

from reports import svg
from reports.theme import CARD, COLOURS, INK, RULE, SOFT
from reports.wording import FOOT_NAMES, level_name, many
from schemas.words import FEET

# On half a sheet of paper 400 across is 252 points, on a narrow screen 330 pixels: a name of 13 is 8 points, 10 pixels.
WIDTH, HEIGHT, NAME = 400.0, 142.0, 13.0
PLACES = {"LF": (50.0, 4.0), "RF": (150.0, 4.0), "LH": (250.0, 4.0), "RH": (350.0, 4.0)}
# The sole of a left foot on a field 100 wide and 104 high about x 0; a right foot is its mirror. Own drawing.
SOLE = "M-20 98C-44 84 -46 42 -34 22C-24 6 24 6 34 22C46 42 44 84 20 98C12 92 -12 92 -20 98Z"
FROG = "M-13 94L0 48L13 94"
SITES = {
    "toe": (0.0, 17.0),
    "quarter_medial": (31.0, 50.0),
    "quarter_lateral": (-31.0, 50.0),
    "heel_medial": (28.0, 85.0),
    "heel_lateral": (-28.0, 85.0),
    "body": (0.0, 47.0),
    None: (0.0, 76.0),
}
ACCENT = COLOURS["accent"].light
STROKES = {1: 1.2, 2: 4.0, 3: 1.2}


def bruise_map(looks: list[dict[str, Any]]) -> str:
    """looks: rows of one horse. A mark holds how often a bruise was found there; its look tells the worst grade."""
    parts = [part for foot in FEET for part in _foot(foot, [look for look in looks if look["foot"] == foot])]
    return svg.picture(parts, WIDTH, HEIGHT, _alt(looks))


def _foot(foot: str, looks: list[dict[str, Any]]) -> list[str]:
    across, down = PLACES[foot]
    side = 1 if foot.startswith("L") else -1
    looked = sum(look["looked"] for look in looks)
    drawn = [
        svg.element("path", d=SOLE, fill=CARD, stroke=INK, stroke_width=1.5),
        svg.element("path", d=FROG, fill="none", stroke=RULE, stroke_width=1.5),
    ]
    frame = svg.element("g", "".join(drawn), transform=f"translate({across} {down}) scale({side} 1)")
    names = [
        svg.text(words, across, down + 104 + line * (NAME + 2), NAME, ink, text_anchor="middle")
        for line, (words, ink) in enumerate(((FOOT_NAMES[foot], INK), (f"{looked} of {len(looks)}", SOFT)), start=1)
    ]
    marks = [mark for site in SITES for mark in _mark(_found_at(looks, site), site, across, down, side)]
    return [frame, *names, *marks]


def _found_at(looks: list[dict[str, Any]], site: str | None) -> list[int]:
    return [look["bruise_grade"] for look in looks if (look["bruise_grade"] or 0) >= 1 and look["bruise_site"] == site]


def _mark(grades: list[int], site: str | None, across: float, down: float, side: int) -> list[str]:
    if not grades:
        return []
    x, y, worst = across + side * SITES[site][0], down + SITES[site][1], max(grades)
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
