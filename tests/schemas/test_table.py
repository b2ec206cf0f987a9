import polars as pl
import pytest

from schemas.base import TableError
from schemas.exports import Feet, Horses
from schemas.results import LossCauses

ROW = {"cause": ["caught"], "losses": [3], "cause_share": [0.5]}


def test_check_gives_the_declared_columns_order_and_types_back():
    frame = pl.DataFrame({name: ROW[name] for name in ("losses", "cause_share", "cause")})
    assert LossCauses.check(frame).schema == pl.Schema(LossCauses.dtypes())


@pytest.mark.parametrize(
    ("change", "complaint"),
    {
        "a column that is not declared": ({"owner_name": ["A"]}, "undeclared columns ['owner_name']"),
        "a word that is not in the list": ({"cause": ["witchcraft"]}, "cause breaks"),
        "a share over one": ({"cause_share": [1.5]}, "cause_share breaks"),
        "a required blank": ({"losses": [None]}, "losses breaks"),
    }.values(),
)
def test_check_refuses(change, complaint):
    with pytest.raises(TableError, match=complaint.replace("[", r"\[").replace("]", r"\]")):
        LossCauses.check(pl.DataFrame(ROW | change))


def test_a_missing_column_is_named():
    with pytest.raises(TableError, match="cause_share"):
        LossCauses.check(pl.DataFrame({"cause": ["caught"], "losses": [3]}))


def test_a_key_twice_is_refused():
    with pytest.raises(TableError, match="uniqueness"):
        LossCauses.check(pl.DataFrame({"cause": ["caught"] * 2, "losses": [1, 2], "cause_share": [0.5, 0.5]}))


def test_a_table_tells_its_key_its_required_columns_and_what_a_row_is():
    assert Feet.key() == ["visit_id", "foot"]
    assert Horses.required() == ["horse_id", "horse_name", "discipline"]
    assert Feet.row_meaning() == "One row is one foot looked at in one visit."
