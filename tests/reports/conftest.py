"""Sites written once a session, and a browser to look at them with."""

import os
from datetime import date
from pathlib import Path
from shutil import which

import polars as pl
import pytest

from reports.site import write_site
from tests.reports.browser import Browser
from tests.reports.horse_pages import fit, gap, listed_horse, shoe, visit
from tests.reports.parsing import pages_of
from tests.reports.practice import ABOUT, horse, practice, rate, results

HOSTILE = '<script>alert(1)</script> & "Co"'


@pytest.fixture(scope="session")
def sites(tmp_path_factory: pytest.TempPathFactory) -> dict[str, list[Path]]:
    """Pages of a small practice, of none, of one horse, of one whose names are markup, and of a large one."""
    made = {
        "small": practice(),
        "empty": results(),
        "one horse": one_horse(),
        "hostile": hostile(),
        "capitals": practice(name=lambda place: f"MAMMA WOMBAT'S GREAT WILLOW {place}"),
        "large": practice(horses=1000, yards=120),
    }
    written = {name: write_site(tables, ABOUT, tmp_path_factory.mktemp("site")) for name, tables in made.items()}
    return {name: pages_of(paths) for name, paths in written.items()}


def one_horse() -> dict:
    """One horse with three shoes, one of them lost: nearly every figure rests on too little."""
    from random import Random

    few = {"horses": 1, "shoes": 3, "losses": 1, "low_clustered": None, "high_clustered": None}
    note = "fewer than 2 losses: the range leaves out that a horse that lost one shoe loses more"
    return results(
        loss_rates=[rate(*split, 9.5, **few, note=note) for split in (("all", "all"), ("foot", "LF"))],
        horse_losses=[horse(1, "Ash", Random(1))],
        horse_list=[listed_horse(0, "H0001", "Ash")],
        horse_shoes=[shoe("H0001", "LF", date(2026, 3, 1), 30, "running")],
        horse_visits=[visit("H0001", date(2026, 3, 1))],
        horse_fit=[fit("H0001", "nails", None, 6.0, None)],
        horse_gaps=[gap("H0001", "wall_state", 1, 1)],
        interval_guide=[{"dimension": "horse", "level": "H0001", "weeks": weeks, "shoes_at_once": 1,
                         "note": "no peers to compare this horse with"} for weeks in range(4, 11)],
        interval_lengths=[{"dimension": "all", "level": "all", "intervals": 1, "horses": 1, "median_days": 42.0,
                           "p10_days": 42.0, "p25_days": 42.0, "p75_days": 42.0, "p90_days": 42.0,
                           "share_over_56": 0.0, "intervals_planned": 0,
                           "note": "fewer than 10 intervals: the figures may change much with the next few"}],
    )  # fmt: skip


def hostile() -> dict:
    """The small practice, where every word people may choose is markup."""
    tables = practice(name=lambda place: f"{HOSTILE} {place}")
    for name in ("loss_rates", "interval_lengths"):
        frame = tables[name]
        rows = [
            {**row, "level": f"{HOSTILE} {row['level']}"} if row["dimension"] in ("yard", "farrier") else row
            for row in frame.to_dicts()
        ]
        tables[name] = type(frame)(rows, schema=frame.schema)
    hands = tables["handedness"]
    tables["handedness"] = hands.with_columns(farrier=pl.format(f"{HOSTILE} {{}}", "farrier"))
    return tables


@pytest.fixture(scope="session")
def browser(tmp_path_factory: pytest.TempPathFactory):
    """A headless Chromium. Absent, tests that need it are skipped, but fail where CI=true."""
    chromium = which("chromium") or which("chromium-browser")
    if chromium is None:
        reason = "these tests look at pages with Chromium (Debian: chromium), which is not installed"
        (pytest.fail if os.environ.get("CI") == "true" else pytest.skip)(reason)
    with Browser(chromium, tmp_path_factory.mktemp("profile")) as started:
        yield started
