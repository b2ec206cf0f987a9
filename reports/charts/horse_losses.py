"""Which horses lose more shoes than their peers: the funnel, and found beside expected."""

import altair as alt

from reports.charts.axes import FIGURES, NAMES, figures_up, rows_down, sized
from reports.drawing import Chart, inline_data
from reports.picking import Row
from reports.theme import AMBER, BLUE, GREEN, GREY, INK, VERMILLION
from reports.wording import figure

MOST_POINTS = 400
MOST_HORSES = 15
PLACES = {
    "above_998": ("Far above", VERMILLION, "diamond", 90),
    "above_95": ("Above", AMBER, "triangle-up", 70),
    "inside": ("As expected", BLUE, "circle", 34),
    "below_95": ("Below", GREEN, "triangle-down", 70),
    "below_998": ("Far below", GREEN, "square", 60),
}


def comparable(row: Row) -> bool:
    """Whether a horse has a place in the funnel and peers enough to be given one."""
    return row["funnel"] in PLACES and not row["few_peers"]


def drawn_horses(horses: list[Row]) -> list[Row]:
    """The horses a funnel can show: those outside it, and of the others as many as fit, evenly by expected losses.

    Horses with few peers are in none: where what is expected is a guess, so is a place in the funnel.
    """
    placed = [row for row in horses if comparable(row) and row["ratio"] is not None and row["expected"]]
    placed.sort(key=lambda row: (-row["expected"], row["horse_id"]))
    outside = [row for row in placed if row["funnel"] != "inside"][:MOST_POINTS]
    inside = [row for row in placed if row["funnel"] == "inside"]
    room = min(MOST_POINTS - len(outside), len(inside))
    return outside + [inside[place * len(inside) // room] for place in range(room)]


def funnel(horses: list[Row], bands: list[Row], spread: Row | None) -> Chart:
    """Lost over expected, by expected losses; bands: edges of the funnel, drawn where they are known.

    spread: how far horses differ, if that is known: edges for horses that differ so are drawn as lines.
    """
    drawn = drawn_horses(horses)
    right, top = _ends(drawn)
    layers = _bands([row for row in bands if row["expected"] <= right], right, top)
    differ = [row for row in bands if row["expected"] <= right and row["high_95_spread"] is not None]
    layers += _differing(differ, right, top) if spread and spread["ratio_sd"] else []
    layers += [_line_at_one(right, top), *_points(drawn, right, top)]
    outside = sum(row["funnel"] != "inside" for row in drawn)
    said = f"{len(drawn)} horses, {outside} outside the funnel. " + " ".join(
        f"{name}: {sum(row['funnel'] == place for row in drawn)}." for place, (name, *_) in PLACES.items()
    )
    higher = any(row["ratio"] > top for row in drawn)
    return Chart(
        "funnel",
        sized(layers, 260, FIGURES + 22),
        f"Funnel of lost over expected shoes. {said}",
        _caption(higher, spread),
    )


def found_and_expected(horses: list[Row]) -> Chart:
    """The horses given, in their order, each with a `label` of its own: shoes lost as a bar, expected as a tick."""
    rows = [{"label": row["label"], "losses": row["losses"], "expected": row["expected"]} for row in horses]
    said = "; ".join(f"{row['label']} {row['losses']} lost, {figure(row['expected'])} expected" for row in horses)
    return Chart(
        "found-and-expected",
        sized(_bars_and_ticks(rows), len(rows) * 24, NAMES),
        f"Shoes lost beside shoes expected: {said}.",
        "Bar: shoes lost. Tick: shoes that horses in the same work would have lost in the same time.",
    )


def _caption(higher: bool, spread: Row | None) -> str:
    text = (
        "Each mark is a horse. Up: it lost more than its peers would have. Right: more is known of it. The grey funnel "
        "is what chance alone does."
    )
    if spread:
        text += (
            f" Of these {spread['horses']} horses it would put {_few(spread['chance_above_95'])} above the inner edge "
            f"and {_few(spread['chance_above_998'])} above the outer edge."
        )
    if spread and spread["ratio_sd"]:
        text += (
            " Lines: between them would lie 95% of horses that differ from one another as much as these do beyond "
            f"chance (the variance of their losses is {figure(spread['dispersion'])} times what chance alone gives)."
        )
    return text + (" Marks on the top edge lie higher." if higher else "")


def _few(horses: float) -> str:
    return f"about {figure(horses)}" if horses >= 0.1 else "fewer than 0.1"


def _differing(bands: list[Row], right: float, top: float) -> list[alt.Chart]:
    data = alt.Chart(inline_data(bands)).encode(x=_across(right))
    mark = data.mark_line(color=GREY, strokeWidth=1.2, strokeDash=[2, 2], clip=True)
    return [mark.encode(y=_up(edge, top)) for edge in ("low_95_spread", "high_95_spread")]


def _ends(drawn: list[Row]) -> tuple[float, float]:
    """Right and top end: everything known of horses with at least one expected loss, at least 4 times the expected."""
    right = max(row["expected"] for row in drawn) * 1.05
    solid = [row["ratio"] for row in drawn if row["expected"] >= 1]
    return max(right, 1.0), max(4.0, *[1.1 * ratio for ratio in solid], 0)


def _across(right: float) -> alt.X:
    axis = alt.Axis(title="shoes expected to be lost", tickCount=6, grid=False)
    return alt.X(field="expected", type="quantitative", scale=alt.Scale(domain=[0, right], nice=False), axis=axis)


def _up(field: str, top: float) -> alt.Y:
    scale = alt.Scale(domain=[0, top], nice=False, clamp=True)
    return figures_up(field, title="times the expected", tickCount=6, format="~f").scale(scale)


def _bands(bands: list[Row], right: float, top: float) -> list:
    if not bands:
        return []
    data = alt.Chart(inline_data(bands)).encode(x=_across(right))
    wide = data.mark_area(color=GREY, opacity=0.13).encode(y=_up("low_998", top), y2=alt.Y2(field="high_998"))
    tight = data.mark_area(color=GREY, opacity=0.2).encode(y=_up("low_95", top), y2=alt.Y2(field="high_95"))
    return [wide, tight]


def _line_at_one(right: float, top: float) -> alt.Chart:
    ends = [{"expected": 0, "one": 1}, {"expected": right, "one": 1}]
    mark = alt.Chart(inline_data(ends)).mark_line(color=INK, strokeDash=[4, 3], strokeWidth=1)
    return mark.encode(x=_across(right), y=_up("one", top))


def _points(drawn: list[Row], right: float, top: float) -> list:
    present = [place for place in PLACES if any(row["funnel"] == place for row in drawn)]
    names = [PLACES[place][0] for place in present]
    points = [_point(row) for row in reversed(drawn)]
    colour = alt.Scale(domain=names, range=[PLACES[place][1] for place in present])
    shape = alt.Scale(domain=names, range=[PLACES[place][2] for place in present])
    mark = alt.Chart(inline_data(points)).mark_point(filled=True, opacity=0.85)
    return [
        mark.encode(
            x=_across(right),
            y=_up("ratio", top),
            color=alt.Color(field="place", type="nominal", scale=colour, legend=alt.Legend(columns=3)),
            shape=alt.Shape(field="place", type="nominal", scale=shape),
            size=alt.Size(field="size", type="quantitative", scale=None),
        )
    ]


def _point(row: Row) -> dict:
    name, _, _, size = PLACES[row["funnel"]]
    return {"expected": row["expected"], "ratio": row["ratio"], "place": name, "size": size}


def _bars_and_ticks(rows: list[dict]) -> list[alt.Chart]:
    most = max(max(row["losses"], row["expected"] or 0) for row in rows)
    scale = alt.Scale(domain=[0, most * 1.08], nice=False)
    axis = alt.Axis(title="shoes", tickCount=5, tickMinStep=1, format="~f")
    names = [row["label"] for row in rows]
    down = rows_down(names, 0.35)
    data = alt.Chart(inline_data(rows)).encode(y=down)
    lost = data.mark_bar(color=BLUE, opacity=0.6).encode(
        x=alt.X(field="losses", type="quantitative", scale=scale, axis=axis)
    )
    ticks = data.mark_tick(color=INK, thickness=3, size=19).encode(
        x=alt.X(field="expected", type="quantitative", scale=scale, axis=axis)
    )
    return [lost, ticks]
