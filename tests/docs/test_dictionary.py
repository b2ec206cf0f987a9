import json
from pathlib import Path

import pytest
from frictionless import Schema

from schemas.dictionary import GROUPS, dictionary, table_schema, table_schemas
from schemas.fields import MEANINGS

FOLDER = Path(__file__).parents[2] / "schemas"
TABLES = [(group, name, table) for group, (_, tables) in GROUPS.items() for name, table in tables.items()]
KINDS = {
    "String": {"text", "word"},
    "Int64": {"integer"},
    "Float64": {"number"},
    "Date": {"date"},
    "Boolean": {"yes_no"},
    "Datetime": {"moment"},
}


def test_the_committed_dictionary_is_the_one_the_declarations_give():
    assert (FOLDER / "README.md").read_text(encoding="utf-8") == dictionary(), "run: python -m schemas"


def test_the_committed_table_schemas_are_those_the_declarations_give():
    committed = {path.name: path.read_text(encoding="utf-8") for path in (FOLDER / "tables").glob("*.json")}
    assert committed == table_schemas(), "run: python -m schemas"


# Columns that mean something else in one table: a change may be of all feet, and its note is private.
OWN_NAMES = {
    ("accepted.changes", "foot"): "foot_or_all",
    ("accepted.changes", "note"): "own_note",
    ("results.changes_tried", "foot"): "foot_or_all",
}


@pytest.mark.parametrize(("group", "name", "table"), TABLES, ids=[f"{g}.{n}" for g, n, _ in TABLES])
def test_every_table_schema_is_valid_by_the_frictionless_standard(group, name, table):
    schema = Schema.from_descriptor(table_schema(table))
    assert [field.name for field in schema.fields] == list(table.columns())
    assert all(description for description in (field.description for field in schema.fields))


# Columns that mean something else in one table: a change may be of all feet, and its note is private.
OWN_NAMES = {
    ("accepted.changes", "foot"): "foot_or_all",
    ("accepted.changes", "note"): "own_note",
    ("results.changes_tried", "foot"): "foot_or_all",
}


@pytest.mark.parametrize(("group", "name", "table"), TABLES, ids=[f"{g}.{n}" for g, n, _ in TABLES])
def test_every_column_stands_in_the_list_of_meanings_with_the_type_of_its_kind(group, name, table):
    assert table.row_meaning().startswith(("One row is", "The one row is"))
    for column, meaning in table.columns().items():
        own = OWN_NAMES.get((f"{group}.{name}", column), column)
        assert meaning in (MEANINGS[own], MEANINGS[own].total())
        assert meaning.kind in KINDS[str(table.dtypes()[column]).split("(")[0]], column


def test_a_json_of_the_dictionary_names_the_key_and_the_limits():
    feet = json.loads((FOLDER / "tables" / "accepted.feet.json").read_text(encoding="utf-8"))
    angle = next(field for field in feet["fields"] if field["name"] == "angle_arrival_deg")
    assert feet["primaryKey"] == ["visit_id", "foot"]
    assert angle["constraints"] == {"minimum": 30, "maximum": 75}
    assert angle["unit"] == "deg"
