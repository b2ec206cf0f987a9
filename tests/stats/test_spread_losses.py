import numpy as np
import pytest
from scipy.optimize import minimize

from pipelines.stats.spread_losses import Bands, came_off, hazard_of_spread

BANDS = Bands(np.array([7.0, 14.0, 28.0, np.inf]))


def log_likelihood(logs, events, time, after, by, shoes):
    rate = np.exp(logs)

    def risk(age):
        return BANDS.days(np.zeros(len(age)), age) @ rate

    known = events @ np.log(rate) - time @ rate
    return known + shoes @ np.log(np.exp(-risk(after)) - np.exp(-risk(by)))


def test_it_is_the_maximum_of_the_likelihood():
    events, time = np.array([4.0, 2.0, 9.0, 5.0]), np.array([900.0, 800.0, 1500.0, 700.0])
    after, by = np.array([0.0, 5.0, 10.0, 20.0]), np.array([40.0, 30.0, 26.0, 60.0])
    shoes = np.array([6.0, 3.0, 2.0, 4.0])
    found = hazard_of_spread(events, time, after, by, shoes, BANDS)
    told = minimize(lambda logs: -log_likelihood(logs, events, time, after, by, shoes), np.log(found) + 0.3,
                    method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-13, "maxiter": 20_000})  # fmt: skip
    assert found == pytest.approx(np.exp(told.x), rel=1e-5)


def test_without_losses_to_spread_it_is_losses_over_time():
    none = np.zeros(0)
    found = hazard_of_spread(np.array([1.0, 0, 2, 3]), np.array([10.0, 0, 40, 50]), none, none, none, BANDS)
    assert found == pytest.approx([0.1, 0, 0.05, 0.06])


def test_it_finds_the_hazard_where_taking_the_middle_day_makes_a_hump():
    """Shoes seen every 35 days or so: the middle of nearly every interval lies in days 14 to 28."""
    rng = np.random.default_rng(4)
    true = np.array([0.004, 0.002, 0.002, 0.004])
    size = 60_000
    ages = np.arange(1, 90)
    risk = BANDS.days(np.zeros(len(ages)), ages.astype(float)) @ true
    off = np.searchsorted(risk, rng.exponential(size=size)) + rng.uniform(size=size)
    seen = rng.integers(28, 42, size).astype(float)
    lost, reported = off < seen, rng.uniform(size=size) < 0.4
    wide = lost & ~reported
    stop = np.minimum(off, seen)
    time = BANDS.days(np.zeros(size), stop)[~wide].sum(axis=0)
    events = np.bincount(np.searchsorted(BANDS.stops, off[lost & reported]), minlength=4)
    args = (np.zeros(wide.sum()), seen[wide], np.ones(wide.sum()), BANDS)
    found = hazard_of_spread(events, time, *args)
    assert found == pytest.approx(true, rel=0.12)
    middle = events + np.bincount(np.searchsorted(BANDS.stops, seen[wide] / 2), minlength=4)
    assert middle[2] / (time + BANDS.days(np.zeros(wide.sum()), seen[wide] / 2).sum(axis=0))[2] > 1.5 * true[2]


def test_a_shoe_that_came_off_was_on_until_then():
    share, worn = came_off(np.array([0.01, 0.01, 0.01, 0.01]), np.array([[0.0, 4.0, 14.0, 2.0]]))
    assert share.sum() == pytest.approx(1)
    assert share[0, 0] == 0
    days = np.linspace(0, 20, 200_001)
    density = 0.01 * np.exp(-0.01 * days) / -np.expm1(-0.2)
    assert worn.sum() == pytest.approx(np.trapezoid(days * density, days), rel=1e-6)


def test_where_no_hazard_is_known_every_day_is_as_likely():
    share, worn = came_off(np.zeros(4), np.array([[5.0, 5.0, 10.0, 0.0]]))
    assert share[0] == pytest.approx([0.25, 0.25, 0.5, 0])
    assert worn.sum() == pytest.approx(10)
