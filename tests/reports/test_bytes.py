"""The same results give the same bytes, wherever and however often the site is written."""

import os
import subprocess
import sys
from hashlib import sha256
from pathlib import Path

import pytest

from reports import horse_files
from reports.site import write_site
from tests.reports.practice import ABOUT, practice

WRITE = """
from hashlib import sha256
from pathlib import Path
import sys
from reports.site import write_site
from tests.reports.practice import ABOUT, practice
for path in write_site(practice(), ABOUT, Path(sys.argv[1])):
    print(sha256(path.read_bytes()).hexdigest())
"""


def written(pages: list[Path]) -> list[Path]:
    """The pages of a site and the files beside them."""
    return [*pages, pages[0].parent / "due.csv", pages[0].parent / "due.ics"]


def test_a_second_writing_in_the_same_process_changes_no_byte(sites, tmp_path):
    again = write_site(practice(), ABOUT, tmp_path / "made" / "where absent")
    assert [path.read_bytes() for path in again] == [path.read_bytes() for path in written(sites["small"])]


def test_another_process_far_away_writes_the_same_bytes(sites, tmp_path):
    root = Path(__file__).parents[2]
    elsewhere = {**os.environ, "TZ": "Pacific/Auckland", "PYTHONHASHSEED": "7", "LC_ALL": "C", "PYTHONPATH": str(root)}
    done = subprocess.run(
        [sys.executable, "-c", WRITE, str(tmp_path)],
        env=elsewhere,
        cwd=root,
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.split() == [sha256(path.read_bytes()).hexdigest() for path in written(sites["small"])]


def test_lines_end_alike_on_every_system_and_text_is_utf_8(sites):
    for pages in sites.values():
        for path in pages:
            content = path.read_bytes()
            assert b"\r" not in content
            content.decode("utf-8")


def test_the_order_of_rows_in_the_results_does_not_matter(sites, tmp_path):
    turned = {name: frame.reverse() for name, frame in practice().items()}
    # curves and bands are drawn in the order of days, factors and shoes in that of their tables, which are kept in it
    kept = ("retention", "share_lost_by_weeks", "funnel_bands", "rows_taken", "files_taken", "completeness")
    kept += ("bruise_burden", "horse_angles", "horse_bruises", "horse_rounds")
    for name in (*kept, "loss_factors", "loss_hazard", "fit_by_pace", "horse_shoes", "horse_visits", "horse_fit"):
        turned[name] = practice()[name]
    again = write_site(turned, ABOUT, tmp_path)
    assert [path.read_bytes() for path in again] == [path.read_bytes() for path in written(sites["small"])]


def test_pages_of_horses_written_by_two_processes_have_the_same_bytes(tmp_path, monkeypatch):
    made = []
    for many in (10**6, 1):
        monkeypatch.setattr(horse_files, "MANY_HORSES", many)
        folder = tmp_path / str(many)
        written = write_site(practice(), ABOUT, folder)
        made.append({path.name: path.read_bytes() for path in written})
    assert made[0] == made[1]
    assert list(made[0]) == list(made[1])


def test_a_failure_of_the_other_process_is_no_silent_gap(tmp_path):
    with pytest.raises(RuntimeError, match="every second horse"), horse_files._another("no results"):
        pass
