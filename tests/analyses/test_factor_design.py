import numpy as np
import polars as pl
import pytest

from pipelines.analyses.factor_design import Factor, Tally, design_part


def part(factor, levels, losses, expected, applies=None):
    """One pattern a level, of ten shoes each."""
    tally = Tally(np.full(len(levels), 10.0), np.array(losses, dtype=float), np.array(expected, dtype=float))
    applies = np.ones(len(levels), dtype=bool) if applies is None else np.array(applies)
    return design_part(factor, pl.Series(levels), applies, tally)


def columns(made):
    """The design columns of each pattern."""
    return made.table[made.codes].tolist()


def lines(made):
    return [(row["level"], row["shoes"], row["losses"], row["note"]) for row in made.rows]


PAD = Factor("pad", "pad", reference="none")
LONG = Factor("branch", "branch", 5, "5 mm")


def test_each_level_with_enough_losses_has_a_column_and_the_reference_has_none():
    made = part(PAD, ["none", "full", "rim"], [20, 12, 15], [22, 11, 14])
    assert columns(made) == [[0, 0], [1, 0], [0, 1]]
    assert lines(made) == [("none", 10, 20, "reference"), ("full", 10, 12, None), ("rim", 10, 15, None)]


def test_levels_with_few_losses_expected_or_none_found_join_other_and_say_so():
    made = part(PAD, ["none", "full", "rim", None], [20, 3, 0, 4], [22, 4, 12, 5])
    assert columns(made) == [[0, 0], [1, 0], [1, 0], [0, 1]]
    assert lines(made) == [
        ("none", 10, 20, "reference"),
        ("other", 20, 3, None),
        ("full", 10, 3, "4.0 losses expected: counted with other"),
        ("rim", 10, 0, "12.0 losses expected: counted with other"),
        ("not recorded", 10, 4, "5.0 losses expected: left out"),
    ]


def test_shoes_without_a_value_and_a_loss_stand_with_the_reference_and_not_with_other():
    made = part(PAD, ["none", "full", "rim", None], [20, 3, 1, 0], [22, 4, 12, 5])
    assert columns(made)[-1] == [0] * len(columns(made)[0])
    assert lines(made)[-1] == ("not recorded", 10, 0, "5.0 losses expected: counted with none")


def test_where_other_would_be_too_small_as_well_it_has_a_column_of_which_nothing_is_shown():
    made = part(PAD, ["none", "full", "rim"], [20, 3, 12], [22, 4, 12])
    assert columns(made) == [[0, 0], [1, 0], [0, 1]]
    assert lines(made) == [
        ("none", 10, 20, "reference"),
        ("rim", 10, 12, None),
        ("full", 10, 3, "4.0 losses expected: left out"),
    ]
    assert made.column == [-1, 1, -1]


def test_a_rare_level_without_a_loss_stands_with_the_reference():
    made = part(PAD, ["none", "full", "rim"], [20, 0, 12], [22, 4, 12])
    assert columns(made) == [[0], [0], [1]]
    assert lines(made)[-1] == ("full", 10, 0, "4.0 losses expected: counted with none")


def test_without_the_named_reference_the_level_with_most_losses_expected_is_it():
    made = part(PAD, ["full", "rim"], [20, 12], [11, 14])
    assert made.rows[0]["level"] == "rim"
    assert columns(made) == [[1], [0]]


def test_a_measure_is_taken_about_its_mean_in_steps_and_what_is_missing_has_its_own_column():
    made = part(LONG, [0.0, 10.0, None], [20, 20, 12], [20, 20, 12])
    assert columns(made) == [[-1, 0], [1, 0], [0, 1]]
    assert lines(made) == [("per 5 mm", 20, 40, None), ("not recorded", 10, 12, None)]


def test_a_few_missing_values_are_counted_at_the_mean():
    made = part(LONG, [0.0, 10.0, None], [20, 20, 1], [20, 20, 2])
    assert columns(made) == [[-1], [1], [0]]
    assert made.rows[1]["note"] == "2.0 losses expected: counted at the mean"


def test_shoes_a_factor_does_not_apply_to_take_no_part():
    made = part(LONG, [0.0, 10.0, None, None], [20, 20, 9, 9], [20, 20, 30, 30], [True, True, False, False])
    assert columns(made) == [[-1], [1], [0], [0]]
    assert lines(made) == [("per 5 mm", 20, 40, None)]


@pytest.mark.parametrize(
    ("levels", "note"),
    {
        "half missing": (["none", None, None], "left out: filled in for 33 % of shoes"),
        "one level": (
            ["none", "none", "none"],
            "left out: fewer than two levels with 10 losses expected and one found",
        ),
    }.values(),
    ids=["filled in under half", "one level only"],
)
def test_a_factor_that_cannot_be_used_says_why(levels, note):
    made = part(PAD, levels, [20, 20, 20], [20, 20, 20])
    assert made.table.shape[1] == 0
    assert made.rows[0]["note"] == note
