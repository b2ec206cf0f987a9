from collections import defaultdict
from datetime import date

import numpy as np
import polars as pl
import pytest

from pipelines.analyses import angle_trend as analysis
from pipelines.stats.random_slopes import LineSums, random_slopes, unit_slopes, unread_slopes
from schemas.exports import Feet, Horses, Visits
from tests.analyses.agreement import assert_agree
from tests.analyses.drawing import draw, fill

# Angles on leaving of six horses' left fores, a year apart but for the last; ash and bay go down, the others up.
LEFT = {
    "ash": (52.0, 51.0, 49.5, 49.0),
    "bay": (50.0, 49.4, 48.0, 47.1),
    "cob": (54.0, 54.3, 53.9, 54.6),
    "dun": (51.0, 51.2, 51.0, 51.9),
    "elm": (53.0, 52.5, 53.6, 53.1),
    "fir": (49.0, 49.5, 49.3, 50.1),
}
DAYS = (date(2022, 3, 1), date(2023, 3, 1), date(2024, 2, 29), date(2024, 9, 1))


def practice(left=LEFT, toes=None, **more):
    """Tables of a record: a visit to each horse on each of the days, its left fore measured on leaving."""
    cells = [(horse, place, angle) for horse, angles in left.items() for place, angle in enumerate(angles)]
    names = [f"{horse}{place}" for horse, place, _ in cells]
    visits = [{"visit_id": n, "horse_id": c[0], "visit_date": DAYS[c[1]]} for n, c in zip(names, cells, strict=True)]
    feet = [{"visit_id": n, "foot": "LF", "angle_leaving_deg": c[2]} | more for n, c in zip(names, cells, strict=True)]
    for foot, (horse, place, _) in zip(feet, cells, strict=True):
        foot["toe_leaving_mm"] = toes[horse][place] if toes else None
    return {"horses": fill(Horses, [{"horse_id": horse} for horse in left]), "visits": visits, "feet": feet}


def results(record, tables):
    whole = tables | {"visits": fill(Visits, tables["visits"]), "feet": fill(Feet, tables["feet"])}
    return record(**whole).results(analysis)


def levels(record, tables):
    return {(row["dimension"], row["level"]): row for row in results(record, tables)["angle_trend"].to_dicts()}


def by_hand(left):
    """The estimate from sums written out reading by reading."""
    sums = defaultdict(list)
    for angles in left.values():
        years = [(day - DAYS[0]).days / 365.25 for day in DAYS[: len(angles)]]
        pairs = list(zip(years, angles, strict=True))
        for name, value in (
            ("n", len(pairs)), ("t", sum(t for t, _ in pairs)), ("tt", sum(t * t for t, _ in pairs)),
            ("y", sum(y for _, y in pairs)), ("ty", sum(t * y for t, y in pairs)), ("yy", sum(y * y for _, y in pairs)),
        ):  # fmt: skip
            sums[name].append(value)
    return random_slopes(LineSums(*(np.array(sums[name]) for name in LineSums._fields)))


def test_the_trend_is_of_the_angle_on_leaving_by_years_since_the_foots_first(record):
    row = levels(record, practice())["all", "all"]
    fit = by_hand(LEFT)
    assert (row["feet"], row["visits"]) == (6, 24)
    sd_start, sd_slope = np.sqrt(np.diag(fit.spread))
    ours = {"deg_per_year": fit.slope, "sd_start": sd_start, "sd_slope": sd_slope, "residual_sd_deg": fit.sd_residual}
    limits = {"low": fit.slope - 1.959964 * fit.slope_error, "high": fit.slope + 1.959964 * fit.slope_error}
    assert_agree(row, ours | limits, rel=1e-5)
    assert row["low_by_horse"] < row["deg_per_year"] < row["high_by_horse"]


def test_readings_on_arrival_never_enter(record):
    plain = results(record, practice())["angle_trend"]
    assert results(record, practice(angle_arrival_deg=45.0))["angle_trend"].equals(plain)


def test_a_reading_after_the_as_of_date_is_passed_over(record):
    tables = practice()
    tables["visits"].append({"visit_id": "late", "horse_id": "ash", "visit_date": date(2026, 5, 1)})
    tables["feet"].append({"visit_id": "late", "foot": "LF", "angle_leaving_deg": 40.0})
    assert levels(record, tables)["all", "all"]["visits"] == 24


def test_a_foot_shod_and_later_bare_starts_anew_in_each(record):
    tables = practice(work="reset")
    for foot in tables["feet"]:
        if foot["visit_id"].endswith(("2", "3")):
            foot["work"] = "trim"
    counted = record(
        horses=tables["horses"], visits=fill(Visits, tables["visits"]), feet=fill(Feet, tables["feet"])
    ).counts(analysis)["shod"]
    ash = {row["shod"]: (row["n"], row["t"]) for row in counted.filter(horse_id="ash").to_dicts()}
    assert ash == {"yes": (2, pytest.approx(365 / 365.25)), "no": (2, pytest.approx(185 / 365.25))}


def test_limits_by_horse_need_five_horses(record):
    feet = {horse: LEFT[horse] for horse in ("ash", "bay", "cob", "dun")}
    tables = practice(feet)
    tables["feet"] += [
        foot | {"foot": "RF", "angle_leaving_deg": 50 + number % 3} for number, foot in enumerate(tables["feet"])
    ]
    row = levels(record, tables)["all", "all"]
    assert row["low"] < row["deg_per_year"] < row["high"]
    assert row["low_by_horse"] is None
    assert "fewer than 5 horses: no range is told" in row["note"]
    assert row["horses"] == 4


@pytest.mark.parametrize(
    ("left", "note"),
    [
        ({horse: LEFT[horse] for horse in ("ash", "bay")}, "fewer than 5 feet with an angle on leaving"),
        ({horse: angles[:2] for horse, angles in LEFT.items()}, "fewer than 3 feet with 3 readings or more"),
        (dict.fromkeys(LEFT, (50, 50, 50, 50)), "no spread about the feet's own lines to judge by"),
    ],
)
def test_too_little_gives_a_row_that_says_so(record, left, note):
    row = levels(record, practice(left))["all", "all"]
    assert (row["deg_per_year"], row["note"]) == (None, note)


def test_feet_alike_but_for_their_start_are_said_to_be_at_the_edge(record):
    alike = {horse: tuple(place + wobble for wobble in (0, 0.4, -0.2, 0.3)) for place, horse in enumerate(LEFT, 48)}
    row = levels(record, practice(alike))["all", "all"]
    assert row["sd_slope"] == pytest.approx(0, abs=1e-6)
    assert row["note"].endswith("their spread is at its edge")


def test_a_foot_goes_lower_and_longer_where_its_angle_falls_while_its_toe_grows(record):
    growing, worn = (80, 83, 86, 90), (90, 87, 85, 81)
    toes = dict.fromkeys(LEFT, worn) | dict.fromkeys(("ash", "bay", "fir"), growing)
    rows = results(record, practice(toes=toes))["toe_directions"].to_dicts()
    found = {(row["dimension"], row["level"]): row for row in rows}
    everything = found["all", "all"]
    # Ash and bay fall and grow; fir grows and rises.
    assert (everything["feet"], everything["lower_longer"], everything["lower_longer_share"]) == (6, 2, 2 / 6)
    assert found["end", "front"]["lower_longer_sure"] == everything["lower_longer_sure"] == 2


def test_own_trends_are_between_a_foots_own_line_and_that_of_all(record):
    counts = record(**{name: frame for name, frame in _frames(practice()).items()}).counts(analysis)
    own = {row["horse_id"]: row for row in analysis.foot_trends(counts["shod"]).to_dicts()}
    common = by_hand(LEFT).slope
    years = [(day - DAYS[0]).days / 365.25 for day in DAYS]
    for horse, angles in LEFT.items():
        alone = np.polyfit(years, angles, 1)[0]
        assert min(alone, common) - 0.05 < own[horse]["slope"] < max(alone, common) + 0.05, horse
        assert own[horse]["low"] < own[horse]["slope"] < own[horse]["high"]


def test_own_trends_are_drawn_to_those_of_feet_shod_or_bare_alike(record):
    """Six bare feet go up; a shod foot whose own readings are alike is drawn to the shod ones, which go down."""
    falling = {name: (52.0, 51.0 + 0.1 * place, 50.0, 49.6) for place, name in enumerate(LEFT)}
    rising = {f"bare {name}": (50.0, 51.0 - 0.1 * place, 52.0, 52.4) for place, name in enumerate(LEFT)}
    tables = practice(falling | rising)
    for foot in tables["feet"]:
        foot["work"] = "trim" if foot["visit_id"].startswith("bare") else "reset"
    own = analysis.foot_trends(record(**_frames(tables)).counts(analysis)["shod"])
    slopes = {row["horse_id"]: row["slope"] for row in own.to_dicts()}
    assert max(slopes[name] for name in falling) < -0.5
    assert min(slopes[name] for name in rising) > 0.5


def lines(kinds, seed=5):
    """The counts `shod`: eight readings a foot, half a year apart; one of `both` is shod for five, bare for three."""
    rng, rows = np.random.default_rng(seed), []
    for place, kind in enumerate(kinds):
        parts = {"both": (("yes", 5), ("no", 3))}.get(kind, (("yes" if kind == "shod" else "no", 8),))
        for shod, n in parts:
            t = np.arange(n) / 2
            y = 50 + 4 * (shod == "no") + rng.normal(0, 1) + rng.normal(-0.5, 0.5) * t + rng.normal(0, 0.6, n)
            sums = (float(n), t.sum(), (t**2).sum(), y.sum(), (t * y).sum(), (y**2).sum())
            names = dict(zip(LineSums._fields, sums, strict=True))
            rows.append({"horse_id": f"{kind}{place}", "foot": "LF", "shod": shod} | names)
    return pl.DataFrame(rows)


def test_a_foot_that_was_shod_and_bare_has_the_mean_of_its_two_lines_by_what_each_tells(record):
    """It leaves 4 degrees steeper once bare: the jump is no trend."""
    counted = lines(["shod"] * 6 + ["bare"] * 6 + ["both"])
    own = {row["horse_id"]: row for row in analysis.foot_trends(counted).to_dicts()}
    found = []
    for level in ("yes", "no"):
        part = counted.filter(shod=level)
        units = LineSums(*(part[name].to_numpy() for name in LineSums._fields))
        fit = random_slopes(units)
        slopes, errors = unit_slopes(units, fit)
        unread = unread_slopes(units, fit)
        found.append((slopes[-1], errors[-1], unread[-1], (units.tt - units.t**2 / units.n)[-1]))
    whole = sum(told for *_, told in found)
    mean = sum(slope * told / whole for slope, *_, told in found)
    shared = 2 * np.prod([unread * told / whole for _, _, unread, told in found])
    error = np.sqrt(sum((error * told / whole) ** 2 for _, error, _, told in found) + shared)
    assert own["both12"]["slope"] == pytest.approx(mean)
    assert own["both12"]["high"] - mean == pytest.approx(1.959964 * error)


def _frames(tables):
    return tables | {"visits": fill(Visits, tables["visits"]), "feet": fill(Feet, tables["feet"])}


def test_an_empty_record_gives_empty_tables(record):
    assert {frame.height for frame in record(horses=draw(Horses)).results(analysis).values()} == {0}
