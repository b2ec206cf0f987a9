"""Paper: one sheet a horse with as much of its record as fits, and text that plain tools take off in reading order."""

import os
import re
import subprocess
from datetime import date, timedelta
from pathlib import Path
from shutil import which

import polars as pl
import pytest
from pypdf import PdfReader

from pipelines.sharing.queries import WORTH_TELLING_MM
from reports.share import write_pdf
from reports.share.fitting import LISTS, rows_that_fit, taken
from reports.share.shoe_changes import left_out_said, listed_changes
from reports.share.views import summary_of
from schemas.shared import SharedAsks

HEADS = ("Shoes in time", "On the feet, ", "Lost shoes", "What changed", "Visits and intervals", "Angles and toes",
         "Bruises", "Bruises found", "Before you act on a name")  # fmt: skip


def lost(day: date) -> dict:
    return {"horse_no": 1, "foot": "LF", "fitted_on": day, "lost_after": day + timedelta(31),
            "lost_by": day + timedelta(39), "days_least": 31, "days_most": 39, "cause": "wall_gave_way"}  # fmt: skip


def filled(tables: dict[str, pl.DataFrame], losses: int = 60) -> dict[str, pl.DataFrame]:
    """The same with more rows in the lists of the first horse than a sheet holds."""
    first = date(2020, 1, 1)
    bruised = pl.when(pl.col("looked")).then(pl.lit(2)).otherwise(None)
    return tables | {
        "losses": pl.DataFrame([lost(first + timedelta(40 * n)) for n in range(losses)], tables["losses"].schema),
        "bruise_looks": tables["bruise_looks"].with_columns(bruise_grade=bruised, bruise_site=pl.lit("quarter_medial")),
    }


def program(name: str) -> str:
    """A program of poppler-utils. Absent, tests that need it are skipped, but fail where CI=true."""
    found = which(name)
    if found is None:
        reason = f"these tests take text off paper with {name} (Debian: poppler-utils), which is not installed"
        (pytest.fail if os.environ.get("CI") == "true" else pytest.skip)(reason)
    return found


def sheets(path: Path, *options: str) -> list[str]:
    """The text of each page, as pdftotext gives it."""
    command = [program("pdftotext"), *options, str(path), "-"]
    return subprocess.run(command, capture_output=True, text=True, check=True).stdout.split("\f")[:-1]


@pytest.fixture(scope="module", params=["A4", "Letter"])
def paper(request, tables, tmp_path_factory) -> Path:
    return write_pdf(tables, tmp_path_factory.mktemp("paper") / "a.pdf", request.param)


@pytest.mark.parametrize("options", [(), ("-layout",)], ids=["plain", "layout"])
def test_text_taken_off_paper_has_one_section_after_the_other_and_every_row_whole(tables, paper, options):
    cover, *own = sheets(paper, *options)
    summary = summary_of(tables)
    assert len(own) == len(summary.horses)
    assert all(f"{label}: {value}" in " ".join(cover.split()) for label, value in summary.facts)
    for horse, text in zip(summary.horses, own, strict=True):
        flat = " ".join(text.split())
        places = [re.search(rf"^ *{re.escape(head)}", text, re.MULTILINE).start() for head in HEADS]
        assert places == sorted(places)
        assert all(f"{label}: {value}" in flat for label, value in horse.facts)
        for name in ("now", "losses", "changes", "visits", "bruises"):
            shown = [flat.find(line) for line in horse.lists[name]]
            assert -1 not in shown, (name, horse.lists[name][shown.index(-1)])
            assert shown == sorted(shown)
        if not options:
            assert horse.said["bruises"] in flat
            assert horse.said["shoes"] in flat


def test_no_print_is_smaller_than_seven_points(paper):
    sizes = set()

    def visit(text, matrix, _place, _font, size):
        if text.strip():
            sizes.add(round(size * abs(matrix[3]), 1))

    for page in PdfReader(paper).pages:
        page.extract_text(visitor_text=visit)
    assert min(sizes) == 7


def test_a_list_cut_short_says_of_how_many_rows_and_where_all_of_them_are(tables, tmp_path):
    full = filled(tables) | {"asks": SharedAsks.empty()}
    page = PdfReader(write_pdf(full, tmp_path / "a.pdf", "A4")).pages[1]
    text = " ".join(page.extract_text().split())
    bruised = full["bruise_looks"].filter(pl.col("horse_no") == 1, "looked").height
    told = re.search(r"Lost shoes, the last (\d+) of 60 \(all in horse-1.html\)", text)
    assert text.count("on for 31 to 39 days, wall gave way") == int(told[1]) > 4
    found = re.search(rf"Bruises found, the last (\d+) of {bruised} \(all in horse-1.html\)", text)
    assert text.count("inner quarter, grade 2") == int(found[1]) > 4


@pytest.mark.parametrize("size", ["A4", "Letter"])
@pytest.mark.parametrize("losses", [0, 60])
def test_the_fullest_page_with_two_long_questions_still_is_one_page(tables, tmp_path, size, losses):
    questions = ["Is the bruise at the toe one to see before the next round? " * 3, "How long on soft ground? " * 7]
    asks = pl.DataFrame({"horse_no": [1, 1], "question": questions}).with_columns(
        asked_on=pl.lit(date(2025, 5, 1)), foot=pl.lit("LF")
    )
    pdf = PdfReader(write_pdf(filled(tables, losses) | {"asks": asks}, tmp_path / "a.pdf", size))
    starts = [page.extract_text().split("\n")[0] for page in pdf.pages]
    assert starts[1:] == ["Plain Horse 1", "Plain Horse 2", "Plain Horse 3"]


def test_a_horse_whose_lists_were_judged_too_short_is_tried_again_until_it_fits_its_sheet(
    tables, tmp_path, monkeypatch
):
    monkeypatch.setattr("reports.share.pdf.ROOM", {"A4": 40})
    pdf = PdfReader(write_pdf(filled(tables), tmp_path / "a.pdf", "A4"))
    assert len(pdf.pages) == 4
    assert re.search(r"Lost shoes, the last \d+ of 60", pdf.pages[1].extract_text())


LINE = "x" * 111  # a row that takes one line


@pytest.mark.parametrize(
    ("rows", "room", "kept"),
    [
        ({"visits": 8, "changes": 2, "losses": 1}, 20, {"visits": 8, "changes": 2, "losses": 1}),
        ({"visits": 20, "changes": 4, "losses": 2}, 13, {"visits": 7, "changes": 4, "losses": 2}),
        ({"visits": 20, "changes": 9, "losses": 30, "bruises": 1}, 22, {"visits": 6, "changes": 3, "losses": 12,
                                                                        "bruises": 1}),
        ({"visits": 20, "changes": 9, "losses": 30, "bruises": 30}, 0, dict.fromkeys(LISTS, 2)),
    ],
    ids=["all of it fits", "the longest gives up first", "losses outlast visits and changes", "down to the least"],
)  # fmt: skip
def test_a_sheet_holds_as_many_rows_as_it_has_room_for(rows, room, kept):
    lists = {name: [] for name in LISTS} | {name: [LINE] * count for name, count in rows.items()}
    found = rows_that_fit(lists, room)
    assert found == dict.fromkeys(LISTS, 0) | kept
    assert taken(lists, found) <= max(room, 8)


CHANGES = [
    {"changed_on": date(2025, 5, 1), "foot": foot, "change": what, "before": before, "after": after}
    for foot, what, before, after in (
        ("RF", "shoe_style", "plain", "egg_bar"),
        ("LF", "shoe_style", "plain", "egg_bar"),
        ("LF", "clips", "toe", "none"),
        ("LF", "branch_past_heel_mm", "-3", "8"),
        ("LH", "shod", "yes", "no"),
    )
]


def test_changes_of_clips_are_left_out_of_the_list_and_counted():
    assert [one.said for one in listed_changes(CHANGES)] == [
        "LF RF style plain → egg bar", "LH shod → bare", "LF steel behind the heel −3 → 8 mm"
    ]  # fmt: skip
    assert left_out_said(CHANGES) == (
        f"Not listed: 1 change of clips (data/changes.csv), nails, a branch moved by under {WORTH_TELLING_MM} mm."
    )
    assert left_out_said([]).startswith("Not listed: clips, nails")
