"""Handing over to a vet practice, through the command line."""

import shutil

import pytest

from pipelines.cli import sample_practice
from pipelines.store import open_store


@pytest.fixture(scope="module")
def store(tmp_path_factory):
    """The made-up practice in a store; the tests of this file that share from it name a vet practice each."""
    from pipelines.cli import run

    place = tmp_path_factory.mktemp("practice")
    code = run(["publish", str(sample_practice()), "--store", str(place / "s.duckdb"), "--site", str(place / "site")])
    assert code == 0
    return place / "s.duckdb"


def test_a_summary_is_written_listed_and_verified(shoeing, store, tmp_path):
    said = shoeing("share", "--store", store, "--vet", "VP-01", "--to", tmp_path / "vet", "--no-pdf")
    assert (said.code, said.err) == (0, "")
    assert "VP-01: " in said.out
    assert (tmp_path / "vet" / "index.html").is_file()
    assert "VP-01" in shoeing("share", "--store", store, "--list").out
    assert shoeing("share", "--verify", tmp_path / "vet", "--store", store).code == 0
    (tmp_path / "vet" / "index.html").write_text("altered", encoding="utf-8")
    said = shoeing("share", "--verify", tmp_path / "vet")
    assert (said.code, said.out) == (1, "index.html was altered\n")


def test_a_summary_sealed_with_a_passphrase_is_one_zip(shoeing, store, tmp_path, monkeypatch):
    monkeypatch.setenv("SHOEING_PASSPHRASE", "nails low and rising")
    options = ["--vet", "VP-02", "--to", tmp_path / "vet", "--no-pdf", "--encrypt"]
    said = shoeing("share", "--store", store, *options)
    assert said.code == 0
    assert "a program that opens AES-encrypted zip files" in said.out
    assert "tell the vet that by telephone" in said.out
    (closed,) = (tmp_path / "vet").iterdir()
    assert closed.suffix == ".zip"
    assert shoeing("share", "--verify", tmp_path / "vet").code == 0
    assert shoeing("share", "--verify", closed).code == 0
    monkeypatch.setenv("SHOEING_PASSPHRASE", "nails high and falling")
    said = shoeing("share", "--verify", tmp_path / "vet")
    assert (said.code, said.out) == (2, "")
    assert f"the passphrase does not fit {closed.name}" in said.err
    assert "damaged" not in said.err
    monkeypatch.setenv("SHOEING_PASSPHRASE", "nails low and rising")
    closed.write_bytes(closed.read_bytes()[:-40])
    said = shoeing("share", "--verify", tmp_path / "vet")
    assert said.code == 2
    assert f"{closed.name} is no zip, or was cut" in said.err


@pytest.mark.parametrize("option", ["--horse", "--since", "--contact", "--vet"])
def test_an_option_left_blank_is_refused_and_shares_nothing(shoeing, store, tmp_path, option):
    """A blank --horse would share every horse, a blank --since the whole record."""
    named = ["--all-vets"] if option == "--vet" else ["--vet", "VP-02"]
    said = shoeing("share", "--store", store, *named, "--to", tmp_path / "vet", "--no-pdf", option, " ")
    assert (said.code, said.out, said.err.count("\n")) == (2, "", 1)
    assert f"{option} is blank" in said.err
    assert not (tmp_path / "vet").exists()


@pytest.mark.parametrize("content", [b"", b"abc"], ids=["empty", "text"])
def test_a_file_that_never_was_a_zip_is_not_called_damaged(shoeing, tmp_path, content):
    (tmp_path / "it.zip").write_bytes(content)
    said = shoeing("share", "--verify", tmp_path / "it.zip")
    assert (said.code, said.out) == (2, "")
    assert "it.zip is no zip, or was cut" in said.err


def test_an_empty_passphrase_in_the_environment_is_one_clear_line(shoeing, store, tmp_path, monkeypatch):
    monkeypatch.setenv("SHOEING_PASSPHRASE", "")
    said = shoeing("share", "--store", store, "--vet", "VP-02", "--to", tmp_path / "vet", "--no-pdf", "--encrypt")
    assert (said.code, said.out) == (2, "")
    assert "SHOEING_PASSPHRASE is set but empty" in said.err
    assert said.err.count("\n") == 1
    assert not (tmp_path / "vet").exists()


def test_where_no_passphrase_can_be_asked_for_unseen_that_is_said_and_no_more(shoeing, store, tmp_path, monkeypatch):
    import getpass
    import warnings

    def seen(_prompt):
        warnings.warn("Can not control echo on the terminal.", getpass.GetPassWarning, stacklevel=2)
        raise AssertionError("what is typed would be seen")

    monkeypatch.delenv("SHOEING_PASSPHRASE", raising=False)
    monkeypatch.setattr(getpass, "getpass", seen)
    said = shoeing("share", "--store", store, "--vet", "VP-02", "--to", tmp_path / "vet", "--no-pdf", "--encrypt")
    assert (said.code, said.out) == (2, "")
    assert said.err.count("\n") == 1
    assert "no passphrase: set SHOEING_PASSPHRASE" in said.err


def test_the_first_summary_of_a_store_says_that_those_of_another_are_not_known(shoeing, store, tmp_path):
    new = shutil.copy(store, tmp_path / "new.duckdb")
    plain = ["share", "--store", new, "--vet", "VP-03", "--no-pdf", "--to"]
    with open_store(new) as kept:
        for name in ("shares", "share_horses", "share_units"):
            kept._con.execute(f"delete from ledger.{name}")
        kept.commit()
    old = shutil.copy(new, tmp_path / "old.duckdb")
    assert "Do not send it yet if summaries were made from another store" in shoeing(*plain, tmp_path / "a").out
    assert "--earlier" not in shoeing(*plain, tmp_path / "b").out
    shoeing("share", "--store", old, "--vet", "VP-01", "--no-pdf", "--to", tmp_path / "c")
    said = shoeing(*plain, tmp_path / "d", "--earlier", old)
    assert (said.code, "VP-01" in shoeing("share", "--store", new, "--list").out) == (0, True)


def test_who_is_to_be_asked_is_hinted_at_where_nobody_was_named(shoeing, store, tmp_path):
    plain = ["share", "--store", store, "--vet", "VP-03", "--no-pdf", "--to"]
    said = shoeing(*plain, tmp_path / "vet")
    assert said.out.splitlines()[-1].startswith("The cover says to ask the sender: --contact ")
    page = (tmp_path / "vet" / "index.html").read_text(encoding="utf-8")
    assert "the sender of this summary, who gave no name or number" in page
    assert "--contact" not in shoeing(*plain, tmp_path / "named", "--contact", "A made-up name").out


def test_a_horse_to_be_called_back_is_one_line_with_every_summary_it_was_in(capsys):
    from datetime import date
    from pathlib import Path

    from pipelines.cli_share import _tell
    from pipelines.sharing.gather import Withdrawn
    from pipelines.sharing.share import Shared

    gone = [Withdrawn(name, f"s-no{n}", date(2026, 1, n)) for n in (1, 2, 3) for name in ("Made Up Ash", "Made Up Bay")]
    _tell(Shared("VP-01", "s-no4", Path("to"), 2, "0", tuple(gone)))
    named = "s-no1 of 2026-01-01, s-no2 of 2026-01-02, s-no3 of 2026-01-03"
    assert capsys.readouterr().out.splitlines()[1:] == [
        f"  Call back: {name} may no longer be shared with VP-01; it was in summaries {named}"
        for name in ("Made Up Ash", "Made Up Bay")
    ]


def test_all_vets_are_told_the_same_of_the_groups(shoeing, store, tmp_path):
    assert shoeing("share", "--store", store, "--all-vets", "--to", tmp_path / "vets", "--no-pdf").code == 0
    shown = {
        path.parent.parent.name: [
            line for line in path.read_text(encoding="utf-8").splitlines() if "Hidden" not in line
        ]
        for path in (tmp_path / "vets").glob("*/data/peers.csv")
    }
    told = list(shown.values())
    assert len(told) == 3
    assert len(told[0]) > 1
    assert all(rows == told[0] for rows in told), shown
    said = shoeing("share", "--verify", tmp_path / "vets", "--store", store)
    assert (said.code, said.out.count("stands in the store's ledger")) == (0, 3)
    first = sorted((tmp_path / "vets").iterdir())[0]
    (first / "index.html").write_text("altered", encoding="utf-8")
    (tmp_path / "vets" / "more.txt").write_text("more", encoding="utf-8")
    said = shoeing("share", "--verify", tmp_path / "vets")
    assert said.code == 1
    assert f"{first}: index.html was altered" in said.out
    assert f"{tmp_path / 'vets' / 'more.txt'} is no summary" in said.out
    assert said.out.count("is as it was handed over") == 2
    (first / "manifest.json").write_text("{", encoding="utf-8")
    said = shoeing("share", "--verify", tmp_path / "vets")
    assert (said.code, said.out.count("is as it was handed over")) == (1, 2)
    assert f"{first}: " in said.out


REFUSED = {
    "no store": (["--vet", "VP-01"], "--store"),
    "a vet practice without a consenting horse": (["--vet", "nobody"], "nobody"),
    "neither one vet practice nor all": ([], "--all-vets"),
    "no folder": (["--vet", "VP-03"], "--to"),
    "a first day after the last": (["--vet", "VP-03", "--since", "2300-01-01"], "2300-01-01 is after 2"),
    "a first day that is no date": (["--vet", "VP-03", "--since", "spring"], "YYYY-MM-DD"),
}


@pytest.mark.parametrize(("options", "names"), REFUSED.values(), ids=REFUSED)
def test_what_cannot_be_shared_is_one_clear_line(shoeing, store, tmp_path, options, names):
    place = [] if names == "--store" else ["--store", store]
    place += [] if names == "--to" else ["--to", tmp_path / "vet"]
    said = shoeing("share", *place, *options)
    assert (said.code, said.out) == (2, "")
    assert names in said.err
    assert said.err.count("\n") == 1
    assert not (tmp_path / "vet").exists()


def test_questions_that_go_to_nobody_are_counted_and_named(shoeing, store, tmp_path):
    asks = tmp_path / "asks.csv"
    asks.write_text("horse_id,question\nH0001,One?\nH0001,Two?\nH0002,Three?\n")
    said = shoeing("share", "--store", store, "--vet", "VP-01", "--to", tmp_path / "vet", "--no-pdf", "--asks", asks)
    assert said.code == 0
    assert "Not asked: " in said.out
    assert "H00" not in said.out, "by name, not by code"


@pytest.mark.parametrize(
    ("text", "mark"),
    [
        ("Horse;question\nAsh;Why?\n", "semicolons"),
        ("Horse;question\nAsh;Why, and since when, and where?\n", "semicolons"),
        ("Horse\tquestion\nAsh\tWhy?\n", "tabs"),
    ],
    ids=["semicolons", "semicolons and a text with commas", "tabs"],
)
def test_questions_set_apart_by_another_mark_are_refused_with_what_to_use(shoeing, store, tmp_path, text, mark):
    (tmp_path / "asks.csv").write_text(text, encoding="utf-8")
    to = ["--vet", "VP-01", "--to", tmp_path / "vet", "--no-pdf"]
    said = shoeing("share", "--store", store, *to, "--asks", tmp_path / "asks.csv")
    assert (said.code, said.out, said.err.count("\n")) == (2, "", 1)
    assert f"set apart by {mark}: use commas, and quotation marks around a text with a comma in it" in said.err
    assert not (tmp_path / "vet").exists()
