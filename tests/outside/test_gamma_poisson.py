"""Gamma-Poisson shrinkage against R 4.2.2 (optim with a Newton polish to a gradient below 1e-12), plug-in posterior.

Pumps: Gaver & O'Muircheartaigh 1987, Technometrics 29:1; George, Makov & Smith 1993, Scand J Stat 20:147 print shape
0.82 and rate 1.26 (from memory). Seizures: Thall & Vail 1990, Biometrics 46:657.
"""

from pathlib import Path

import polars as pl
import pytest

from pipelines.stats.gamma_poisson import gamma_poisson, shrunk

DATA = Path(__file__).parent / "data"
# file, events, exposure; shape, rate, log-likelihood; shrunk rate of the first unit with its limits
CASES = {
    "pumps": (
        "pumps.csv", "failures", "thousand_hours",
        (0.822268649688644, 1.25895444337072, -32.2630670449524),
        (0.060915801847762, 0.0219332432093038, 0.119457554867992),
    ),
    "seizures": (
        "epil_totals.csv", "seizures", "weeks",
        (1.10975381559274, 0.268893121642592, -266.033056827694),
        (1.82730065479323, 1.02520363644235, 2.85736970748457),
    ),
}  # fmt: skip


@pytest.mark.parametrize(("file", "events", "exposure", "spread", "first"), CASES.values(), ids=CASES)
def test_shape_rate_and_shrunk_rates_are_those_of_r(file, events, exposure, spread, first):
    rows = pl.read_csv(DATA / file)
    found, expected = rows[events].to_numpy(), rows[exposure].to_numpy()
    fitted = gamma_poisson(found, expected)
    units = shrunk(fitted, found, expected)
    assert (fitted.shape, fitted.rate, fitted.log_likelihood) == pytest.approx(spread, rel=1e-7)
    assert (units.mean[0], units.low[0], units.high[0]) == pytest.approx(first, rel=1e-7)
