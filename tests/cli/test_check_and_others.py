import csv
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from pipelines.cli import sample_practice


def test_check_says_what_would_be_set_aside_and_changes_nothing(shoeing, export, tmp_path):
    feet = export / "feet.csv"
    feet.write_text(feet.read_text(encoding="utf-8") + "V4,RF,vanished,fit_new,0,5,52\n", encoding="utf-8")
    before = sorted(path.name for path in tmp_path.rglob("*"))
    said = shoeing("check", export)
    assert (said.code, said.err) == (1, "")
    assert "feet.csv row 8" in said.out
    assert said.out.count("feet.csv row 8") == 2, "both of its reasons"
    assert sorted(path.name for path in tmp_path.rglob("*")) == before


def test_check_prints_to_the_letter_what_the_readme_of_the_faulty_export_shows(shoeing, monkeypatch):
    shown = (FAULTS / "README.md").read_text(encoding="utf-8").split("```text\n")[1].split("```")[0]
    monkeypatch.chdir(ROOT)
    said = shoeing("check", FAULTS.relative_to(ROOT), "--as-of", "2025-04-14")
    assert (said.code, said.err) == (1, "")
    assert said.out == shown


def test_rows_set_aside_come_back_mended_and_nothing_is_doubled(shoeing, export, tmp_path):
    feet = export / "feet.csv"
    feet.write_text(feet.read_text(encoding="utf-8") + "V4,RF,bare,fit_new,0,5,52\n", encoding="utf-8")
    store, site = tmp_path / "s.duckdb", tmp_path / "site"
    assert shoeing("publish", export, "--store", store, "--site", site).code == 1
    said = shoeing("check", export, "--report", tmp_path / "mend.csv")
    assert "mend.csv" in said.out
    text = (tmp_path / "mend.csv").read_text(encoding="utf-8-sig")
    assert "angle_arrival_deg 5 is too low: 30 to 75 degrees is allowed" in text
    (tmp_path / "mend.csv").write_text(text.replace(",5,", ",50,"), encoding="utf-8")
    said = shoeing("publish", tmp_path / "mend.csv", "--store", store, "--site", site)
    assert (said.code, said.err) == (0, "")
    assert [line.split() for line in said.out.splitlines() if line.startswith("feet")] == [
        ["feet", "1", "1", "0", "0", "0"]
    ]


BOOK = """Horse,Yard,Use,Date,Farrier,Kind,Leg,Came in,Done,Fee
Ash,Top,Eventing,13/02/2024,A,routine,NF,on,refit,90
Ash,Top,Eventing,31/02/2024,A,routine,OF,on,refit,90
"""


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_a_mended_row_without_a_code_and_the_mended_book_are_one_and_the_same(shoeing, tmp_path, kind):
    (tmp_path / "book.csv").write_text(BOOK)
    places = ["--store", tmp_path / "s.duckdb", "--site", tmp_path / "site"]
    assert shoeing("publish", tmp_path / "book.csv", *places).code == 1
    report = tmp_path / f"mend.{kind}"
    shoeing("check", tmp_path / "book.csv", "--report", report)
    if kind == "csv":
        report.write_text(report.read_text(encoding="utf-8-sig").replace("31/02/2024", "28/02/2024"), encoding="utf-8")
    else:
        mended = {
            name: [[str(cell).replace("31/02/2024", "28/02/2024") if cell else None for cell in row] for row in rows]
            for name, rows in sheets_of(report).items()
        }
        write_sheets(report, mended)
    assert shoeing("publish", report, *places).code == 0
    (tmp_path / "book.csv").write_text(BOOK.replace("31/02/2024", "28/02/2024"))
    said = shoeing("publish", tmp_path / "book.csv", *places)
    counts = {line.split()[0]: line.split()[1:] for line in said.out.splitlines()[1:5]}
    assert said.code == 0
    assert counts["visits"][1] == counts["feet"][1] == "0", "nothing is new: the mended rows were these"


def sheets_of(path):
    import fastexcel

    book = fastexcel.read_excel(str(path))
    return {
        name: book.load_sheet(name, header_row=None, dtypes="string").to_polars().rows() for name in book.sheet_names
    }


def write_sheets(path, sheets):
    import xlsxwriter

    with xlsxwriter.Workbook(str(path)) as book:
        for name, rows in sheets.items():
            sheet = book.add_worksheet(name)
            for at, row in enumerate(rows):
                sheet.write_row(at, 0, row)


def test_a_report_never_takes_the_place_of_a_file_of_the_export(shoeing, export):
    said = shoeing("check", export, "--report", export / "feet.csv")
    assert (said.code, said.err.count("\n")) == (2, 1)
    assert "visit_id" in (export / "feet.csv").read_text(encoding="utf-8")


def test_nor_is_it_written_into_the_folder_that_is_read(shoeing, export, monkeypatch):
    said = shoeing("check", export, "--report", export / "mend.csv")
    assert (said.code, said.err.count("\n")) == (2, 1)
    assert f"name a file outside it, like {export.parent / 'mend.csv'}" in said.err
    assert not (export / "mend.csv").exists()
    monkeypatch.chdir(export)
    (export / "losses.csv").write_text("loss_id,horse_id,foot,found_off\nL1,H99,LF,2020-01-01\n", encoding="utf-8")
    assert f"--report ..{os.sep}mend.xlsx" in shoeing("check", ".").out, "the next step is one that can be done"


def test_a_workbook_of_rows_set_aside_has_a_sheet_a_table(shoeing, tmp_path):
    folder = FAULTS
    shoeing("check", folder, "--as-of", "2025-04-14", "--report", tmp_path / "mend.xlsx")
    said = shoeing("check", folder, tmp_path / "mend.xlsx", "--as-of", "2025-04-14")
    assert "mend.xlsx, sheet feet: one row a foot" in said.out
    assert "set aside because" not in said.out


def test_a_draft_layout_file_is_written_even_where_the_export_cannot_be_read_yet(shoeing, export, tmp_path):
    visits = export / "visits.csv"
    visits.write_text(visits.read_text(encoding="utf-8").replace("visit_kind", "Sort"), encoding="utf-8")
    said = shoeing("check", export, "--write-layout", tmp_path / "practice.toml")
    assert said.code == 2
    assert "practice.toml" in said.err
    draft = (tmp_path / "practice.toml").read_text(encoding="utf-8")
    assert '# "Sort" = ""' in draft
    (tmp_path / "practice.toml").write_text(draft.replace('# "Sort" = ""', '"Sort" = "visit_kind"'), encoding="utf-8")
    assert shoeing("check", export, "--layout", tmp_path / "practice.toml").code == 0
    (tmp_path / "mine.toml").write_text('[headers]\n"Beast" = ""\n', encoding="utf-8")
    said = shoeing("check", export, "--layout", tmp_path / "mine.toml", "--write-layout", tmp_path / "both.toml")
    assert (said.code, "both.toml" in said.err) == (2, True)
    both = (tmp_path / "both.toml").read_text(encoding="utf-8")
    assert both.startswith("[headers]\n")
    assert {'"Beast" = ""', '# "Sort" = ""'} <= set(both.splitlines())


def test_a_draft_of_what_cannot_be_read_yet_says_what_each_header_may_mean_as_a_line_to_use(shoeing, tmp_path):
    (tmp_path / "book.csv").write_text("When,Horse,Near fore,Oops\n13/02/2024,Ash,new,1\n", encoding="utf-8")
    assert shoeing("check", tmp_path / "book.csv", "--write-layout", tmp_path / "new.toml").code == 2
    draft = (tmp_path / "new.toml").read_text(encoding="utf-8")
    assert {'# "When" = "visit_date"', '# "Near fore" = "LF work"', '# "Oops" = ""'} <= set(draft.splitlines())
    assert "read so already" not in draft


BOOK_OF_SHEETS = {
    "Book 2026": "Date,Horse,Yard,Near fore found,Near fore job,Nails per shoe,Mins\n13/02/2024,Ash,Top,on,new,6,50\n",
    "Lost shoes": "Date lost,Horse,Yard,Foot,Mins,Came back out?\n14/03/2024,Ash,Top,NF,30,no\n",
    "Horses": "Horse,Yard,Work,Owner OK to share\nAsh,Top,hunting,yes\n",
}


def test_a_draft_of_several_sheets_can_be_read_with_every_mark_taken_away(shoeing, tmp_path):
    (tmp_path / "book").mkdir()
    for name, text in BOOK_OF_SHEETS.items():
        (tmp_path / "book" / f"{name}.csv").write_text(text, encoding="utf-8")
    said = shoeing("check", tmp_path / "book", "--write-layout", tmp_path / "new.toml")
    assert said.code == 2
    assert 'visit_kind = "routine" under [defaults]' in said.err
    draft = (tmp_path / "new.toml").read_text(encoding="utf-8").splitlines()
    offered = [line[2:] for line in draft if line.startswith('# "') and " = " in line and "your header" not in line]
    assert len({line.split(" = ")[0] for line in offered}) == len(offered), "each header once"
    assert '"Work" = "work"' not in offered
    assert {'"Near fore job" = "LF work"', '"Mins" = "minutes"', '"Nails per shoe" = ""'} <= set(offered)
    taken = "\n".join(["[headers]", *offered, "[defaults]", 'visit_kind = "routine"'])
    (tmp_path / "all.toml").write_text(taken, encoding="utf-8")
    said = shoeing("check", tmp_path / "book", "--layout", tmp_path / "all.toml")
    assert (said.code, said.err) == (0, "")


def test_a_second_draft_keeps_what_the_first_was_completed_to_and_adds_what_is_new(shoeing, tmp_path):
    book = BOOK.replace("31/02/2024", "12/03/2024").replace("Fee", "Fee,Mood").replace("refit,90", "gubbins,90,fine")
    (tmp_path / "book.csv").write_text(book, encoding="utf-8")
    mine = '# mine\n[headers]\n"Kind" = "visit_kind" # so it is\n[units]\n# toe_arrival_mm = "cm"\n'
    (tmp_path / "mine.toml").write_text(mine, encoding="utf-8")
    read = ["check", tmp_path / "book.csv", "--layout"]
    assert shoeing(*read, tmp_path / "mine.toml", "--write-layout", tmp_path / "new.toml").code == 1
    new = (tmp_path / "new.toml").read_text(encoding="utf-8")
    assert [line for line in new.splitlines() if line in mine.splitlines()] == mine.splitlines()
    assert {'# "Mood" = ""', '# "gubbins" = ""'} <= set(new.splitlines())
    assert "# one of: fit_new, reset, trim, take_off, none" in new
    told = [shoeing(*read, tmp_path / f"{name}.toml").out.replace(f"{name}.toml", "") for name in ("mine", "new")]
    assert told[0] == told[1], "a draft changes nothing until it is completed"
    done = new.replace('# "gubbins" = ""', '"gubbins" = "fit_new"').replace('# "Mood" = ""', '"Mood" = ""')
    (tmp_path / "done.toml").write_text(done, encoding="utf-8")
    said = shoeing(*read, tmp_path / "done.toml")
    assert (said.code, "Mood" in said.out) == (0, False)


@pytest.mark.parametrize(
    "mine", ['words.work = {"x" = "reset"}\n', '[words]\nwork = {"x" = "reset"}\n', 'headers."Kind" = "visit_kind"\n']
)
def test_a_draft_after_a_layout_file_in_another_form_can_be_read(shoeing, tmp_path, mine):
    (tmp_path / "book.csv").write_text(BOOK.replace("refit,90", "blimey,90").replace("Fee", "Oops"), encoding="utf-8")
    (tmp_path / "mine.toml").write_text(mine, encoding="utf-8")
    shoeing("check", tmp_path / "book.csv", "--layout", tmp_path / "mine.toml", "--write-layout", tmp_path / "new.toml")
    new = (tmp_path / "new.toml").read_text(encoding="utf-8")
    assert new.startswith(mine)
    assert '# "blimey" = ""' in new
    assert '# "Oops" = ""' in new
    assert shoeing("check", tmp_path / "book.csv", "--layout", tmp_path / "new.toml").code == 1


def test_a_word_for_a_grade_can_be_taught_as_the_message_and_the_draft_say(shoeing, tmp_path):
    book = BOOK.replace("31/02/2024", "12/03/2024").replace("Fee", "Fee,Bruise").replace("refit,90", "refit,90,ouch")
    (tmp_path / "book.csv").write_text(book, encoding="utf-8")
    said = shoeing("check", tmp_path / "book.csv", "--write-layout", tmp_path / "new.toml")
    assert 'under [words.bruise_grade]: "ouch" = "its number"' in said.out
    draft = (tmp_path / "new.toml").read_text(encoding="utf-8")
    assert '[words.bruise_grade]\n# one of: 0 to 3\n# "ouch" = ""' in draft
    (tmp_path / "new.toml").write_text(draft.replace('# "ouch" = ""', '"ouch" = "3"'), encoding="utf-8")
    assert shoeing("check", tmp_path / "book.csv", "--layout", tmp_path / "new.toml").code == 0


def test_check_finds_nothing_in_a_clean_export(shoeing, export):
    said = shoeing("check", export)
    assert (said.code, said.err) == (0, "")
    assert "Set aside" not in said.out


def test_a_report_of_a_loss_that_finds_no_shoe_is_a_doubt(shoeing, export):
    losses = export / "losses.csv"
    losses.write_text(losses.read_text(encoding="utf-8") + "L2,H2,RH,2025-02-01,,unknown\n", encoding="utf-8")
    said = shoeing("check", export)
    assert said.code == 0
    assert "losses.csv row 3" in said.out


def test_a_publish_counts_doubts_about_rows_and_not_what_was_left_unread(shoeing, export, tmp_path):
    horses = export / "horses.csv"
    head, *rows = horses.read_text(encoding="utf-8").splitlines()
    horses.write_text("\n".join([f"{head},My own tally", *(f"{row},3" for row in rows)]) + "\n", encoding="utf-8")
    places = ("--store", tmp_path / "s.duckdb", "--site", tmp_path / "site")
    said = shoeing("publish", export, *places)
    assert "No doubt about any row. What was left unread:" in said.out
    losses = export / "losses.csv"
    losses.write_text(losses.read_text(encoding="utf-8") + "L2,H2,RH,2025-02-01,,unknown\n", encoding="utf-8")
    assert "1 doubt. What to look at, and what was left unread:" in shoeing("publish", export, *places).out


def test_the_report_of_a_check_holds_each_reason(shoeing, export, tmp_path):
    feet = export / "feet.csv"
    feet.write_text(feet.read_text(encoding="utf-8") + "V4,RF,vanished,fit_new,0,5,52\n", encoding="utf-8")
    said = shoeing("check", export, "--report", tmp_path / "why.csv")
    assert "why.csv" in said.out
    with (tmp_path / "why.csv").open(encoding="utf-8", newline="") as file:
        assert "vanished" in str(list(csv.reader(file)))


def test_check_against_a_store_knows_its_horses_and_leaves_it_as_it_was(shoeing, export, tmp_path):
    store = tmp_path / "practice.duckdb"
    shoeing("publish", export, "--store", store, "--site", tmp_path / "site")
    (export / "horses.csv").write_text("horse_id,horse_name,discipline\nH1,Made Up Ash,eventing\n", encoding="utf-8")
    before = store.read_bytes()
    assert shoeing("check", export, "--store", store).code == 0
    assert shoeing("check", export).code == 1
    assert store.read_bytes() == before


def test_simulate_writes_an_export_with_its_true_effects_beside_it(shoeing, tmp_path):
    said = shoeing("simulate", "--horses", 5, "--years", 1, "--seed", 7, "--to", tmp_path / "made")
    assert (said.code, said.err) == (0, "")
    assert {"horses.csv", "visits.csv", "feet.csv", "losses.csv"} <= {p.name for p in (tmp_path / "made").iterdir()}
    truths = [json.loads(path.read_text(encoding="utf-8")) for path in (tmp_path / "made").glob("*.json")]
    assert any(truth for truth in truths)
    assert shoeing("publish", tmp_path / "made", "--store", tmp_path / "s", "--site", tmp_path / "site").code == 0


def test_simulate_never_writes_into_a_folder_that_holds_something(shoeing, export):
    said = shoeing("simulate", "--horses", 5, "--years", 1, "--seed", 7, "--to", export)
    assert (said.code, said.err.count("\n")) == (2, 1)


def test_the_demo_publishes_the_made_up_practice(shoeing, tmp_path):
    said = shoeing("demo", "--site", tmp_path / "site")
    assert (said.code, said.err) == (0, "")
    assert (tmp_path / "site" / "index.html").is_file()
    assert sample_practice().is_dir()


def test_every_command_has_help(shoeing):
    whole = shoeing("--help").out
    for command in ("demo", "check", "publish", "simulate"):
        assert command in whole
        assert "Usage" in shoeing(command, "--help").out


ROOT = Path(__file__).parents[2]
FAULTS = ROOT / "sample_data" / "with_faults"
HEAVY = {"prefect", "statsmodels", "lifelines", "pandas", "scipy.stats", "altair", "polars", "duckdb", "pandera"}


def imported(*arguments):
    command = f"run({[str(a) for a in arguments]})"
    code = f"import sys; from pipelines.cli import run; {command}; sys.stderr.write(' '.join(sys.modules))"
    root = Path(__file__).parents[2]
    done = subprocess.run([sys.executable, "-c", code], cwd=root, capture_output=True, text=True, check=True)
    return HEAVY & set(done.stderr.split())


@pytest.mark.parametrize("command", [["--help"], ["publish", "--help"], ["check", "--help"]], ids=" ".join)
def test_help_imports_nothing_heavy(command):
    assert imported(*command) == set()


def test_the_demo_imports_nothing_that_it_does_not_use(tmp_path):
    assert imported("demo", "--site", tmp_path / "site") <= {"pandas", "altair", "polars", "duckdb", "pandera"}
