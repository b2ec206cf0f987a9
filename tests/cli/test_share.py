"""Handing over to a vet practice, through the command line."""

import pytest

from pipelines.cli import sample_practice


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
    assert shoeing("share", "--store", store, *options).code == 0
    assert [path.suffix for path in (tmp_path / "vet").iterdir()] == [".zip"]
    assert shoeing("share", "--verify", tmp_path / "vet").code == 0


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
