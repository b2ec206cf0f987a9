"""The main job, from files to pages, through the command line as a person would use it."""

import errno
import hashlib
from pathlib import Path

import duckdb
import pytest


@pytest.fixture
def places(tmp_path):
    return {"--store": tmp_path / "practice.duckdb", "--site": tmp_path / "site"}


def options(places):
    return [part for pair in places.items() for part in pair]


def rows(store, query):
    with duckdb.connect(str(store), read_only=True) as con:
        return con.sql(query).fetchall()


def files(folder):
    return {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in folder.rglob("*") if path.is_file()}


def append(export, table, line):
    with (export / f"{table}.csv").open("a", encoding="utf-8") as file:
        file.write(line + "\n")


def test_an_export_becomes_a_store_and_a_site(shoeing, export, places):
    said = shoeing("publish", export, *options(places))
    assert (said.code, said.err) == (0, "")
    assert "open" in said.out
    assert "index.html" in said.out
    assert (places["--site"] / "index.html").is_file()
    assert rows(places["--store"], "select shoes, losses from results.loss_rates where dimension = 'all'") == [(6, 2)]
    assert rows(places["--store"], "select max(as_of)::varchar from ledger.loads") == [("2025-02-20",)]


def test_a_row_that_breaks_a_rule_is_set_aside_and_the_rest_is_published_with_exit_code_1(shoeing, export, places):
    append(export, "feet", "V4,RF,bare,fit_new,0,5,52")
    said = shoeing("publish", export, *options(places))
    assert said.code == 1
    assert rows(places["--store"], "select source_row, rule, column_name from ledger.set_aside") == [
        (8, "too_low", "angle_arrival_deg")
    ]
    assert "shoeing check" in said.out


def test_the_same_export_again_changes_nothing_but_the_ledger(shoeing, export, places):
    shoeing("publish", export, *options(places))
    accepted = rows(places["--store"], "from accepted.feet order by all")
    pages = files(places["--site"])
    assert shoeing("publish", export, *options(places)).code == 0
    assert rows(places["--store"], "from accepted.feet order by all") == accepted
    assert rows(places["--store"], "select rows_read, rows_unchanged from ledger.loads order by load_id") == [
        (13, 0),
        (13, 13),
    ]
    same = {name for name, sha in files(places["--site"]).items() if pages[name] == sha}
    assert set(pages) - same <= {"data.html"}, "only the account of the load may differ"


def test_an_empty_file_is_refused_in_one_line_and_changes_nothing(shoeing, export, places, tmp_path):
    shoeing("publish", export, *options(places))
    before = files(tmp_path)
    (tmp_path / "empty.csv").touch()
    said = shoeing("publish", tmp_path / "empty.csv", *options(places))
    assert (said.code, said.out, said.err.count("\n")) == (2, "", 1)
    assert "empty.csv is empty" in said.err
    assert files(tmp_path) == before | {"empty.csv": hashlib.sha256().hexdigest()}


@pytest.mark.parametrize("site", [Path("/"), Path("/proc/x"), Path("x" * 300)], ids=["disk", "no folder", "too long"])
def test_a_site_that_cannot_be_written_is_refused_in_one_line(shoeing, export, places, site):
    said = shoeing("publish", export, *options(places | {"--site": site}))
    assert (said.code, said.out, said.err.count("\n")) == (2, "", 1)
    assert said.err.startswith((f"shoeing: cannot write {site}: ", f"shoeing: {site} holds files that are no site"))
    assert not places["--store"].exists()


def test_a_site_that_cannot_be_moved_aside_stays_and_that_is_one_line(shoeing, export, places, monkeypatch):
    shoeing("publish", export, *options(places))
    before = files(places["--site"])

    def busy(path, _target):
        raise OSError(errno.EBUSY, "Device or resource busy", str(path))

    monkeypatch.setattr(Path, "rename", busy)
    said = shoeing("publish", *options(places))
    assert (said.code, said.err) == (2, f"shoeing: cannot write {places['--site']}: Device or resource busy\n")
    assert files(places["--site"]) == before


def test_without_a_day_the_last_line_says_which_was_taken_and_what_takes_another(shoeing, export, places):
    append(export, "feet", "V4,RF,bare,fit_new,0,5,52")
    last = shoeing("publish", export, *options(places)).out.splitlines()[-1]
    assert last == "2025-02-20 is the last day on record; --as-of YYYY-MM-DD takes another day."
    named = shoeing("publish", export, *options(places), "--as-of", "2025-03-01").out
    assert "Read as of 2025-03-01." in named
    assert "takes another" not in named
    last = shoeing("publish", *options(places)).out.splitlines()[-1]
    assert last == "2025-03-01 is the day of the latest load; --as-of YYYY-MM-DD takes another day."


def test_a_file_of_headers_alone_is_said_to_have_no_rows(shoeing, export, places):
    (export / "losses.csv").write_text("loss_id,horse_id,foot,found_off\n", encoding="utf-8")
    said = shoeing("publish", export, *options(places))
    assert said.code == 0
    assert "losses.csv has no rows: nothing was read from it\n" in said.out


def test_of_two_exports_taken_together_the_later_holds_and_the_ledger_shows_the_earlier(
    shoeing, export, places, tmp_path
):
    later = tmp_path / "later"
    later.mkdir()
    for table in ("horses", "visits", "feet"):
        text = (export / f"{table}.csv").read_text(encoding="utf-8")
        (later / f"{table}.csv").write_text(text.replace("V2,LF,on", "V2,LF,sprung"), encoding="utf-8")
    for changed, superseded in ((1, 1), (0, 1)):
        assert shoeing("publish", export, later, *options(places)).code == 0
        assert rows(places["--store"], "select arrival from accepted.feet where visit_id = 'V2' and foot = 'LF'") == [
            ("sprung",)
        ]
        counts = "select rows_changed from ledger.load_tables where table_name = 'feet' order by load_id desc limit 1"
        assert rows(places["--store"], counts) == [(changed,)]
        told = rows(places["--store"], "select table_name, source_file, row_json->>'arrival' from ledger.superseded")
        assert told == [("feet", "export/feet.csv", "on")] * superseded


def test_a_store_is_published_again_without_an_export(shoeing, export, places):
    shoeing("publish", export, *options(places))
    before = rows(places["--store"], "from results.loss_rates order by all")
    said = shoeing("publish", *options(places))
    assert (said.code, said.err) == (0, "")
    assert rows(places["--store"], "from results.loss_rates order by all") == before


def test_the_season_under_review_is_the_one_asked_for(shoeing, export, places):
    shoeing("publish", export, *options(places), "--season", "2025-01-01:2025-01-31")
    assert rows(places["--store"], "select start::varchar, stop::varchar, visits from results.season_review") == [
        ("2025-01-01", "2025-01-31", 2)
    ]


def test_an_earlier_as_of_date_sets_later_rows_aside(shoeing, export, places):
    said = shoeing("publish", export, *options(places), "--as-of", "2025-02-15")
    assert said.code == 1
    assert rows(places["--store"], "select distinct rule from ledger.set_aside order by 1") == [
        ("after_as_of",),
        ("visit_set_aside",),
    ]


def test_nothing_private_is_on_a_page_or_in_a_result(shoeing, export, places):
    shoeing("publish", export, *options(places))
    pages = b"".join(path.read_bytes() for path in places["--site"].rglob("*"))
    names = rows(
        places["--store"],
        "select table_schema || '.' || table_name from information_schema.tables "
        "where table_schema in ('results', 'derived')",
    )
    results = "".join(str(rows(places["--store"], f"from {name}")) for (name,) in names)
    assert "Made Up Ash" in results
    for secret in ("Private Person", "secret@example.org", "very private note"):
        assert secret.encode() not in pages
        assert secret not in results


REFUSED = {
    "a file that is not there": (lambda e, p: ["publish", e / "nowhere", *options(p)], "nowhere"),
    "a file of an unknown kind": (lambda e, p: ["publish", e / "scan.pdf", *options(p)], ".pdf"),
    "an as-of date after today": (lambda e, p: ["publish", e, *options(p), "--as-of", "2999-01-01"], "2999-01-01"),
    "an as-of date that is no date": (lambda e, p: ["publish", e, *options(p), "--as-of", "soon"], "YYYY-MM-DD"),
    "a season that ends before it starts": (
        lambda e, p: ["publish", e, *options(p), "--season", "2025-02-01:2025-01-01"],
        "earlier day first",
    ),
    "an unknown option": (lambda e, p: ["publish", e, *options(p), "--colour"], "--colour"),
    "no store": (lambda e, p: ["publish", e, "--site", p["--site"]], "--store"),
    "an unknown hemisphere": (lambda e, p: ["publish", e, *options(p), "--hemisphere", "east"], "east"),
    "an empty store and no export": (lambda e, p: ["publish", *options(p)], "no records"),
}


@pytest.mark.parametrize(("command", "names"), REFUSED.values(), ids=REFUSED)
def test_what_cannot_be_done_is_one_clear_line_and_changes_nothing(shoeing, export, places, command, names):
    (export / "scan.pdf").write_bytes(b"%PDF-1.4")
    said = shoeing(*command(export, places))
    assert said.code == 2
    assert said.out == ""
    assert names in said.err
    assert said.err.count("\n") == 1
    assert not places["--store"].exists()
    assert not places["--site"].exists()


def test_a_missing_table_or_column_is_named_and_leaves_store_and_site_as_they_were(shoeing, export, places):
    shoeing("publish", export, *options(places))
    before = places["--store"].read_bytes(), files(places["--site"])
    feet = (export / "feet.csv").read_text(encoding="utf-8")
    (export / "feet.csv").write_text(feet.replace("arrival,", "arrived,", 1), encoding="utf-8")
    said = shoeing("publish", export, *options(places))
    assert (said.code, said.err.count("\n")) == (2, 1)
    assert "arrival" in said.err
    (export / "feet.csv").unlink()
    said = shoeing("publish", export, *options(places))
    assert said.code == 2
    assert "feet" in said.err
    assert (places["--store"].read_bytes(), files(places["--site"])) == before


def test_without_handedness_its_page_is_gone_from_the_site_too(shoeing, export, places):
    shoeing("publish", export, *options(places))
    assert (places["--site"] / "handedness.html").is_file()
    assert shoeing("publish", "--no-handedness", *options(places)).code == 0
    assert not (places["--site"] / "handedness.html").exists()
    pages = [page.read_text(encoding="utf-8") for page in places["--site"].glob("*.html")]
    assert not [page for page in pages if "handedness" in page.lower()]


def test_a_folder_that_is_no_site_is_never_replaced(shoeing, export, places):
    places["--site"].mkdir()
    (places["--site"] / "letters.txt").write_text("mine", encoding="utf-8")
    said = shoeing("publish", export, *options(places))
    assert said.code == 2
    assert "new or an empty folder" in said.err
    assert (places["--site"] / "letters.txt").read_text(encoding="utf-8") == "mine"
    assert not places["--store"].exists()


def test_a_failure_while_the_pages_are_written_leaves_store_and_site_as_they_were(shoeing, export, places, monkeypatch):
    shoeing("publish", export, *options(places))
    before = rows(places["--store"], "from accepted.visits order by all"), files(places["--site"])
    append(export, "visits", "V5,H2,2025-02-21,B,routine,60,6,")

    def fails(*_):
        raise OSError("disk full")

    monkeypatch.setattr("reports.site.write_site", fails)
    with pytest.raises(OSError, match="disk full"):
        shoeing("publish", export, *options(places))
    monkeypatch.undo()
    assert (rows(places["--store"], "from accepted.visits order by all"), files(places["--site"])) == before
    assert sorted(path.name for path in places["--site"].parent.iterdir()) == ["export", "practice.duckdb", "site"]
