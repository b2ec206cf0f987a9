"""Where on the sole bruises were found: a sole seen from below, the toe up, with how often at each site."""

from dataclasses import dataclass
from functools import cache

from reports import svg
from reports.drawing import Chart, Drawn
from reports.theme import CARD, CHART_WIDTH, INK, RULE, SMALL_WIDTH, SOFT, VERMILLION
from reports.wording import BLANK, END_NAMES, level_name, many
from schemas.words import BRUISE_SITES, ENDS

# The sole of a foot on a field 108 wide and 120 high about x 0, its inner side at the right. Own drawing.
WALL = (
    "M-34 112C-52 88 -54 46 -36 20C-22 0 22 0 36 20C54 46 52 88 34 112C30 118 18 117 14 109Q0 115 -14 109"
    "C-18 117 -30 118 -34 112Z"
)
WHITE_LINE = "M-27 105C-43 84 -45 48 -29 26C-18 10 18 10 29 26C45 48 43 84 27 105"
FROG = "M-14 109L0 62L14 109M0 88V108"
PLACES = {
    "toe": (0.0, 21.0),
    "body": (0.0, 47.0),
    "quarter_medial": (31.0, 58.0),
    "quarter_lateral": (-31.0, 58.0),
    "heel_medial": (27.0, 93.0),
    "heel_lateral": (-27.0, 93.0),
}
DARKEST = 0.6  # opacity of the darkest tint: a figure stays readable on it in both schemes
HEIGHT = 120.0


@dataclass(frozen=True)
class Found:
    """How often bruises began at each site of front and of hind feet: (end, site) → episodes."""

    episodes: dict[tuple[str, str], int]

    def at(self, end: str, site: str) -> int:
        """Episodes at one site of one end."""
        return self.episodes.get((end, site), 0)

    @property
    def most(self) -> int:
        """The highest count at one site that is told."""
        return max((self.at(end, site) for end in ENDS for site in BRUISE_SITES), default=0)

    @property
    def untold(self) -> int:
        """Episodes whose site was not written down."""
        return sum(count for (_, site), count in self.episodes.items() if site not in BRUISE_SITES)


@cache
def sole(x: float, top: float, scale: float) -> str:
    """An empty sole about x."""
    drawn = [
        svg.element("path", d=WALL, fill=CARD, stroke=INK, stroke_width=1.6),
        svg.element("path", d=WHITE_LINE, fill="none", stroke=RULE, stroke_width=1.4),
        svg.element("path", d=FROG, fill="none", stroke=RULE, stroke_width=1.4),
    ]
    return svg.element("g", "".join(drawn), transform=f"translate({x:g} {top:g}) scale({scale:g})")


def sole_map(found: Found) -> Chart:
    """All front and all hind feet, side by side."""
    parts = []
    for end, x in zip(ENDS, (CHART_WIDTH / 4, 3 * CHART_WIDTH / 4), strict=True):
        parts.append(svg.label(END_NAMES[end], x, 12, text_anchor="middle"))
        parts += [sole(x, 20.0, 1.45), *_marks(found, end, (x, 20.0), 1.45, 11.5)]
        parts += [
            svg.label("outer side", x - 84, 216, SOFT),
            svg.label("inner side", x + 84, 216, SOFT, text_anchor="end"),
        ]
    return Chart(
        "sole-map",
        Drawn(tuple(parts), CHART_WIDTH, 222),
        f"Bruises by site on the sole: {_said(found)}.",
        "A sole from below, the toe up; left and right feet together, the inner side at the right. Each figure: "
        f"episodes begun there; the more, the stronger the tint.{_untold(found)}",
    )


def small_sole_map(place: int, name: str, found: Found) -> Chart:
    """The same of one kind of work, small."""
    parts = []
    for end, x in zip(ENDS, (SMALL_WIDTH / 4, 3 * SMALL_WIDTH / 4), strict=True):
        parts += [sole(x, 2.0, 0.8), *_marks(found, end, (x, 2.0), 0.8, 8.0)]
        parts.append(svg.label(END_NAMES[end].split()[0], x, 112, SOFT, text_anchor="middle"))
    return Chart(
        f"sole-map-{place}",
        Drawn(tuple(parts), SMALL_WIDTH, 116),
        f"{name}: bruises by site on the sole: {_said(found)}.",
        title=name,
        small=True,
    )


def _marks(found: Found, end: str, corner: tuple[float, float], scale: float, radius: float) -> list[str]:
    parts = []
    for site, (across, down) in PLACES.items():
        count, x, y = found.at(end, site), corner[0] + across * scale, corner[1] + down * scale
        if count:
            tint = round(0.08 + (DARKEST - 0.08) * count / found.most, 3)
            look = {"fill": VERMILLION, "fill_opacity": tint, "stroke": VERMILLION, "stroke_width": 1}
            parts.append(svg.element("circle", cx=x, cy=y, r=radius, **look))
        written = str(count) if count else BLANK
        parts.append(svg.label(written, x, y + 4, INK if count else SOFT, text_anchor="middle"))
    return parts


def _untold(found: Found) -> str:
    return f" Not drawn: {many(found.untold, 'episode')} without a site." if found.untold else ""


def _said(found: Found) -> str:
    told = []
    for end in ENDS:
        sites = [f"{level_name('site', site).lower()} {found.at(end, site)}" for site in PLACES if found.at(end, site)]
        told.append(f"{END_NAMES[end].lower()} {', '.join(sites) or '0 at any site'}")
    return "; ".join(told)
