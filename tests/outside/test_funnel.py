"""The funnel on two published sets.

Deaths by horse kick in 14 Prussian army corps over 20 years: von Bortkiewicz 1898, Das Gesetz der kleinen Zahlen; 14
are expected of each corps. Pump failures: Gaver & O'Muircheartaigh 1987, Technometrics 29:1, beside R 4.2.2 (ppois,
qpois and the interpolated limits of Spiegelhalter 2005, Stat Med 24:1185, appendix A). Ours are the points without
interpolation: whole counts, the next at or above theirs.
"""

from pathlib import Path

import numpy as np
import polars as pl
import pytest

from pipelines.stats.funnel import funnel_edges, funnel_place, poisson_point
from pipelines.stats.poisson import chance_of_as_many

CORPS = {
    "G": 16, "I": 16, "II": 12, "III": 12, "IV": 8, "IX": 13, "V": 11, "VI": 17, "VII": 12, "VIII": 7, "X": 15,
    "XI": 25, "XIV": 24, "XV": 8,
}  # fmt: skip
PUMPS = pl.read_csv(Path(__file__).parent / "data" / "funnel_pumps_r.csv")


def test_of_the_corps_only_the_eleventh_and_the_fourteenth_are_outside_and_none_far():
    places = dict(zip(CORPS, funnel_place(list(CORPS.values()), [14] * 14), strict=True))
    outside = {corps: place for corps, place in places.items() if place != "inside"}
    assert sum(CORPS.values()) == 14 * 14
    assert outside == {"XI": "above_95", "XIV": "above_95"}


def test_the_points_about_14_are_7_to_22_and_4_to_27():
    edges = {name: edge[0] * 14 for name, edge in funnel_edges(np.array([14.0])).items()}
    assert edges == pytest.approx({"low_95": 7, "high_95": 22, "low_998": 4, "high_998": 27})


@pytest.mark.parametrize("share", [0.001, 0.025, 0.975, 0.999])
def test_our_points_are_the_interpolated_ones_rounded_up(share):
    theirs = PUMPS[f"spiegelhalter_{str(share).replace('.', '_')}"] * PUMPS["thousand_hours"]
    assert poisson_point(PUMPS["expected"].to_numpy(), share).tolist() == np.ceil(theirs.to_numpy()).tolist()


def test_chances_of_as_many_failures_and_the_places_they_give_are_those_of_r():
    failures, expected = PUMPS["failures"].to_numpy(), PUMPS["expected"].to_numpy()
    assert chance_of_as_many(failures, expected) == pytest.approx(PUMPS["p_upper_exact"].to_numpy(), rel=1e-9)
    few, many = PUMPS["p_lower_exact"], PUMPS["p_upper_exact"]
    place = pl.when(few < 0.001).then(pl.lit("below_998")).when(many < 0.001).then(pl.lit("above_998"))
    place = place.when(few < 0.025).then(pl.lit("below_95")).when(many < 0.025).then(pl.lit("above_95"))
    theirs = PUMPS.select(place.otherwise(pl.lit("inside"))).to_series().to_list()
    assert funnel_place(failures, expected).tolist() == theirs
    assert set(theirs) == {"inside", "below_95", "below_998", "above_95", "above_998"}
