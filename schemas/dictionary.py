"""The data dictionary and the Frictionless Table Schemas, written from the declarations and nothing else."""

import json
from typing import Any

from schemas.base import Table
from schemas.derived import DERIVED_TABLES
from schemas.exports import EXPORT_TABLES, REQUIRED_TABLES
from schemas.fields import Meaning
from schemas.ledger import LEDGER_TABLES
from schemas.results import RESULT_TABLES
from schemas.shared import SHARED_TABLES

GROUPS: dict[str, tuple[str, dict[str, type[Table]]]] = {
    "accepted": ("What a visit export holds. Stored as `accepted.*` once accepted.", EXPORT_TABLES),
    "ledger": ("What became of every row read. Stored as `ledger.*`.", LEDGER_TABLES),
    "derived": ("What happened to each shoe, interval and foot. Stored as `derived.*`.", DERIVED_TABLES),
    "results": ("What the reports show. Stored as `results.*`.", RESULT_TABLES),
    "shared": ("What a vet practice may see, and nothing else. Kept in a file of its own.", SHARED_TABLES),
}
FRICTIONLESS_TYPES = {
    "text": "string",
    "word": "string",
    "integer": "integer",
    "number": "number",
    "date": "date",
    "yes_no": "boolean",
    "moment": "datetime",
}


def table_schema(table: type[Table]) -> dict[str, Any]:
    """The table as a Frictionless Table Schema (specs.frictionlessdata.io/table-schema)."""
    fields = [_field_schema(name, meaning, name in table.required()) for name, meaning in table.columns().items()]
    schema: dict[str, Any] = {"description": table.row_meaning(), "fields": fields, "missingValues": [""]}
    if table.key():
        schema["primaryKey"] = table.key()
    return schema


def _field_schema(name: str, meaning: Meaning, required: bool) -> dict[str, Any]:
    field: dict[str, Any] = {"name": name, "type": FRICTIONLESS_TYPES[meaning.kind], "description": meaning.text}
    if meaning.unit:
        field["unit"] = meaning.unit
    if meaning.kind == "yes_no":
        field |= {"trueValues": ["yes"], "falseValues": ["no"]}
    constraints = {
        "required": required or None,
        "minimum": _whole(meaning.low),
        "maximum": _whole(meaning.high),
        "enum": list(meaning.words) or None,
        "pattern": meaning.pattern,
        "minLength": 1 if meaning.longest else None,
        "maxLength": meaning.longest,
    }
    kept = {rule: value for rule, value in constraints.items() if value is not None}
    return field | ({"constraints": kept} if kept else {})


def table_schemas() -> dict[str, str]:
    """File name → JSON text, one for each table of every group."""
    return {
        f"{group}.{name}.json": json.dumps(table_schema(table), indent=2, ensure_ascii=False) + "\n"
        for group, (_, tables) in GROUPS.items()
        for name, table in tables.items()
    }


def dictionary() -> str:
    """The data dictionary as Markdown."""
    parts = [
        "# Data dictionary\n",
        "Written by `python -m schemas` from the classes in this folder; a test holds it current. "
        "*Rule* is a hard limit: a row beyond it is set aside. *Doubt* is a soft one: the row is accepted and named. "
        "Each table also stands as a [Table Schema](https://specs.frictionlessdata.io/table-schema/) in `tables/`.\n",
    ]
    for group, (text, tables) in GROUPS.items():
        parts.append(f"## {group}\n\n{text}\n")
        parts += [_table_part(group, name, table) for name, table in tables.items()]
    return "\n".join(parts)


def _table_part(group: str, name: str, table: type[Table]) -> str:
    head = [f"### {group}.{name}\n", table.row_meaning() + _need(group, name) + _key(table) + "\n"]
    head += ["| column | meaning | kind | unit | rule | doubt |", "|---|---|---|---|---|---|"]
    rows = [_row(column, meaning, column in table.required()) for column, meaning in table.columns().items()]
    return "\n".join(head + rows) + "\n"


def _need(group: str, name: str) -> str:
    if group != "accepted":
        return ""
    return " Must be in an export." if name in REQUIRED_TABLES else " May be missing."


def _key(table: type[Table]) -> str:
    return f" Key: {', '.join(f'`{name}`' for name in table.key())}." if table.key() else ""


def _row(name: str, meaning: Meaning, required: bool) -> str:
    private = " *Private: never in results, on a page or in a shared file.*" if meaning.private else ""
    cells = [f"`{name}`", meaning.text + private, meaning.kind, meaning.unit, _rule(meaning, required), _doubt(meaning)]
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


def _rule(meaning: Meaning, required: bool) -> str:
    parts = ["required"] if required else []
    if meaning.words:
        parts.append(", ".join(meaning.words))
    if meaning.pattern:
        parts.append(f"`{meaning.pattern}`")
    if meaning.longest:
        parts.append(f"1 to {meaning.longest} characters")
    return "; ".join([*parts, *_span(meaning.low, meaning.high)])


def _doubt(meaning: Meaning) -> str:
    return "".join(f"outside {span}" for span in _span(meaning.doubt_below, meaning.doubt_above))


def _span(low: float | None, high: float | None) -> list[str]:
    low, high = _whole(low), _whole(high)
    if low is not None and high is not None:
        return [f"{low} to {high}"]
    return [f"at least {low}"] if low is not None else [f"at most {high}"] if high is not None else []


def _whole(value: float | None) -> float | int | None:
    return int(value) if isinstance(value, float) and value.is_integer() else value
