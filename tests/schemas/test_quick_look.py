"""The one-pass look at a table is never laxer than pandera, which is asked only where it finds a fault."""

from datetime import date, datetime

import polars as pl
import pytest
from pandera.errors import SchemaErrors

from schemas.derived import DERIVED_TABLES
from schemas.exports import EXPORT_TABLES
from schemas.ledger import LEDGER_TABLES
from schemas.results import RESULT_TABLES
from schemas.shared import SHARED_TABLES

GROUPS = {"accepted": EXPORT_TABLES, "derived": DERIVED_TABLES, "ledger": LEDGER_TABLES, "results": RESULT_TABLES,
          "shared": SHARED_TABLES}  # fmt: skip
TABLES = [(f"{group}.{name}", table) for group, tables in GROUPS.items() for name, table in tables.items()]
OF_A_FORM = {"microchip": "985102001234567", "ueln": "826002ABC123456", "height_hands": "15.2"}
OF_A_KIND = {pl.String: "x", pl.Date: date(2025, 3, 1), pl.Boolean: True, pl.Datetime: datetime(2025, 3, 1)}  # noqa: DTZ001


def sound_value(name, meaning, dtype):
    if meaning.words:
        return meaning.words[0]
    if dtype in (pl.Int64, pl.Float64):
        return meaning.low if meaning.low is not None else meaning.high if meaning.high is not None else 1
    return OF_A_FORM.get(name, OF_A_KIND.get(dtype.base_type() if hasattr(dtype, "base_type") else dtype))


def frame(table, **changed):
    kinds = table.dtypes()
    row = {name: sound_value(name, meaning, kinds[name]) for name, meaning in table.columns().items()} | changed
    return pl.DataFrame({name: pl.Series([value], dtype=kinds[name], strict=False) for name, value in row.items()})


def faults(table):
    """One broken row for each rule of each column, and two rows with one key."""
    for name, meaning in table.columns().items():
        for what, value in broken(meaning, name in table.required()):
            yield f"{name} {what}", frame(table, **{name: value})
    if table.key():
        yield "a key twice", pl.concat([frame(table)] * 2)


def broken(meaning, required):
    """Values that break each rule of one column."""
    values = {
        "blank": (required, None),
        "too low": (meaning.low is not None, (meaning.low or 0) - 1),
        "too high": (meaning.high is not None, (meaning.high or 0) + 1),
        "another word": (bool(meaning.words), "witchcraft"),
        "of another form": (bool(meaning.pattern), "?"),
        "too long": (bool(meaning.longest), "x" * ((meaning.longest or 0) + 1)),
    }
    return [(what, value) for what, (applies, value) in values.items() if applies]


def pandera_passes(table, rows):
    try:
        table.validate(rows, lazy=True)
    except SchemaErrors:
        return False
    return True


@pytest.mark.parametrize(("name", "table"), TABLES, ids=[name for name, _ in TABLES])
def test_a_sound_row_passes_both_and_no_fault_passes_the_quick_look(name, table):
    assert table.is_sound(frame(table))
    assert pandera_passes(table, frame(table))
    assert [fault for fault, rows in faults(table) if table.is_sound(rows)] == []


@pytest.mark.parametrize(
    "name", ["accepted.horses", "results.loss_rates", "results.horse_losses", "derived.foot_steps"]
)
def test_pandera_refuses_every_fault_that_the_quick_look_finds(name):
    table = dict(TABLES)[name]
    assert [fault for fault, rows in faults(table) if pandera_passes(table, rows)] == []


def test_a_table_without_rows_is_sound():
    assert all(table.is_sound(table.empty()) for _, table in TABLES)
