"""What is told of groups on page and paper, and what is said of those that are hidden."""

from datetime import date

from reports.share.groups import beside, groups

COLUMNS = ("measure", "level", "base", "events", "figure", "low", "high", "note")
TOLD = [
    ("lost_shoes", "all", 4565, 156, 0.84, 0.71, 0.98, None),
    ("lost_shoes", "polo", 900, None, None, None, None, "Hidden: too few"),
    ("lost_shoes", "trail", None, None, None, None, None, "Hidden: too few"),
    ("bruised_looks", "all", 4958, 342, 0.069, 0.062, 0.076, None),
]


def rows(*told: tuple) -> list[dict]:
    return [dict(zip(COLUMNS, row, strict=True)) | {"counted_to": date(2026, 3, 31)} for row in told]


def test_hidden_groups_are_one_sentence_and_never_rows():
    lost, bruised = groups(rows(*TOLD), ["polo", "trail"])
    assert [row[0] for row in lost.numbers.rows] == ["All horses", "Polo"]
    assert lost.lines == (
        "All horses: 156 of 4,565 shoes lost, 0.84 per 1,000 shoe-days (0.71 to 0.98)",
        "Polo: 900 shoes, – lost; – is hidden",
    )
    assert (
        lost.hidden
        == "Shoes lost are not shown for trail: that would rest on too few, or give away a count of too few."
    )
    assert bruised.hidden.startswith("Bruised looks are not shown for polo and trail: ")


def test_what_is_said_of_hidden_groups_hangs_on_the_readers_horses_and_what_is_told_alone():
    hidden = [("lost_shoes", work, *[None] * 5, "Hidden: too few") for work in ("racing", "trail", "dressage")]
    few, many = (groups(rows(TOLD[0], TOLD[3], *more), ["trail"]) for more in ([], hidden))
    assert few == many
    assert [one.hidden.partition(":")[0] for one in few] == ["", "Shoes lost and bruised looks are not shown for trail"]


def test_where_nothing_may_be_told_that_is_said_of_all_horses_too():
    lost, bruised = groups(
        rows(*[(name, "all", *[None] * 5, "Hidden") for name in ("lost_shoes", "bruised_looks")]), []
    )
    assert (lost.lines, lost.numbers.rows, bruised.lines) == ((), [], ())
    assert bruised.hidden.startswith("Shoes lost and bruised looks are not shown for all horses: ")
    assert beside([], "lost_shoes", "trail") == "No group may be shown beside it."


def test_a_horse_is_set_beside_its_own_work_and_all_horses():
    told = rows(*TOLD, ("bruised_looks", "trail", 90, 9, 0.1, 0.05, 0.2, None))
    assert beside(told, "bruised_looks", "trail") == (
        "Beside it, to 31 March 2026: trail 10% (5 to 20%); all horses 7% (6 to 8%)."
    )
