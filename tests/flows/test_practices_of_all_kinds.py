"""Whole sites of practices that differ in size and in what is written down: each is published, page by page."""

from dataclasses import replace

import pytest

from pipelines.build import Settings, publish
from pipelines.simulate import Truth, simulate, write_practice

DATED = Truth.plainly_recorded()
NEVER_DATED = Truth(unreported_share=1.0)
KINDS = {
    "every loss dated to the day": (40, 2.0, 1, DATED, None),
    "no loss dated at all": (20, 2.0, 2, NEVER_DATED, None),
    "one loss among very many shoes": (40, 2.0, 1, DATED, 1),
    "two losses": (30, 1.0, 4, DATED, 2),
    "no losses": (12, 1.0, 5, DATED, 0),
    "three horses": (3, 1.0, 7, Truth(), None),
    "one horse": (1, 2.0, 7, Truth(), None),
    "few weeks": (15, 0.2, 8, Truth(), None),
}


@pytest.mark.parametrize(("horses", "years", "seed", "truth", "losses"), KINDS.values(), ids=KINDS)
def test_a_site_is_published(tmp_path, horses, years, seed, truth, losses):
    practice = simulate(horses, years, seed, truth=truth)
    if losses is not None:
        practice = with_losses(practice, losses)
    write_practice(practice, tmp_path / "export")
    outcome = publish([tmp_path / "export"], tmp_path / "s.duckdb", tmp_path / "site", Settings())
    pages = {path.name for path in (tmp_path / "site").rglob("*.html")}
    assert {"index.html", "lost-shoes.html", "horses.html", "due.html", "data.html"} <= pages
    assert len(pages) >= 10 + horses / 2
    assert outcome.rows_set_aside == 0


def with_losses(practice, count):
    """The practice with so many of its shoes ever lost: the other feet are found with their shoes on."""
    feet = practice.feet.with_columns(arrival=practice.feet["arrival"].replace("off", "on"))
    return replace(practice, losses=practice.losses.head(count), feet=feet)
