import duckdb
import polars as pl

from pipelines.analyses.splits import in_order, named, split, yes_or_no

SHOES = """
    (values ('ash', 'LF', true, 2), ('ash', null, false, 3), ('bay', 'LF', null, 4)) shoes(horse, foot, padded, days)
"""


def counted(dimensions, what):
    with duckdb.connect() as con:
        return sorted(con.sql(split(dimensions, what, SHOES)).fetchall(), key=str)


def test_one_source_is_counted_once_for_each_dimension_and_for_all():
    assert counted(named("horse"), "sum(days)::int as days") == [
        ("all", "all", 9),
        ("horse", "ash", 5),
        ("horse", "bay", 4),
    ]


def test_a_blank_level_is_not_recorded():
    assert counted({"foot": "foot"}, "count(*) as shoes") == [("foot", "LF", 2), ("foot", "not recorded", 1)]


def test_a_column_that_is_no_sum_is_counted_by():
    assert counted(named(), "horse, count(*) as shoes") == [("all", "all", "ash", 2), ("all", "all", "bay", 1)]


def test_yes_no_and_blank_become_words():
    assert counted({"padded": yes_or_no("padded")}, "count(*) as shoes") == [
        ("padded", "no", 1),
        ("padded", "not recorded", 1),
        ("padded", "yes", 1),
    ]


def test_dimensions_stand_as_declared_and_not_recorded_after_every_name():
    levels = [("foot", "not recorded"), ("foot", "zz"), ("all", "all"), ("foot", "LF")]
    frame = pl.DataFrame(levels, schema=["dimension", "level"], orient="row")
    ordered = in_order(frame, named("foot")).rows()
    assert ordered == [("all", "all"), ("foot", "LF"), ("foot", "zz"), ("foot", "not recorded")]
