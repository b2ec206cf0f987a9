"""However a practice is told, the same facts are accepted."""

import importlib.util
import os
import shutil
import subprocess
from datetime import date
from pathlib import Path

import polars as pl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pipelines.intake import read_export
from schemas.base import Problem
from schemas.exports import EXPORT_TABLES
from schemas.records import Known

TODAY = date(2026, 11, 25)
SLOW = settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))


def load(name):
    spec = importlib.util.spec_from_file_location(name, Path(__file__).with_name(f"{name}.py"))
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


TELLING = load("telling")


def facts(records):
    """The accepted rows of each table without where they came from, in order of their keys."""
    return {
        name: table.select(list(EXPORT_TABLES[name].columns())).sort(EXPORT_TABLES[name].key())
        for name, table in records.tables.items()
    }


def read(folder, **options):
    return read_export([folder], Known(), None, TODAY, **options)


@SLOW
@given(
    seed=st.integers(0, 30), way=st.integers(0, 10_000), layout=st.sampled_from(TELLING.LAYOUTS),
    form=st.sampled_from(TELLING.ENCODINGS), title=st.booleans(),
)  # fmt: skip
def test_a_practice_told_in_any_layout_words_units_days_and_encoding_comes_back_identical(
    tmp_path_factory, seed, way, layout, form, title
):
    tables = TELLING.practice(seed)
    teller = TELLING.Teller(way)
    folder = tmp_path_factory.mktemp("told")
    TELLING.write(layout(teller, tables), folder, *form, title)
    records = read(folder, dates="day-first" if teller.day_first else "month-first")
    assert records.set_aside.is_empty(), records.set_aside["reason"].to_list()[:5]
    told = facts(records)
    for name, table in tables.items():
        expected = table.select(list(EXPORT_TABLES[name].columns())).sort(EXPORT_TABLES[name].key())
        assert told[name].equals(expected.cast(told[name].schema)), name


@SLOW
@given(seed=st.integers(0, 20), spot=st.integers(0, 10_000), junk=st.sampled_from(["§§", "52-54", "HF", "99/99/9999"]))
def test_one_damaged_cell_is_understood_or_named_by_file_row_and_column(tmp_path_factory, seed, spot, junk):
    tables = TELLING.practice(seed)
    name = ("horses", "visits", "feet", "losses")[spot % 4]
    table = tables[name].select(pl.all().cast(pl.String))
    if not table.height:
        return
    row, column = spot % table.height, table.columns[spot % table.width]
    damaged = table.with_columns(
        pl.when(pl.int_range(pl.len()) == row).then(pl.lit(junk)).otherwise(pl.col(column)).alias(column)
    )
    folder = tmp_path_factory.mktemp("damaged")
    for other, whole in tables.items():
        (damaged if other == name else whole).write_csv(folder / f"{other}.csv")
    records = read(folder)
    for other, whole in tables.items():
        aside = records.rows_read[other] - records.tables[other].height - records.collapsed[other]
        assert records.rows_read[other] == whole.height
        assert aside == records.set_aside.filter(table_name=other)["source_row"].n_unique()
    named = pl.concat([records.set_aside, records.warnings]).filter(source_file=f"{name}.csv", source_row=row + 2)
    kept = records.tables[name].filter(source_row=row + 2)
    taken = kept.height and str(kept[column][0]) == junk
    assert taken or column in named["column_name"].to_list() or "same_key_twice" in named["rule"].to_list(), named


BOOK = """
Lower Yard shoeing book;;;;;;;;;;
;;;;;;;;;;
Name;Stable;Use;Date;Farrier;Kind;Leg;Came in;Done;Angle in;Bruise
Ash;Top;Eventing;13/02/2024;A;routine;NF;cast;new shoes;52°;none
;;;;;;OF;on;refit;51,5;slight
Bay;Top;Hacking;14/02/2024;A;routine;near hind;bare;trimmed;;
Total;3;;;;;;;;;
"""


def test_a_flat_book_without_any_code_gets_its_keys_from_what_identifies(tmp_path):
    text = BOOK.strip().replace("\n;;;;;;OF", "\nAsh;Top;Eventing;13/02/2024;A;routine;OF")
    (tmp_path / "book.csv").write_text(text, encoding="utf-8")
    records = read(tmp_path)
    assert records.set_aside.is_empty(), records.set_aside["reason"].to_list()
    assert records.tables["horses"]["horse_id"].to_list() == ["ash, top", "bay, top"]
    assert records.tables["visits"]["visit_id"].to_list() == ["ash, top, 2024-02-13, a", "bay, top, 2024-02-14, a"]
    assert records.tables["feet"].select("visit_id", "foot", "arrival", "work", "bruise_grade").rows() == [
        ("ash, top, 2024-02-13, a", "LF", "off", "fit_new", 0),
        ("ash, top, 2024-02-13, a", "RF", "on", "reset", 1),
        ("bay, top, 2024-02-14, a", "LH", "bare", "trim", None),
    ]
    assert records.warnings["reason"].to_list() == ["a row of totals: left out"]


def test_headers_and_sheets_nobody_knows_are_named(tmp_path):
    (tmp_path / "book.csv").write_text(BOOK.strip().replace("Kind;", "Kind;").replace(";Bruise", ";Farr. remarks"))
    (tmp_path / "shopping.csv").write_text("milk,bread\n1,2\n", encoding="utf-8")
    text = (tmp_path / "book.csv").read_text().replace("\n;;;;;;OF", "\nAsh;Top;Eventing;13/02/2024;A;routine;OF")
    (tmp_path / "book.csv").write_text(text)
    records = read(tmp_path)
    assert [one.line() for one in records.taken] == [
        "book.csv: one row a foot, visits and horses folded in, 3 rows, 10 of 11 columns understood; "
        "not understood: Farr. remarks"
    ]
    reasons = records.warnings["reason"].to_list()
    assert any("Farr. remarks" in reason for reason in reasons)
    assert any("shopping.csv" in reason for reason in reasons)


VISITS = "visit_id,horse_id,visit_date,visit_kind\nV1,H1,{},routine\nV2,H1,{},routine\n"


def tables_with_days(folder, first, second, losses=None):
    folder.mkdir(exist_ok=True)
    (folder / "horses.csv").write_text("horse_id,horse_name,discipline\nH1,Ash,eventing\n")
    (folder / "visits.csv").write_text(VISITS.format(first, second))
    (folder / "feet.csv").write_text("visit_id,foot,arrival,work\nV1,LF,bare,fit_new\n")
    if losses:
        (folder / "losses.csv").write_text(f"horse_id,foot,found_off\nH1,LF,{losses}\n")
    return folder


def days(records):
    return [day.isoformat() for day in records.tables["visits"]["visit_date"]]


def test_a_13th_month_settles_the_order_of_its_file_and_of_the_other_files_of_the_export(tmp_path):
    records = read(tables_with_days(tmp_path / "a", "13/02/2024", "03/04/2024", losses="05/03/2024"))
    assert days(records) == ["2024-02-13", "2024-04-03"]
    assert records.tables["losses"]["found_off"].to_list() == [date(2024, 3, 5)]
    records = read(tables_with_days(tmp_path / "b", "02/13/2024", "03/04/2024", losses="05/03/2024"))
    assert days(records) == ["2024-02-13", "2024-03-04"]
    assert records.tables["losses"]["found_off"].to_list() == [date(2024, 5, 3)]


def test_where_nothing_settles_the_order_the_load_stops_and_asks(tmp_path):
    folder = tables_with_days(tmp_path / "a", "01/02/2024", "03/04/2024")
    with pytest.raises(Problem, match="--dates day-first or --dates month-first"):
        read(folder)
    assert days(read(folder, dates="day-first")) == ["2024-02-01", "2024-04-03"]
    assert days(read(folder, dates="month-first")) == ["2024-01-02", "2024-03-04"]


def test_a_file_that_writes_days_both_ways_is_not_guessed_at(tmp_path):
    folder = tables_with_days(tmp_path / "a", "13/02/2024", "02/13/2024")
    with pytest.raises(Problem, match="some days day first and some month first"):
        read(folder)


LAYOUT_FILE = """
[headers]
"Farr. remarks" = "notes"
[words.foot]
"FR" = "RF"
[defaults]
visit_kind = "routine"
[units]
toe_arrival_mm = "cm"
[horses]
same = [["ash, top", "ash, low"]]
"""


def test_a_layout_file_says_what_headers_and_words_cannot(tmp_path):
    (tmp_path / "practice.toml").write_text(LAYOUT_FILE)
    (tmp_path / "book.csv").write_text(
        "Horse,Yard,Use,Date,Foot,Arrival,Work done,Toe in,Farr. remarks\n"
        "Ash,Top,Eventing,13/02/2024,FR,bare,new,8.4,careful\n"
        "Ash,Low,Eventing,28/03/2024,LF,on,refit,8.5,\n"
    )
    with pytest.raises(Problem, match="visit_kind"):
        read(tmp_path / "book.csv")
    records = read_export([tmp_path / "book.csv"], Known(), None, TODAY, layout=tmp_path / "practice.toml")
    assert records.tables["feet"].select("foot", "toe_arrival_mm").rows() == [("RF", 84.0), ("LF", 85.0)]
    assert records.tables["visits"].select("horse_id", "visit_kind", "notes").rows() == [
        ("ash, top", "routine", "careful"),
        ("ash, top", "routine", None),
    ]


GROUPS = """[headers]
"LF came" = "LF arrival"
"did" = "work"
"NH found so" = "LH arrival"
"""


def test_a_layout_file_names_the_columns_of_each_foot_or_of_all(tmp_path):
    (tmp_path / "practice.toml").write_text(GROUPS)
    (tmp_path / "book.csv").write_text(
        "Horse,Use,Date,Kind,LF came,LF did,NH found so,NH did\nAsh,eventing,13/02/2024,routine,cast,new,bare,trimmed\n"
    )
    records = read_export([tmp_path / "book.csv"], Known(), None, TODAY, layout=tmp_path / "practice.toml")
    assert records.tables["feet"].select("foot", "arrival", "work").rows() == [
        ("LF", "off", "fit_new"),
        ("LH", "bare", "trim"),
    ]


BAD_LAYOUTS = {
    "a column that is none": ('[headers]\n"Hoof" = "hooof"\n', 'line 2: "hooof" is no column'),
    "a word that is none": ('[words.foot]\n"FR" = "front right"\n', 'line 2: "front right" is no word for foot'),
    "a part that is none": ("[colours]\nx = 1\n", "line 1: there is no part"),
    "an order that is none": ('[dates]\n\norder = "american"\n', "line 3: order is"),
    "a unit that is none": ('[units]\ntoe_arrival_mm = "hands"\n', 'line 2: "hands" is no unit'),
    "no TOML at all": ("[headers\n", "line 1"),
    "a column that other lines name too": (
        '[headers]\n"Kind of visit" = "visit_kind"\n[units]\nvisit_kind = "cm"\n',
        'line 4: "cm" is no unit',
    ),
    "a word that other parts have too": (
        '[words.foot]\n"work" = "LF"\n[words.arrival]\n"work" = "nope"\n',
        'line 4: "nope" is no word for arrival',
    ),
    "a header with the mark of a comment": ('# draft\n[headers]\n"Horse #" = "hooof"\n', 'line 3: "hooof"'),
    "a value that is no text": ('[headers]\n"a" = 3\n', 'line 2: "3" is no column'),
    "a default that is no word": ('[defaults]\n\nvisit_kind = "routinee"\n', 'line 3: "routinee" is no word'),
}


@pytest.mark.parametrize(("text", "complaint"), BAD_LAYOUTS.values(), ids=BAD_LAYOUTS)
def test_a_layout_file_with_a_mistake_names_the_line(tmp_path, text, complaint):
    (tmp_path / "practice.toml").write_text(text)
    tables_with_days(tmp_path / "a", "2024-01-01", "2024-02-01")
    with pytest.raises(Problem, match=complaint):
        read(tmp_path / "a", layout=tmp_path / "practice.toml")


def test_one_name_in_two_yards_is_two_horses_and_the_way_out_is_said(tmp_path):
    tables_with_days(tmp_path / "a", "2024-01-01", "2024-02-01")
    (tmp_path / "a" / "horses.csv").write_text("Horse,Yard,Use\nAsh,Top,eventing\nAsh,Low,eventing\nBay,Top,polo\n")
    records = read(tmp_path / "a")
    assert records.tables["horses"]["horse_id"].to_list() == ["ash, top", "ash, low", "bay, top"]
    doubts = records.warnings.filter(rule="one_name_two_yards")
    assert doubts["source_row"].to_list() == [2, 3]
    assert "[horses]" in doubts["reason"][0]


def test_a_header_of_the_layout_file_that_no_sheet_has_is_named_with_its_line(tmp_path):
    (tmp_path / "practice.toml").write_text('# ours\n[headers]\n"Farrr. remarks" = "notes"\n')
    tables_with_days(tmp_path / "a", "2024-01-01", "2024-02-01")
    warnings = read(tmp_path / "a", layout=tmp_path / "practice.toml").warnings
    assert warnings.select("source_file", "source_row", "rule").rows() == [("practice.toml", 3, "header_not_found")]


def test_two_horses_of_one_name_in_one_yard_are_both_set_aside(tmp_path):
    tables_with_days(tmp_path / "a", "2024-01-01", "2024-02-01")
    (tmp_path / "a" / "horses.csv").write_text(
        "Horse,Yard,Use,Foaled\nAsh,Top,eventing,2010\nAsh,Top,eventing,2015\nBay,Top,polo,2012\n"
    )
    records = read(tmp_path / "a")
    assert records.set_aside.filter(table_name="horses")["rule"].to_list() == ["same_key_twice"] * 2


@pytest.fixture
def office(tmp_path):
    """Save a sheet with LibreOffice as another kind of file."""
    program = shutil.which("soffice")
    if program is None:
        assert os.environ.get("CI") != "true", "continuous integration installs LibreOffice"
        pytest.skip("LibreOffice is not installed")

    def convert(sources: list[Path], kind: str, to: Path) -> Path:
        command = [program, f"-env:UserInstallation=file://{tmp_path}/profile", "--headless", "--convert-to", kind]
        as_utf8 = ["--infilter=CSV:44,34,76,1"] if sources[0].suffix == ".csv" else []
        subprocess.run([*command, *as_utf8, "--outdir", to, *sources], check=True, capture_output=True)
        return to

    return convert


MERGED = """<?xml version="1.0"?>
<office:document xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" office:version="1.2"
 office:mimetype="application/vnd.oasis.opendocument.spreadsheet"
 xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0"
 xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0"><office:body><office:spreadsheet>
<table:table table:name="Book">{}</table:table></office:spreadsheet></office:body></office:document>"""
OVER_TWO = ' table:number-rows-spanned="2"'


def flat_sheet() -> str:
    """A flat sheet in which horse and visit are merged over the rows of two feet."""

    def cell(text, extra=""):
        return f'<table:table-cell office:value-type="string"{extra}><text:p>{text}</text:p></table:table-cell>'

    rows = ["".join(map(cell, ("Horse", "Yard", "Use", "Date", "Kind", "Leg", "Came in", "Done")))]
    shared = "".join(cell(text, OVER_TWO) for text in ("Ash", "Top", "Eventing", "13 Feb 2024", "routine"))
    rows.append(shared + "".join(map(cell, ("NF", "on", "refit"))))
    rows.append("<table:covered-table-cell/>" * 5 + "".join(map(cell, ("OF", "cast", "new"))))
    return MERGED.format("".join(f"<table:table-row>{row}</table:table-row>" for row in rows))


@pytest.mark.parametrize("kind", ["ods", "xlsx"])
def test_an_error_of_a_formula_is_named_and_a_time_is_read_as_minutes(tmp_path, office, kind):
    tables_with_days(tmp_path / "a", "2024-01-01", "2024-02-01")
    source = tmp_path / "visits.csv"
    source.write_text(
        "visit_id,horse_id,visit_date,visit_kind,minutes,fee\n"
        "V1,H1,2024-01-01,routine,1:15,=1/0\nV2,H1,2024-02-01,routine,0:45,40\n"
    )
    (tmp_path / "a" / "visits.csv").unlink()
    office([source], kind, tmp_path / "a")
    records = read(tmp_path / "a")
    assert records.tables["visits"].select("visit_id", "minutes", "fee").rows() == [("V2", 45.0, 40.0)]
    aside = records.set_aside.filter(table_name="visits")
    assert aside.select("source_row", "column_name", "rule").rows() == [(2, "fee", "cannot_read")]


@pytest.mark.parametrize("kind", ["ods", "xlsx"])
def test_a_cell_merged_over_rows_holds_on_each_of_them(tmp_path, office, kind):
    source = tmp_path / "book.fods"
    source.write_text(flat_sheet(), encoding="utf-8")
    records = read(office([source], kind, tmp_path / "export"))
    assert records.set_aside.is_empty(), records.set_aside["reason"].to_list()
    assert records.tables["horses"].height == records.tables["visits"].height == 1
    assert records.tables["feet"].select("foot", "arrival", "work").rows() == [
        ("LF", "on", "reset"),
        ("RF", "off", "fit_new"),
    ]


CSV = "csv:Text - txt - csv (StarCalc):59,34,ANSI,1"
SAVED = [("xlsx", TELLING.as_tables), ("ods", TELLING.as_flat), (CSV, TELLING.as_groups), ("xlsx", TELLING.as_groups)]


@pytest.mark.parametrize(("kind", "layout"), SAVED, ids=[f"{layout.__name__}-{kind[:4]}" for kind, layout in SAVED])
def test_sheets_saved_by_a_spreadsheet_program_come_back_identical(tmp_path, office, kind, layout):
    tables = TELLING.practice(4)
    # A spreadsheet program takes a chip for a number and drops its leading 0; that has a test of its own.
    tables["horses"] = tables["horses"].with_columns(pl.lit(None, pl.String).alias("microchip"))
    teller = TELLING.Teller(8)
    teller.day_first = False  # the program's own language here: it turns days it understands into date cells
    TELLING.write(layout(teller, tables), tmp_path / "text", "utf-8", ",", title=True)
    export = office(sorted((tmp_path / "text").iterdir()), kind, tmp_path / "export")
    records = read(export, dates="day-first" if teller.day_first else "month-first")
    assert records.set_aside.is_empty(), records.set_aside["reason"].to_list()[:5]
    for name, table in tables.items():
        expected = table.select(list(EXPORT_TABLES[name].columns())).sort(EXPORT_TABLES[name].key())
        assert facts(records)[name].equals(expected.cast(facts(records)[name].schema)), name
