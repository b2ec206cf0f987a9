"""A field of figures: round numbers on its axes, and every figure where it belongs."""

import pytest

from reports.charts.plot import Field, band, plain_number, round_numbers, steps

FIELD = Field((0, 10), (0, 100), 20, 120, 5, 55)


@pytest.mark.parametrize(
    ("ends", "figures"),
    [
        ((0, 10), [0, 2, 4, 6, 8, 10]),
        ((0, 0.97), [0, 0.2, 0.4, 0.6, 0.8]),
        ((-0.47, 0.02), [-0.4, -0.3, -0.2, -0.1, 0]),
        ((3, 3), [3]),
        ((0, 0), [0]),
        ((46.5, 54.2), [48, 50, 52, 54]),
        ((0, 1234), [0, 500, 1000]),
    ],
)
def test_an_axis_is_marked_at_round_figures_between_its_ends(ends, figures):
    assert round_numbers(*ends) == pytest.approx(figures)


def test_a_figure_lies_between_the_edges_by_its_share_and_one_beyond_them_lies_on_them():
    assert [FIELD.across(value) for value in (-5, 0, 2.5, 10, 11)] == [20, 20, 45, 120, 120]
    assert [FIELD.up(value) for value in (-5, 0, 50, 100, 300)] == [55, 55, 30, 5, 5]


def test_a_line_stays_at_each_figure_until_the_next():
    assert 'd="M20.0 55.0H70.0V30.0H120.0V5.0"' in steps(FIELD, [(0, 0), (5, 50), (10, 100)], "#0072b2")


def test_a_band_lies_between_its_limits_at_every_day():
    # out along the upper limits, down, and back along the lower ones, each of which holds until the day after it
    path = 'd="M20.0 30.0H70.0V5.0H120.0V5.0V30.0H120.0V45.0H70.0V55.0H20.0V55.0Z"'
    assert path in band(FIELD, [(0, 0, 50), (5, 20, 100), (10, 50, 100)], "#0072b2")


def test_a_figure_of_an_axis_has_a_true_minus_and_no_needless_decimals():
    assert [plain_number(value) for value in (-0.4, 2.0, 1500)] == ["−0.4", "2", "1500"]
