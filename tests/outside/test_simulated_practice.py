"""One made-up practice taken all the way in, its results beside lifelines and scipy on a plain reading of its shoes."""

from datetime import UTC, datetime

import numpy as np
import polars as pl
import pytest
from lifelines import KaplanMeierFitter
from scipy import stats
from scipy.optimize import minimize

from pipelines.analyses import horse_losses, interval_lengths, loss_rates, retention
from pipelines.intake import read_export
from pipelines.simulate import simulate, write_practice
from pipelines.store import open_store
from tests.oracle.spells import shoe_spells
from tests.oracle.steps import visit_intervals

MODULES = (loss_rates, retention, horse_losses, interval_lengths)
NOW = datetime(2026, 7, 9, tzinfo=UTC)


@pytest.fixture(scope="module")
def practice():
    return simulate(60, 2, 17)


@pytest.fixture(scope="module")
def results(practice, tmp_path_factory):
    """The practice written to files, read, taken in, followed and analysed."""
    folder = tmp_path_factory.mktemp("export")
    write_practice(practice, folder)
    found = {}
    with open_store(None) as store:
        store.take_in(read_export([folder], store.known(), practice.last_day, NOW.date()), NOW)
        store.derive(practice.last_day)
        for module in MODULES:
            counts = {name: store.sql(query) for name, query in module.COUNTS.items()}
            found |= getattr(module, module.__name__.rpartition(".")[2])(counts)
    return found


@pytest.fixture(scope="module")
def plain(practice):
    """The four tables as drawn, for loops and dicts; the store's own tables are not looked at."""
    return {name: frame.to_dicts() for name, frame in practice.tables.items()}


@pytest.fixture(scope="module")
def shoes(practice, plain):
    return pl.DataFrame(shoe_spells(plain, practice.last_day, 84, "north"))


def level_of(shoes, dimension, level):
    return shoes if dimension == "all" else shoes.filter(pl.col(dimension) == level)


@pytest.mark.parametrize("dimension", ["all", "discipline", "end"])
def test_retention_is_that_of_lifelines_with_its_limits(results, shoes, dimension):
    curves = results["retention"].filter(dimension=dimension)
    for (level,), ours in curves.group_by("level"):
        own = level_of(shoes, dimension, level)
        theirs = KaplanMeierFitter().fit(own["days_on"], own["end_reason"] == "lost")
        kept = theirs.survival_function_at_times(ours["day"].to_list()).to_numpy()
        assert ours["kept"].to_numpy() == pytest.approx(kept, rel=1e-9)
        limits = theirs.confidence_interval_survival_function_.iloc[:, :2]
        days = ours.filter(pl.col("lost") > 0, pl.col("kept") > 0)
        assert days.select("kept_low", "kept_high").to_numpy() == pytest.approx(limits.loc[days["day"]].to_numpy())
        assert ours.filter(pl.col("kept").is_in([0.0, 1.0]))["kept_low"].is_null().all()


def test_rates_have_the_losses_and_days_of_the_plain_reading_and_the_limits_of_scipy(results, shoes):
    rates = results["loss_rates"].filter(pl.col("dimension").is_in(["all", "discipline", "foot", "end"]))
    assert rates.height > 15
    for row in rates.to_dicts():
        own = level_of(shoes, row["dimension"], row["level"])
        losses = (own["end_reason"] == "lost").sum()
        days = own["days_on"].replace(0, 1).sum() - 0.5 * (own["days_on"] == 0).sum()
        low, high = stats.chi2.ppf([0.025, 0.975], [2 * losses, 2 * losses + 2]) / 2 / days * 1000
        assert (row["losses"], row["shoe_days"]) == (losses, pytest.approx(days))
        assert (row["low"], row["high"]) == pytest.approx((np.nan_to_num(low), high), rel=1e-9)


def test_the_losses_of_all_horses_are_the_losses_of_the_practice_and_so_are_those_expected(results, shoes):
    horses = results["horse_losses"]
    assert horses["losses"].sum() == (shoes["end_reason"] == "lost").sum()
    shared = horses.filter(pl.col("expected").is_not_null())
    assert shared["expected"].sum() == pytest.approx(shared["losses"].sum(), rel=0.25)


def test_the_spread_of_the_horses_ratios_is_the_likeliest_by_a_search_with_scipy(results):
    horses = results["horse_losses"].filter(pl.col("expected") > 0)
    losses, expected = horses["losses"].to_numpy(), horses["expected"].to_numpy()

    def away(logs):
        shape, rate = np.exp(logs)
        return -stats.nbinom.logpmf(losses, shape, rate / (rate + expected)).sum()

    shape, rate = np.exp(minimize(away, [0.0, 0.0], method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-12}).x)
    belief = stats.gamma(shape + losses, scale=1 / (rate + expected))
    assert horses["shrunk_ratio"].to_numpy() == pytest.approx(belief.mean(), rel=1e-6)
    assert horses["shrunk_low"].to_numpy() == pytest.approx(belief.ppf(0.025), rel=1e-5)
    assert horses["shrunk_high"].to_numpy() == pytest.approx(belief.ppf(0.975), rel=1e-5)
    assert horses["chance_above_double"].to_numpy() == pytest.approx(belief.sf(2), rel=1e-5)


def test_quantiles_of_intervals_are_those_of_numpy(results, plain, practice):
    intervals = pl.DataFrame(visit_intervals(plain, practice.last_day, "north"))
    for row in results["interval_lengths"].filter(pl.col("dimension") != "season").to_dicts():
        own = level_of(intervals, row["dimension"], row["level"])["days"].to_numpy()
        found = [row[name] for name in ("p10_days", "p25_days", "median_days", "p75_days", "p90_days")]
        assert (row["intervals"], found) == (own.size, pytest.approx(np.quantile(own, [0.1, 0.25, 0.5, 0.75, 0.9])))
