"""The page of handedness: for the farrier alone, never ranked, and gone altogether when switched off."""

from dataclasses import replace
from pathlib import Path

import pytest

from reports.site import write_site
from schemas.results import Handedness
from schemas.shared import SHARED_TABLES
from tests.reports.feet import hand
from tests.reports.parsing import called, every, pages_of, parsed, said, table_rows
from tests.reports.practice import ABOUT, practice
from tests.reports.test_bruising_page import picture
from tests.reports.test_sentences import answer, page

ANGLE = "Do left feet leave at another angle than right ones?"
WALL = "Is the wall hurt more often on the inside or the outside?"
NAILS = "Are more nails driven on the inside or the outside?"


@pytest.mark.parametrize("figures", [(0.1, 0.2, 0.3), (0.3, 0.2, 0.1), (0.2, 0.3, 0.1)])
def test_farriers_stand_in_alphabetical_order_whatever_their_hands_do(tmp_path, figures):
    names = ("Mo Cedar", "not recorded", "anna Birch", "Zeb Alder")
    rows = [hand(name, "leaving_angle", mean) for name, mean in zip(names, (*figures, 0.9), strict=True)]
    tree = page(tmp_path, "handedness", handedness=rows)
    in_order = ["anna Birch", "Mo Cedar", "Zeb Alder", "not recorded"]
    assert [row[0] for row in table_rows(tree, "By farrier: left minus right, degrees")[1:]] == in_order
    drawn = [one.text for one in picture(tree, "By farrier").iter("text") if one.text in names]
    assert drawn == in_order
    assert "are never ranked" in said(tree)


def test_what_chance_could_not_bring_is_told_by_name_and_the_others_are_counted(tmp_path):
    rows = [
        hand("Mo", "leaving_angle", 0.4, 0.2),
        hand("Zeb", "leaving_angle", -0.5, 0.2),
        hand("Al", "leaving_angle", 0.1),
    ]
    assert answer(page(tmp_path, "handedness", handedness=rows), ANGLE) == (
        "With Mo left feet leave steeper than right: 0.40 (likely 0.20 to 0.60); with Zeb right feet leave steeper "
        "than left: −0.50 (likely −0.70 to −0.30). With 1 other chance alone could bring the difference."
    )


def test_an_even_hand_is_said_to_be_one(tmp_path):
    rows = [hand("Mo", "nails", 0.1), hand("Zeb", "nails", -0.1), hand("not recorded", "nails", 3.0)]
    tree = page(tmp_path, "handedness", handedness=rows)
    assert answer(tree, NAILS) == "No difference that chance alone could not bring, with Mo and Zeb."


@pytest.mark.parametrize(
    ("share", "told"),
    [
        (0.5, "No difference that chance alone could not bring, with Mo."),
        (0.7, "With Mo findings lie more often on the inner side: 70% (likely 60 to 80%)."),
        (0.3, "With Mo findings lie more often on the outer side: 30% (likely 20 to 40%)."),
    ],
)
def test_findings_on_the_wall_are_even_where_half_lie_inside(tmp_path, share, told):
    rows = [hand("Mo", "wall_findings", share, 0.1)]
    assert answer(page(tmp_path, "handedness", handedness=rows), WALL) == told


def test_too_few_horses_say_so(tmp_path):
    few = hand("Mo", "leaving_angle", 0.4, low=None, high=None, note="fewer than 5 horses: no limits")
    tree = page(tmp_path, "handedness", handedness=[few])
    assert answer(tree, ANGLE) == "Too few horses have been read to say."
    assert table_rows(tree, "By farrier: left minus right, degrees")[1][-1] == "Fewer than 5 horses: no limits."
    assert answer(tree, NAILS) == "Too few horses have been read to say."


def test_switched_off_there_is_no_file_no_link_and_no_row_of_it_on_any_page(tmp_path):
    tables = practice()
    marked = hand("Unheard-of Farrier", "leaving_angle", 7.77)
    tables["handedness"] = tables["handedness"].vstack(
        type(tables["handedness"])([marked], schema=tables["handedness"].schema)
    )
    with_it = write_site(tables, ABOUT, tmp_path / "on")
    without = write_site(tables, replace(ABOUT, handedness=False), tmp_path / "off")
    assert "Unheard-of Farrier" in said(parsed(called(with_it, "handedness")))
    assert [path.name for path in without] == [path.name for path in with_it if path.name != "handedness.html"]
    for path in pages_of(without):
        told = path.read_text(encoding="utf-8")
        assert "Unheard-of Farrier" not in told, path.name
        assert not [link for link in every(parsed(path), "a") if "handedness" in link.get("href", "")], path.name


def test_no_other_page_shows_a_row_of_it_either(tmp_path):
    tables = practice()
    marked = hand("Unheard-of Farrier", "nails", 7.77)
    tables["handedness"] = type(tables["handedness"])([marked], schema=tables["handedness"].schema)
    telling = [path.name for path in pages_of(write_site(tables, ABOUT, tmp_path)) if "Unheard-of" in path.read_text()]
    assert telling == ["handedness.html"]


def test_the_page_says_whom_it_is_for_and_how_to_leave_it_out(sites):
    told = said(parsed(called(sites["small"], "handedness")))
    assert "Only for the farrier" in told
    assert "Nothing of it goes into what is shared with a vet." in told
    assert "--no-handedness" in told


def test_nothing_that_is_shared_declares_or_reads_handedness():
    assert "handedness" not in SHARED_TABLES
    own = set(Handedness.columns()) - {"low", "high", "note", "horses"}
    assert own == {"farrier", "compared", "pairs", "mean_difference"}
    assert {
        name: own & set(table.columns()) for name, table in SHARED_TABLES.items() if own & set(table.columns())
    } == {}
    root = Path(__file__).parents[2]
    read = [*root.glob("pipelines/sharing/**/*"), *root.glob("reports/share/**/*"), root / "pipelines/cli_share.py"]
    sources = [path for path in read if path.suffix in (".py", ".sql", ".html")]
    assert len(sources) > 15
    assert [path.name for path in sources if "handedness" in path.read_text(encoding="utf-8")] == []
