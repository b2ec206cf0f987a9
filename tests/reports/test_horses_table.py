"""The table of all horses: which stand in slanted type, and that its note is seen whole on a desk's screen."""

from random import Random

import pytest

from reports.site import write_site
from tests.reports.browser import Browser
from tests.reports.parsing import called, every, parsed, said, text
from tests.reports.practice import ABOUT, horse, results
from tests.reports.test_browser import DESK

FEW = {"few_peers": True, "peers": 8, "peer_losses": 3}
DRAWN = {"shrunk_ratio": 3.2, "shrunk_low": 1.1, "shrunk_high": 16.5, "chance_above_double": 0.8}
NOTE = "few shoe-days in the same work on 1 day of age: counted over the discipline"
CUT_OFF = """
    [...document.querySelectorAll(".scroll")].filter(one => one.scrollWidth > one.clientWidth).length
"""


def herd():
    names = ("Mossy Doormat", "Puddle Wheelbarrow", "Ash", "Barley")
    rows = [{**horse(place, name, Random(place)), **DRAWN} for place, name in enumerate(names)]
    told = {"expected": 4.5, "losses": 12, "ratio": 2.7, "ratio_low": 1.4, "ratio_high": 12.2, "note": None}
    more = [
        {**FEW, "funnel": "inside"},
        {"funnel": "above_95", "note": NOTE},
        {"expected": 0.4, "funnel": "inside"},
        {},
    ]
    return [{**row, "few_peers": False, **told, **one} for row, one in zip(rows, more, strict=True)]


@pytest.fixture
def horses(tmp_path):
    return called(write_site(results(horse_losses=herd()), ABOUT, tmp_path), "horses")


def test_only_horses_with_under_one_expected_loss_or_few_peers_are_slanted(horses):
    tree = parsed(horses)
    slanted = {text(every(row, "th")[0]) for row in every(tree, "tr", class_="faint")}
    assert slanted == {"Mossy Doormat", "Ash"}
    assert "under one expected loss, or too few others in the same work: their ratio means little" in said(tree)
    assert f"{NOTE[0].upper()}{NOTE[1:]}." in said(tree), "its note is told all the same"


def test_horses_drawn_to_one_and_the_same_ratio_stand_by_their_own(tmp_path):
    ratios = {"Mossy Doormat": 0.5, "Puddle Wheelbarrow": 1.8, "Ash": 0.9, "Barley": None}
    rows = [row | {"ratio": ratios[row["horse_name"]], "expected": 9.0 - at} for at, row in enumerate(herd())]
    tree = parsed(called(write_site(results(horse_losses=rows), ABOUT, tmp_path), "horses"))
    names = [text(every(row, "th")[0]) for row in every(tree, "tr") if every(row, "th", scope="row")]
    assert names[-4:] == ["Puddle Wheelbarrow", "Ash", "Mossy Doormat", "Barley"]


def test_notes_wrap_rather_than_being_cut_off(browser: Browser, horses):
    browser.open(horses, DESK)
    assert browser.find(CUT_OFF) == 0
