"""What the truth says is really in the record: read back with plain counting and a plain Poisson fit."""

import json
from itertools import pairwise

import numpy as np
import polars as pl
import pytest

from pipelines.simulate import Truth, simulate
from pipelines.simulate.hazard import LEVELS, Hazard
from pipelines.simulate.truth import AGE_BANDS, LOSS_RATIOS, LOSS_SLOPES, SLOPES_FROM
from schemas import words
from schemas.fields import MEANINGS
from tests.simulate.plain_reading import shoes

BANDS = [0, *AGE_BANDS, 4000]


@pytest.fixture(scope="module")
def practice():
    """Many losses, all horses alike, everything told to the day."""
    truth = Truth.plainly_recorded(base_per_1000_days=2.5, frailty_shape=float("inf"), overdue=1.0, joins_share=0.0)
    return simulate(250, 2.5, 11, truth=truth)


@pytest.fixture(scope="module")
def spells(practice):
    season = pl.col("fitted_on").dt.month() % 12 // 3
    return shoes(practice.tables, practice.last_day).with_columns(
        pl.col("foot").replace_strict(words.END_OF_FOOT).alias("end"),
        pl.col("discipline").replace_strict(words.PACE_OF_DISCIPLINE).alias("pace"),
        season.replace_strict(dict(enumerate(words.SEASONS)), return_dtype=pl.String).alias("season"),
        nails_total=pl.col("nails_medial") + pl.col("nails_lateral"),
    )


def by_band(spells: pl.DataFrame) -> pl.DataFrame:
    """Each shoe cut at the ends of the bands: days at risk and losses in each."""
    parts = []
    for band, (start, stop) in enumerate(pairwise(BANDS)):
        inside = spells.filter(pl.col("days_on") > start)
        parts.append(
            inside.with_columns(
                band=pl.lit(band),
                days=pl.col("days_on").clip(upper_bound=stop) - start,
                losses=(pl.col("lost") & (pl.col("days_on") <= stop)).cast(pl.Int64),
            )
        )
    return pl.concat(parts)


def poisson(design: np.ndarray, losses: np.ndarray, days: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Coefficients and standard errors by Newton's method."""
    beta = np.zeros(design.shape[1])
    beta[0] = np.log(losses.sum() / days.sum())
    step = np.ones(1)
    while np.abs(step).max() > 1e-6:
        mean = days * np.exp(design @ beta)
        information = (design * mean[:, None]).T @ design
        step = np.linalg.solve(information, design.T @ (losses - mean))
        beta = beta + step
    return beta, np.sqrt(np.diag(np.linalg.inv(information)))


def design_of(rows: pl.DataFrame) -> tuple[list[tuple[str, str]], np.ndarray, list[float]]:
    """(factor, level) of each column after the first, the columns, and the true log ratio of each."""
    names, columns, truth = [], [], []
    for factor in ("discipline", "end", "wall_state", "clips", "pad", "fitting", "nail_line", "season", "turnout"):
        reference = "trail" if factor == "discipline" else max(LOSS_RATIOS[factor], key=LOSS_RATIOS[factor].get)
        for level in rows[factor].unique().sort():
            if level != reference:
                names.append((factor, level))
                columns.append((rows[factor] == level).to_numpy())
                truth.append(np.log(LOSS_RATIOS[factor][level] / LOSS_RATIOS[factor][reference]))
    for pace, ratio in Truth().branch_per_5mm.items():
        names.append(("branch", pace))
        columns.append(((rows["branch_past_heel_mm"] - 5) / 5 * (rows["pace"] == pace).fill_null(False)).to_numpy())
        truth.append(np.log(ratio))
    names.append(("nails_total", "1 more"))
    columns.append(rows["nails_total"].to_numpy() - 6)
    truth.append(np.log(LOSS_SLOPES["nails_total"]))
    for band in range(1, len(BANDS) - 1):
        names.append(("age", f"over {BANDS[band]}"))
        columns.append((rows["band"] == band).to_numpy())
        truth.append(np.log(Truth().age_ratios[band] / Truth().age_ratios[0]))
    design = np.column_stack([np.ones(rows.height), *(np.asarray(column, float) for column in columns)])
    return names, design, truth


def test_a_poisson_model_of_the_record_finds_the_true_ratios(spells):
    rows = by_band(spells)
    names, design, truth = design_of(rows)
    beta, se = poisson(design, rows["losses"].to_numpy(), rows["days"].to_numpy().astype(float))
    away = dict(zip(names, (beta[1:] - truth) / se[1:], strict=True))
    assert rows["losses"].sum() > 2500
    assert {name: round(z, 1) for name, z in away.items() if abs(z) > 3.7} == {}  # 3.7: 1 in 100 for 45 at once
    assert np.std(list(away.values())) == pytest.approx(1, abs=0.35)


def test_the_same_model_notices_a_truth_that_is_not_the_one_told(spells):
    rows = by_band(spells.with_columns(lost=pl.col("lost") & ((pl.col("end") == "front") | (pl.col("days_on") > 30))))
    names, design, truth = design_of(rows)
    beta, se = poisson(design, rows["losses"].to_numpy(), rows["days"].to_numpy().astype(float))
    assert abs((beta[1:] - truth) / se[1:])[names.index(("end", "hind"))] > 3.7


def test_with_nothing_to_find_every_shoe_has_the_base_rate():
    practice = simulate(300, 2, 12, truth=Truth.nothing_to_find(unreported_share=0.0, found_late_share=0.0, blanks={}))
    spells = shoes(practice.tables, practice.last_day).with_columns(pl.col("foot").str.slice(1).alias("end"))
    for rows in (spells, *spells.partition_by("end"), *spells.partition_by("work")):
        losses, days = rows["lost"].sum(), rows["days_on"].sum()
        assert losses == pytest.approx(days / 1000, abs=4 * np.sqrt(days / 1000))


def test_a_farrier_differs_only_where_the_truth_says_so():
    ratios = {"farrier": {"Ferrin Anvilwick": 3.0}}
    practice = simulate(300, 2, 13, truth=Truth.nothing_to_find(loss_ratios=ratios, unreported_share=0.0))
    spells = shoes(practice.tables, practice.last_day).join(
        practice.visits.select("visit_id", "farrier"), on="visit_id"
    )
    rate = {name: rows["lost"].sum() / rows["days_on"].sum() for (name,), rows in spells.group_by("farrier")}
    assert rate.pop("Ferrin Anvilwick") == pytest.approx(0.003, rel=0.15)
    assert list(rate.values()) == pytest.approx([0.001] * 2, rel=0.3)


def test_a_shoe_comes_off_by_band_of_age_and_faster_once_overdue():
    truth = Truth.nothing_to_find(age_ratios=(2.0, 1.0, 1.0, 1.0, 1.0, 1.0, 4.0), overdue=3.0)
    count = 200_000
    age = Hazard(truth, ()).loss_age(np.full(count, 0.01), np.full(count, 30.0), np.random.default_rng(1))
    kept = np.exp(-0.01 * np.array([14, 21, 37, 37 + 3 * 10]))  # days 7, 14, 30 and 40, counted in days of ratio 1
    assert [(age > day).mean() for day in (7, 14, 30, 40)] == pytest.approx(kept, abs=0.005)


def test_horses_differ_by_a_gamma_of_mean_1():
    theta = simulate(5000, 0.2, 14, truth=Truth(frailty_shape=0.5)).thetas["theta"]
    assert (theta.mean(), theta.var()) == (pytest.approx(1, abs=0.08), pytest.approx(2, rel=0.15))


def test_a_quarter_of_losses_is_only_noticed_at_the_next_visit():
    practice = simulate(1500, 2.5, 15)
    assert 1 - practice.true_losses["reported"].mean() == pytest.approx(
        0.27, abs=0.04
    )  # some are found too late to tell
    seen = practice.losses["last_seen_on"].is_not_null().mean()
    assert seen == pytest.approx(0.4, abs=0.05)


def steps(practice, *columns: str) -> pl.DataFrame:
    """Each foot's rows beside its row before, of rows where all the columns are filled."""
    keys = ["horse_id", "foot"]
    rows = practice.feet.join(practice.visits.select("visit_id", "horse_id", "visit_date"), on="visit_id")
    rows = rows.filter(pl.all_horizontal(pl.col(columns).is_not_null())).sort("visit_date")
    return rows.with_columns(
        pl.col("visit_date", "work", "sole_relief", *columns).shift().over(keys).name.suffix("_before")
    ).drop_nulls("visit_date_before")


def test_angles_drift_by_the_true_rate_between_visits_with_the_true_error(practice):
    rows = steps(practice, "angle_leaving_deg", "angle_arrival_deg").filter(
        pl.col("work_before").is_in(["fit_new", "reset"])
    )
    weeks = (rows["visit_date"] - rows["visit_date_before"]).dt.total_days().to_numpy() / 7
    change = (rows["angle_arrival_deg"] - rows["angle_leaving_deg_before"]).to_numpy()
    rate = (weeks * change).sum() / (weeks**2).sum()
    assert rate == pytest.approx(-0.44, abs=4 * 0.10 / np.sqrt(700))  # sd between feet over about 700 feet
    # two readings' error, 0.6 each, and feet that differ by 0.1 degrees a week
    assert np.std(change - rate * weeks) == pytest.approx(np.sqrt(2 * 0.6**2 + (0.1 * weeks).var() + 0.36), abs=0.12)


def test_leaving_angles_move_by_the_true_trend(practice):
    rows = practice.feet.join(practice.visits.select("visit_id", "horse_id", "visit_date"), on="visit_id")
    years = (pl.col("visit_date") - practice.first_day).dt.total_days() / 365.25
    rows = rows.drop_nulls("angle_leaving_deg").with_columns(years=years)
    slope = pl.cov("years", "angle_leaving_deg") / pl.var("years")
    slopes = rows.group_by("horse_id", "foot").agg(slope.alias("slope"), pl.len()).filter(pl.col("len") > 10)["slope"]
    assert slopes.mean() == pytest.approx(-0.25, abs=4 * slopes.std() / np.sqrt(slopes.len()))
    assert slopes.std() == pytest.approx(np.sqrt(0.6**2 + 0.25**2), abs=0.12)


def test_bruises_come_and_stay_with_the_true_chances():
    truth = Truth.plainly_recorded(bruise_new=0.1, bruise_discipline={"endurance": 2.0})
    practice = simulate(1200, 2.5, 16, truth=truth)
    endurance = pl.col("horse_id").is_in(practice.horses.filter(discipline="endurance")["horse_id"].implode())
    rows = steps(practice, "bruise_grade").with_columns(
        endurance.alias("endurance"), front=pl.col("foot").str.ends_with("F"), was=pl.col("bruise_grade_before") > 0
    )
    for endurance, front, relief, was, chance in (
        (False, True, True, False, 0.1),
        (False, True, False, False, 0.1 * 1.7),
        (False, False, True, False, 0.1 * 0.6),
        (True, True, True, False, 0.1 * 2.0),
        (False, True, True, True, 0.38),
        (False, True, False, True, 0.38 * 1.3),
        (True, True, True, True, 0.38),
    ):
        some = rows.filter(endurance=endurance, front=front, sole_relief_before=relief, was=was)
        error = np.sqrt(chance * (1 - chance) / some.height)
        # a horse's feet go together: their joint error is up to half as much again
        assert (some["bruise_grade"] > 0).mean() == pytest.approx(chance, abs=4 * 1.5 * error)


def test_the_true_effects_name_factors_and_levels_as_the_record_does():
    effects = json.loads(json.dumps(simulate(3, 1, 1).true_effects, allow_nan=False))
    assert set(effects["loss_ratios"]) - set(LEVELS) == {"farrier"}
    for factor, ratios in effects["loss_ratios"].items():
        assert set(ratios) <= set(LEVELS.get(factor, ()))
        assert factor in MEANINGS or factor == "hind_shod"
    assert set(effects["loss_slopes"]) == set(SLOPES_FROM)
    assert set(effects["branch_per_5mm"]) == set(words.PACES)
    assert set(effects["horses"]) == {"H0001", "H0002", "H0003"}
