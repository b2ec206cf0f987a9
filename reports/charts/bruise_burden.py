"""How many bruises a foot has had by a day: a curve that rises at each, with its band."""

from reports import svg
from reports.charts.plot import Field, band, level, plain_number, round_numbers, steps, upright
from reports.drawing import Chart, Drawn
from reports.picking import Row
from reports.theme import BLUE, CHART_WIDTH, GREY, SMALL_WIDTH, VERMILLION
from reports.wording import figure, many, span

FEWEST = 10  # a curve ends where fewer feet are still followed: beyond, one bruise moves it by a tenth
LEFT, RIGHT, YEAR = 34.0, 12.0, 365
DASH = "6 3"


def drawable(curve: list[Row]) -> list[Row]:
    """The days of a curve while enough feet are still followed."""
    return [row for row in curve if row["feet"] >= FEWEST and row["mean_episodes"] is not None]


def limits(row: Row) -> tuple[float | None, float | None]:
    """Those that take horses as the sampling units where they are known, else those that take feet."""
    by_horse = row["low_by_horse"], row["high_by_horse"]
    return (row["low"], row["high"]) if None in by_horse else by_horse


def burden_at(curve: list[Row], day: int) -> Row | None:
    """What a curve shows at a day; None where it does not reach it."""
    days = drawable(curve)
    reached = days and days[-1]["day"] >= day
    return next((row for row in reversed(days) if row["day"] <= day), None) if reached else None


def burden_all(curve: list[Row]) -> Chart:
    """All feet."""
    days = drawable(curve)
    field = _field([days], CHART_WIDTH, 196.0)
    parts = [*_axes(field, 0.5), *_banded(field, days, BLUE)]
    return Chart(
        "burden",
        Drawn(tuple(parts), CHART_WIDTH, 234),
        f"Curve of bruises a foot has had: {_said(days)}.",
        f"Line: mean number of new bruises of a foot by the time since its first look, while {FEWEST} feet or more are "
        "still followed. Band: where the true mean likely lies.",
    )


def burden_two(first: list[Row], second: list[Row], names: tuple[str, str]) -> Chart:
    """Two curves told apart by colour and dash, with a key over them."""
    pair = [(drawable(first), BLUE, None), (drawable(second), VERMILLION, DASH)]
    field = _field([days for days, _, _ in pair], CHART_WIDTH, 216.0, top=24.0)
    parts = [part for place, name in enumerate(names) for part in _key(name, 20.0 + 150 * place, *pair[place][1:])]
    parts += _axes(field, 0.5)
    for days, colour, dash in pair:
        parts += _banded(field, days, colour, dash)
    said = "; ".join(f"{name.lower()}, {_said(days)}" for name, (days, _, _) in zip(names, pair, strict=True))
    return Chart(
        "burden-relief",
        Drawn(tuple(parts), CHART_WIDTH, 254),
        f"Two curves of bruises a foot has had: {said}.",
        "Mean number of new bruises of a foot. Bands: where the true means likely lie.",
    )


def burden_small(place: int, name: str, curve: list[Row], every: list[Row], tops: list[list[Row]]) -> Chart:
    """One kind of work, all feet behind it in grey; tops: every curve drawn on this scale."""
    days = drawable(curve)
    field = _field([drawable(every), *map(drawable, tops)], SMALL_WIDTH, 92.0, reach=1.1)
    behind = [(row["day"], row["mean_episodes"]) for row in drawable(every)]
    parts = [*_axes(field, 1, title=""), *([steps(field, behind, GREY, 1.2)] if behind else [])]
    parts += _banded(field, days, BLUE)
    return Chart(
        f"burden-{place}",
        Drawn(tuple(parts), SMALL_WIDTH, 110),
        f"{name}: curve of bruises a foot has had: {_said(days)}.",
        title=name,
        small=True,
    )


def _field(curves: list[list[Row]], width: float, bottom: float, top: float = 8.0, reach: float = 2.0) -> Field:
    """The scale of these curves; bands as far as they stay under `reach` times the highest curve."""
    days = max((curve[-1]["day"] for curve in curves if curve), default=YEAR)
    mean = max((row["mean_episodes"] for curve in curves for row in curve), default=0) or 0.1
    high = max((limits(row)[1] or 0 for curve in curves for row in curve), default=0)
    return Field((0, days), (0, max(mean, min(high, reach * mean)) * 1.04), LEFT, width - RIGHT, top, bottom)


def _axes(field: Field, years: float, title: str = "years since the first look") -> list[str]:
    marks = [years * place for place in range(int(field.x[1] / YEAR / years) + 1)]
    across = Field((0, field.x[1] / YEAR), field.y, field.left, field.right, field.top, field.bottom)
    return [*upright(field, round_numbers(*field.y, 4)), *level(across, marks, title, plain_number)]


def _banded(field: Field, days: list[Row], colour: str, dash: str | None = None) -> list[str]:
    if not days:
        return []
    sure = [(row["day"], *limits(row)) for row in days if None not in limits(row)]
    surface = [band(field, sure, colour)] if len(sure) > 1 else []
    return [*surface, steps(field, [(row["day"], row["mean_episodes"]) for row in days], colour, dash=dash)]


def _key(name: str, x: float, colour: str, dash: str | None) -> list[str]:
    line = svg.line(x, 9, x + 22, 9, colour, stroke_width=2.2, stroke_dasharray=dash)
    return [line, svg.label(name, x + 28, 13)]


def _said(days: list[Row]) -> str:
    at = [(years, row) for years in (0.5, 1, 2, 3) if (row := burden_at(days, round(YEAR * years)))]
    said = [
        f"{figure(row['mean_episodes'], 2)} by {_time(years)} (likely {span(*limits(row), 2)})" for years, row in at
    ]
    return "; ".join(said) or "too few feet to draw as far as 6 months"


def _time(years: float) -> str:
    return "6 months" if years < 1 else many(years, "year")
