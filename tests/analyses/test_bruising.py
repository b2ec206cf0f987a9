from collections import defaultdict
from math import exp, log, sqrt

import pytest
from hypothesis import given, settings

from pipelines.analyses import bruising as analysis
from schemas.derived import BruiseSteps
from tests.analyses import worlds
from tests.analyses.agreement import assert_agree
from tests.analyses.drawing import draw
from tests.analyses.recorded import results_of

STEPS = """
    horse_id | foot | bruise_from | bruise_to | site_from | sole_relief
    ash      | LF   | 0           | 1         |           | true
    ash      | LF   | 1           | 2         | toe       | true
    ash      | LF   | 2           | 0         | toe       | false
    ash      | RF   | 0           | 0         |           |
    bay      | LF   | 3           | 3         |           | true
    bay      | LF   | 3           | 1         | body      | true
    bay      | RH   | 0           | 0         |           | true
"""


def recurrence(record, drawing=STEPS):
    table = record(bruise_steps=draw(BruiseSteps, drawing)).results(analysis)["bruise_recurrence"]
    return {(row["dimension"], row["level"]): row for row in table.to_dicts()}


def test_any_grade_from_one_is_bruised_and_steps_are_counted_by_how_they_start(record):
    everything = recurrence(record)["all", "all"]
    assert (everything["steps_clear"], everything["clear_to_bruised"]) == (3, 1)
    assert (everything["steps_bruised"], everything["bruised_to_bruised"]) == (4, 3)
    assert everything["feet"] == 4
    assert everything["chance_new"] == pytest.approx(1 / 3)
    assert everything["chance_again"] == 0.75
    assert everything["ratio"] == pytest.approx(2.25)


def test_only_steps_from_a_bruise_have_a_site(record):
    found = recurrence(record)
    toe = found["site", "toe"]
    assert (toe["steps_clear"], toe["chance_new"], toe["ratio"]) == (0, None, None)
    assert (toe["steps_bruised"], toe["bruised_to_bruised"]) == (2, 1)
    assert found["site", "not recorded"]["steps_bruised"] == 1


def test_sole_relief_is_yes_no_or_not_recorded(record):
    levels = [level for dimension, level in recurrence(record) if dimension == "sole_relief"]
    assert levels == ["no", "yes", "not recorded"]


def test_looks_are_banded_by_the_interval_between_them_and_those_of_none_stand_apart(record):
    days = (28, 29, 42, 43, 56, 57)
    drawing = "days | bruise_from | bruise_to | one_interval\n" + "\n".join(f"{each} | 1 | 1 | true" for each in days)
    drawing += "\n 30 | 1 | 0 | false \n 84 | 1 | 1 | false"
    found = recurrence(record, drawing)
    bands = {level: row["steps_bruised"] for (dimension, level), row in found.items() if dimension == "interval_band"}
    assert bands == {
        "4 weeks or less": 1,
        "4 to 6 weeks": 2,
        "6 to 8 weeks": 2,
        "over 8 weeks": 1,
        "not one interval": 2,
    }


@pytest.mark.parametrize(
    ("steps", "note"),
    {
        "no bruise was looked at again": ("bruise_from | bruise_to\n0 | 1", "no bruise was looked at again"),
        "one horse's bruises": ("bruise_from | bruise_to\n1 | 1\n1 | 0", "bruises of one horse only: no limits"),
        "all came back": (
            "horse_id | bruise_from | bruise_to\nash | 1 | 1\nbay | 1 | 1",
            "none or all came back: no limits",
        ),
        "no new bruise": (
            "horse_id | bruise_from | bruise_to\nash | 1 | 1\nbay | 1 | 0\nbay | 0 | 0",
            "no new bruise was seen: no ratio",
        ),
    }.values(),
)
def test_a_figure_that_cannot_be_had_is_blank_with_the_reason(record, steps, note):
    everything = recurrence(record, steps)["all", "all"]
    assert everything["note"] == note
    assert everything["ratio_low"] is None


def levels_of(row):
    relief = {True: "yes", False: "no", None: "not recorded"}[row["sole_relief"]]
    yield "all", "all"
    yield from ((name, row[name] or "not recorded") for name in ("discipline", "foot", "end", "shoe_style"))
    yield "sole_relief", relief
    bands = {28: "4 weeks or less", 42: "4 to 6 weeks", 56: "6 to 8 weeks", 10_000: "over 8 weeks"}
    band = next(band for most, band in bands.items() if row["days"] <= most)
    yield "interval_band", band if row["one_interval"] else "not one interval"
    if row["bruise_from"]:
        yield "site", row["site_from"] or "not recorded"


def by_hand(rows):
    """Loops over horses: (again, from a bruise, new, from clear) each."""
    levels = defaultdict(lambda: defaultdict(lambda: [0, 0, 0, 0]))
    for row in rows:
        for level in levels_of(row):
            horse = levels[level][row["horse_id"]]
            bruised = row["bruise_from"] > 0
            horse[1 if bruised else 3] += 1
            horse[0 if bruised else 2] += row["bruise_to"] > 0
    return {level: _chances(list(horses.values())) for level, horses in levels.items()}


def _chances(horses):
    x, n, y, m = (sum(part) for part in zip(*horses, strict=True))
    again, new = x / n if n else None, y / m if m else None
    row = {"bruised_to_bruised": x, "steps_bruised": n, "clear_to_bruised": y, "steps_clear": m}
    row |= {"chance_again": again, "chance_new": new, "ratio": again / new if n and y else None}
    row |= dict.fromkeys(("again_low", "again_high", "ratio_low", "ratio_high"))
    with_bruise = [horse for horse in horses if horse[1]]
    if len(with_bruise) >= 2 and 0 < x < n:
        k = len(with_bruise)
        error = sqrt(k / (k - 1) * sum((a - again * b) ** 2 for a, b, *_ in with_bruise)) / n / again / (1 - again)
        logit = log(again / (1 - again))
        row["again_low"], row["again_high"] = (1 / (1 + exp(-logit - s * 1.959964 * error)) for s in (-1, 1))
    if len(horses) >= 2 and x and y:
        k = len(horses)
        pulls = [(a - again * b) / x - (c - new * d) / y for a, b, c, d in horses]
        error = sqrt(k / (k - 1) * sum(pull**2 for pull in pulls))
        row["ratio_low"], row["ratio_high"] = (again / new * exp(s * 1.959964 * error) for s in (-1, 1))
    return row


@settings(deadline=None, max_examples=30)
@given(worlds.bruise_steps())
def test_every_level_agrees_with_a_count_by_hand(rows):
    table = results_of(analysis, bruise_steps=worlds.frame("bruise_steps", rows))["bruise_recurrence"]
    found = {(row["dimension"], row["level"]): row for row in table.to_dicts()}
    expected = by_hand(rows)
    assert found.keys() == expected.keys()
    for level, row in expected.items():
        assert_agree(found[level], row, level)
