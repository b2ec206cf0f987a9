"""A practice that keeps no codes: keys are made of what identifies, and the same facts are accepted."""

import importlib.util
from datetime import date
from pathlib import Path

import polars as pl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pipelines.intake import read_export
from schemas.exports import EXPORT_TABLES
from schemas.records import Known

TODAY = date(2026, 11, 25)
SLOW = settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
CODES = ("horse_id", "visit_id", "loss_id")


def load(name):
    spec = importlib.util.spec_from_file_location(name, Path(__file__).with_name(f"{name}.py"))
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


TELLING = load("telling")


def whole(tables: dict[str, pl.DataFrame]) -> dict[str, list[tuple]]:
    """Every fact without a code in it: visits with their horse's name and yard, feet with those and their day."""
    horse = tables["horses"].select("horse_id", "horse_name", "yard")
    visit = tables["visits"].select("visit_id", "horse_id", "visit_date", "farrier")
    facts = {
        "horses": tables["horses"],
        "visits": tables["visits"].join(horse, on="horse_id", validate="m:1"),
        "feet": tables["feet"].join(visit, on="visit_id", validate="m:1").join(horse, on="horse_id", validate="m:1"),
        "losses": tables["losses"].join(horse, on="horse_id", validate="m:1"),
    }
    return {
        name: sorted(part.drop(CODES, strict=False).select(sorted(set(part.columns) - set(CODES))).rows(), key=repr)
        for name, part in facts.items()
    }


def without_codes(tables: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """Each table with what identifies instead of its codes."""
    horse = tables["horses"].select("horse_id", "horse_name", "yard")
    visit = tables["visits"].select("visit_id", "horse_id", "visit_date", "farrier").join(horse, on="horse_id")
    named = {
        "horses": tables["horses"],
        "visits": tables["visits"].join(horse, on="horse_id", maintain_order="left"),
        "feet": tables["feet"].join(visit, on="visit_id", maintain_order="left"),
        "losses": tables["losses"].join(horse, on="horse_id", maintain_order="left"),
    }
    return {name: part.drop(CODES, strict=False) for name, part in named.items()}


def as_sheets(teller, tables: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    return {name: teller.named(teller.told(part)) for name, part in without_codes(tables).items()}


def as_one_flat_sheet(teller, tables: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    plain = {name: teller.told(part) for name, part in tables.items()}
    rows = plain["feet"].join(plain["visits"], on="visit_id", how="left", maintain_order="left")
    flat = rows.join(plain["horses"], on="horse_id", how="left", maintain_order="left").drop("horse_id", "visit_id")
    losses = plain["losses"].join(plain["horses"].select("horse_id", "horse_name", "yard"), on="horse_id")
    return {"shoeing": teller.named(flat), "lost shoes": teller.named(losses.drop("horse_id", "loss_id"))}


def seen(tables: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """The horses and visits that stand on any foot's row: a flat sheet tells no others."""
    visits = tables["visits"].join(tables["feet"], on="visit_id", how="semi")
    horses = tables["horses"].join(visits, on="horse_id", how="semi")
    return tables | {
        "visits": visits, "horses": horses, "losses": tables["losses"].join(horses, on="horse_id", how="semi"),
    }  # fmt: skip


@SLOW
@given(seed=st.integers(0, 30), way=st.integers(0, 10_000), layout=st.sampled_from([as_sheets, as_one_flat_sheet]))
def test_the_same_facts_are_accepted_without_any_code(tmp_path_factory, seed, way, layout):
    tables = seen({name: _typed(name, part) for name, part in TELLING.practice(seed).items()})
    teller = TELLING.Teller(way)
    folder = tmp_path_factory.mktemp("told")
    TELLING.write(layout(teller, tables), folder, "utf-8", ";", False)
    records = read_export([folder], Known(), None, TODAY, dates="day-first" if teller.day_first else "month-first")
    assert records.set_aside.is_empty(), records.set_aside["reason"].to_list()[:5]
    accepted = {name: part.drop("source_file", "source_row") for name, part in records.tables.items()}
    told = whole(accepted)
    for name, facts in whole(tables).items():
        assert told[name] == facts, name


def _typed(name: str, part: pl.DataFrame) -> pl.DataFrame:
    return part.select(list(EXPORT_TABLES[name].columns())).cast(EXPORT_TABLES[name].dtypes())


MONTHS = 4


@SLOW
@given(seed=st.integers(0, 30), way=st.integers(0, 1000), order=st.permutations(range(MONTHS)))
def test_one_file_a_month_gives_the_same_in_whatever_order_they_come(tmp_path_factory, seed, way, order):
    tables = seen({name: _typed(name, part) for name, part in TELLING.practice(seed).items()})
    teller = TELLING.Teller(way)
    flat = as_one_flat_sheet(teller, tables)
    folder = tmp_path_factory.mktemp("months")
    size = max(1, -(-flat["shoeing"].height // (MONTHS - 1)))
    # Each part overlaps the one before by a few rows, as exports do.
    parts = [flat["shoeing"].slice(max(0, at * size - 5), size + 5) for at in range(MONTHS)]
    paths = []
    for at, part in enumerate(parts):
        sheets = {"shoeing": part} if part.height else {"lost shoes": flat["lost shoes"]}
        sheets |= {"lost shoes": flat["lost shoes"]} if at == 0 else {}
        TELLING.write(sheets, folder / str(at), "utf-8", ";", False)
        paths.append(folder / str(at))
    dates = "day-first" if teller.day_first else "month-first"
    once = read_export(paths, Known(), None, TODAY, dates=dates)
    turned = read_export([paths[at] for at in order], Known(), None, TODAY, dates=dates)
    assert once.set_aside.is_empty(), once.set_aside["reason"].to_list()[:5]
    assert _facts(once) == _facts(turned) == whole(tables)


def _facts(records):
    return whole({name: part.drop("source_file", "source_row") for name, part in records.tables.items()})


@pytest.mark.parametrize(("first", "second"), [("reset", "trim"), ("trim", "reset")])
def test_where_two_exports_disagree_the_later_holds_and_the_earlier_is_kept_as_overtaken(tmp_path, first, second):
    for at, work in enumerate((first, second)):
        text = f"Horse,Use,Date,Kind,Leg,Came in,Done\nAsh,polo,2024-02-13,routine,NF,on,{work}\n"
        (tmp_path / f"{at}.csv").write_text(text, encoding="utf-8")
    records = read_export([tmp_path / "0.csv", tmp_path / "1.csv"], Known(), None, TODAY)
    assert records.tables["feet"]["work"].to_list() == [second]
    assert records.superseded["feet"]["work"].to_list() == [first]


def test_two_farriers_at_one_horse_on_one_day_are_two_visits_and_each_foot_is_of_its_own(tmp_path):
    (tmp_path / "book.csv").write_text(
        "Horse,Use,Date,Farrier,Kind,Leg,Came in,Done\n"
        "Ash,polo,2024-02-13,A,routine,NF,on,trim\n"
        "Ash,polo,2024-02-13,B,vet_request,OF,on,reset\n",
        encoding="utf-8",
    )
    records = read_export([tmp_path], Known(), None, TODAY)
    assert records.tables["visits"]["visit_kind"].to_list() == ["routine", "vet_request"]
    assert records.tables["feet"].select("visit_id", "foot").rows() == [
        ("ash, 2024-02-13, a", "LF"),
        ("ash, 2024-02-13, b", "RF"),
    ]


def test_what_one_export_tells_of_a_horse_does_not_fill_the_blanks_of_another(tmp_path):
    for at, foaled in enumerate(("2010", "")):
        text = f"Horse,Use,Foaled,Date,Kind,Leg,Came in,Done\nAsh,polo,{foaled},2024-02-1{at},routine,NF,on,trim\n"
        (tmp_path / f"{at}.csv").write_text(text, encoding="utf-8")
    records = read_export([tmp_path / "0.csv", tmp_path / "1.csv"], Known(), None, TODAY)
    assert records.superseded["horses"]["foaled_year"].to_list() == [2010]
