"""Colours: every one in a picture follows the reader's scheme, and all can be told from what lies behind them."""

import re

import pytest

from reports.page import style
from reports.theme import COLOURS
from tests.reports.parsing import every, parsed

PAINTS = ("fill", "stroke")


def luminance(colour: str) -> float:
    """Relative luminance of #rrggbb (WCAG 2.2, https://www.w3.org/TR/WCAG22/#dfn-relative-luminance)."""
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours (WCAG 2.2)."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_the_contrast_of_black_and_white_is_21_to_1():
    assert contrast("#000000", "#ffffff") == pytest.approx(21)


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("behind", ["paper", "card"])
@pytest.mark.parametrize("text", ["ink", "soft", "accent"])
def test_text_stands_out_at_least_4_5_to_1(text, behind, scheme):
    # WCAG 2.2 success criterion 1.4.3, level AA
    assert contrast(getattr(COLOURS[text], scheme), getattr(COLOURS[behind], scheme)) >= 4.5


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("mark", ["blue", "vermillion", "green", "amber", "grey"])
def test_marks_in_pictures_stand_out_at_least_3_to_1(mark, scheme):
    # WCAG 2.2 success criterion 1.4.11, level AA
    assert contrast(getattr(COLOURS[mark], scheme), getattr(COLOURS["paper"], scheme)) >= 3


def test_no_two_roles_share_a_colour_of_light_paper():
    light = [colour.light for colour in COLOURS.values()]
    assert len(set(light)) == len(light)


def test_every_colour_in_a_picture_is_tied_to_a_colour_of_the_page(sites):
    tied = set(re.findall(r'\.chart \[(?:fill|stroke)="(#[0-9a-f]{6})"\]', style()))
    assert tied == {colour.light for colour in COLOURS.values()}
    for written in sites.values():
        for path in written:
            for picture in every(parsed(path), "svg", class_="chart"):
                used = {element.get(paint) for element in picture.iter() for paint in PAINTS} - {None, "none"}
                assert used <= tied, (path.stem, picture.get("aria-label"), used - tied)


def test_series_told_apart_by_colour_are_told_apart_by_dash_or_shape_too(sites):
    lost_shoes = parsed(next(path for path in sites["small"] if path.stem == "lost-shoes"))
    ends = next(svg for svg in every(lost_shoes, "svg") if svg.get("aria-label", "").startswith("Two curves"))
    dashes = {
        path.get("stroke"): path.get("stroke-dasharray") for path in ends.iter("path") if path.get("stroke-dasharray")
    }
    assert len(dashes) == 2
    assert len(set(dashes.values())) == 2
