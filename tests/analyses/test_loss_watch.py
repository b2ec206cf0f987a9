from datetime import date, timedelta

import pytest

from pipelines.analyses import loss_watch as analysis
from schemas.derived import ShoeSpells
from tests.analyses.drawing import draw, fill


def watch(record, spells):
    return record(shoe_spells=spells).results(analysis)["loss_watch"]


def test_shoe_days_fall_to_the_month_they_were_worn_in_and_a_loss_to_the_month_it_came_in(record):
    # Nailed on 25 January: 6 days to the end of the month, 28 in February, 3 in March; the other lost the same day.
    spells = draw(
        ShoeSpells,
        """
        fitted_on  | ended_on   | end_reason
        2025-01-25 | 2025-03-03 | lost
        2025-02-28 | 2025-02-28 | lost
        """,
    )
    rows = watch(record, spells).to_dicts()
    assert [(row["starts_on"].month, row["shoe_days"], row["losses"]) for row in rows] == [
        (1, 6.0, 0),
        (2, 28.5, 1),
        (3, 3.0, 1),
    ]
    assert all(row["note"].startswith("too little to watch") for row in rows)


def practice(losses_by_month):
    """A hundred shoes worn right through each month of 2025, with so many lost on its last day."""
    spells = []
    for number, losses in enumerate(losses_by_month, 1):
        start = date(2025, number, 1) - timedelta(days=1)
        for shoe in range(100):
            spells.append(
                {
                    "spell_id": f"{number}-{shoe}",
                    "fitted_on": start,
                    "ended_on": start + timedelta(days=28),
                    "end_reason": "lost" if shoe < losses else "renewed",
                }
            )
    return fill(ShoeSpells, spells)


def test_what_is_expected_adds_up_to_what_was_found(record):
    table = watch(record, practice([4, 6, 5, 5, 4, 6, 5, 5]))
    assert table["expected"].sum() == pytest.approx(40)
    assert table["expected"].to_list() == pytest.approx([5] * 8)
    assert not table["signal"].any()


def test_a_run_of_doubled_months_signals_and_quiet_ones_before_it_do_not(record):
    table = watch(record, practice([4, 3, 4, 5, 3, 4, 4, 10, 11, 12]))
    assert not table["signal"][:7].any()
    assert table["signal"][7:].any()
    assert table["losses"][9] > table["high"][9]
    assert (table["cusum"] >= table["threshold"]).to_list() == table["signal"].to_list()


def test_an_empty_record_gives_an_empty_table(record):
    assert record().results(analysis)["loss_watch"].is_empty()
