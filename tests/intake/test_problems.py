"""What cannot be read at all is refused in one line that says what to do."""

from datetime import date

import polars as pl
import pytest

from pipelines.intake import read_export
from schemas.problem import Problem
from schemas.records import Known


def read_paths(*paths):
    return read_export(paths, Known(), None, date(2025, 6, 30))


def refused(*paths) -> str:
    with pytest.raises(Problem) as problem:
        read_paths(*paths)
    assert "\n" not in str(problem.value)
    return str(problem.value)


def test_a_path_that_is_not_there(tmp_path):
    assert refused(tmp_path / "none") == f"there is no file or folder {tmp_path / 'none'}"


def test_a_folder_with_nothing_to_read(tmp_path):
    (tmp_path / "photo.jpeg").write_bytes(b"x")
    assert "holds no file to read: put .csv, .tsv, .xlsx, .ods, .parquet, .jsonl files in it" in refused(tmp_path)


def test_a_file_of_a_kind_nobody_reads(tmp_path):
    (tmp_path / "visits.pdf").write_bytes(b"x")
    reason = "visits.pdf is a .pdf file, which cannot be read: save it as one of .csv, .tsv, .xlsx, .ods"
    assert refused(tmp_path / "visits.pdf").startswith(reason)


def test_a_table_of_a_kind_nobody_reads_among_others(export):
    folder = export()
    (folder / "feet_2024.doc").write_bytes(b"x")
    assert refused(folder).startswith("feet_2024.doc is a .doc file, which cannot be read")


def test_a_file_that_is_no_table_is_left_unread_and_said_so(export):
    folder = export()
    (folder / "letter.pdf").write_bytes(b"x")
    (folder / ".hidden").write_bytes(b"x")
    (folder / "~$feet.xlsx").write_bytes(b"x")
    warnings = read_paths(folder).warnings
    assert warnings["source_file", "rule"].rows() == [("letter.pdf", "file_not_read")]


@pytest.mark.parametrize("table", ["horses", "visits", "feet"])
def test_a_table_that_must_be_there_is_named(export, table):
    assert table in refused(export(**{table: None}))


def test_losses_may_be_missing(export):
    assert read_paths(export(losses=None)).tables["losses"].height == 0


@pytest.mark.parametrize("text", ["", "\n\n", "loss_id,horse_id,foot,found_off\n"], ids=["empty", "blank", "header"])
def test_losses_may_be_empty(export, text):
    folder = export(losses=None)
    (folder / "losses.csv").write_text(text, encoding="utf-8")
    records = read_paths(folder)
    assert (records.rows_read["losses"], records.warnings.height) == (0, 0)


@pytest.mark.parametrize("text", ["", "\n\n"], ids=["no bytes", "blank lines"])
def test_a_file_in_which_nothing_is_written_is_refused_also_where_the_store_holds_the_rest(export, tmp_path, text):
    (tmp_path / "more.csv").write_text(text, encoding="utf-8")
    known = Known(pl.Series(["H1"]), pl.Series(["V1"]), date(2025, 1, 1))
    for paths in ([tmp_path / "more.csv"], [export(), tmp_path / "more.csv"]):
        with pytest.raises(Problem, match=r"^more.csv is empty: there is nothing in it to read; "):
            read_export(paths, known, None, date(2025, 6, 30))


def test_an_empty_file_beside_others_of_its_export_is_named_as_unread(export):
    folder = export()
    (folder / "more.csv").write_text("", encoding="utf-8")
    records = read_paths(folder)
    assert records.warnings.select("source_file", "rule", "reason").rows() == [
        ("more.csv", "file_not_read", "more.csv is empty and was left unread")
    ]
    assert records.tables["feet"].height > 0


def test_a_column_that_must_be_there_is_named(export):
    reason = refused(export(feet="visit_id | foot | work \n V1 | LF | trim"))
    assert "feet.csv" in reason
    assert "arrival" in reason


def test_two_columns_of_one_name_are_refused(export):
    reason = refused(export(feet="visit_id | foot | arrival | work | Visit ID \n V1 | LF | bare | trim | V2"))
    assert "feet.csv" in reason
    assert "visit_id" in reason


@pytest.mark.parametrize("kind", ["xlsx", "ods", "parquet"])
def test_a_file_that_is_not_what_its_ending_says(export, kind):
    folder = export(horses=None)
    (folder / f"horses.{kind}").write_bytes(b"no such thing")
    assert f"horses.{kind} cannot be" in refused(folder)
