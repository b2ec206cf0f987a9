"""Who gets what: consent, withdrawal, the ledger, and all or nothing."""

import json
from datetime import timedelta
from hashlib import sha256

import polars as pl
import pytest

from pipelines.sharing.sealing import VARIABLE, unseal
from pipelines.sharing.share import How, share, shares
from pipelines.sharing.verifying import verify
from pipelines.store import open_store
from schemas.problem import Problem
from tests.sharing import practice
from tests.sharing.conftest import NOW
from tests.sharing.searching import found
from tests.store.drawn import load


def horses_in(folder) -> list[str]:
    return pl.read_csv(folder / "data" / "horses.csv")["horse_name"].to_list()


def change_consent(path, made, name: str, agrees: bool | None) -> None:
    """A later export in which one owner's answer is another."""
    answer = pl.when(pl.col("horse_name") == name).then(pl.lit(agrees)).otherwise("share_with_vet")
    with open_store(path) as store:
        day = store.last_as_of()
        load(store, made | {"horses": made["horses"].with_columns(share_with_vet=answer)}, day)
        store.derive(day)
        store.commit()


def test_only_consenting_horses_of_that_vet_are_in(store, tmp_path, plainly):
    (one,) = share(store, practice.VET, tmp_path / "to", plainly)
    assert horses_in(tmp_path / "to") == ["Plain Horse 1", "Plain Horse 2", "Plain Horse 3"]
    assert (one.horses, one.withdrawn) == (3, ())


def test_every_summary_is_in_the_ledger_with_what_for_whom_when_and_hash(store, tmp_path, plainly):
    share(store, practice.VET, tmp_path / "to", plainly)
    (row,) = shares(store).to_dicts()
    manifest = (tmp_path / "to" / "manifest.json").read_bytes()
    assert row["sha256"] == sha256(manifest).hexdigest()
    assert (row["summary"], row["vet_practice"]) == (json.loads(manifest)["summary"], practice.VET)
    assert (row["shared_at"], row["horses"], row["encrypted"]) == (NOW, 3, False)


def test_withdrawn_consent_is_honoured_and_the_old_summary_is_named_for_recall(store, made, tmp_path, plainly):
    (first,) = share(store, practice.VET, tmp_path / "first", plainly)
    change_consent(store, made, "Plain Horse 2", False)
    (second,) = share(store, practice.VET, tmp_path / "second", plainly)
    assert horses_in(tmp_path / "second") == ["Plain Horse 1", "Plain Horse 3"]
    assert [(w.horse_name, w.summary) for w in second.withdrawn] == [("Plain Horse 2", first.summary)]
    assert found(tmp_path / "second", {"Plain Horse 2"}) == set()
    cover = (tmp_path / "second" / "index.html").read_text(encoding="utf-8")
    assert f"{first.summary}, made on 1 November 2026" in cover
    assert first.sha256[:16] in cover


def test_a_blank_answer_is_no_consent(store, made, tmp_path, plainly):
    change_consent(store, made, "Plain Horse 2", None)
    share(store, practice.VET, tmp_path / "to", plainly)
    assert horses_in(tmp_path / "to") == ["Plain Horse 1", "Plain Horse 3"]


def test_where_every_consent_is_withdrawn_nothing_is_written_and_the_recall_is_said(store, made, tmp_path, plainly):
    (first,) = share(store, practice.VET, tmp_path / "first", plainly, horse="MARKhorse_idH0001")
    for name in ("Plain Horse 1", "Plain Horse 2", "Plain Horse 3"):
        change_consent(store, made | {"horses": _as_kept(store)}, name, False)
    with pytest.raises(Problem, match=f"ask for {first.summary} to be deleted"):
        share(store, practice.VET, tmp_path / "second", plainly)
    assert not (tmp_path / "second").exists()


def _as_kept(path) -> pl.DataFrame:
    with open_store(path, read_only=True) as store:
        return store.sql("select * exclude (load_id, source_file, source_row) from accepted.horses")


def test_since_leaves_out_what_came_before(store, tmp_path, plainly):
    with open_store(store, read_only=True) as kept:
        day = kept.last_as_of() - timedelta(days=60)
    share(store, practice.VET, tmp_path / "to", plainly, since=day)
    visits = pl.read_csv(tmp_path / "to" / "data" / "visits.csv", try_parse_dates=True)
    shoes = pl.read_csv(tmp_path / "to" / "data" / "shoes.csv", try_parse_dates=True)
    assert visits["visit_date"].min() >= day
    assert visits.height > 0
    assert shoes.filter(pl.col("off_on") < day).is_empty()


def test_one_horse_alone_when_asked_for(store, tmp_path, plainly):
    share(store, practice.VET, tmp_path / "to", plainly, horse="MARKhorse_idH0002")
    assert horses_in(tmp_path / "to") == ["Plain Horse 2"]
    assert found(tmp_path / "to", {"Plain Horse 1", "Plain Horse 3"}) == set()


@pytest.mark.parametrize(
    ("options", "line"),
    [
        ({"vet": "Nobody"}, "no horse may be shared with Nobody"),
        ({"vet": practice.VET, "horse": "MARKhorse_idH0004"}, "may not be shared"),
        ({"vet": practice.OTHER, "horse": "MARKhorse_idH0001"}, "may not be shared"),
        ({"vet": practice.VET, "all_vets": True}, "--vet, or take --all-vets"),
        ({"vet": "it's; drop table", "horse": None}, "no horse may be shared"),
    ],
)
def test_what_cannot_be_shared_changes_nothing(store, tmp_path, plainly, options, line):
    before = store.read_bytes()
    with pytest.raises(Problem, match=line):
        share(store, options.pop("vet"), tmp_path / "to", plainly, **options)
    assert store.read_bytes() == before
    assert sorted(path.name for path in tmp_path.iterdir()) == ["store.duckdb"]


def test_a_folder_that_is_not_empty_is_left_alone(store, tmp_path, plainly):
    (tmp_path / "to").mkdir()
    (tmp_path / "to" / "mine.txt").write_text("mine")
    with pytest.raises(Problem, match="not empty"):
        share(store, practice.VET, tmp_path / "to", plainly)
    assert [path.name for path in (tmp_path / "to").iterdir()] == ["mine.txt"]


def test_vet_practices_whose_names_read_alike_get_folders_of_their_own():
    from pipelines.sharing.share import _folders

    assert _folders(["A/B", "a b", "../..", "Ü"]) == {"A/B": "a-b", "a b": "a-b_2", "../..": "vet", "Ü": "vet_2"}


def test_the_derived_tables_of_the_store_stay_as_they_were_published(store, tmp_path, plainly):
    def spells() -> list:
        with open_store(store, read_only=True) as kept:
            return kept.sql("select * from derived.shoe_spells").rows()

    before = spells()
    share(store, practice.VET, tmp_path / "to", plainly, follow_up_days=10)
    assert spells() == before


def test_a_summary_as_handed_over_is_verified_and_any_change_is_told(store, tmp_path, plainly):
    to = tmp_path / "to"
    share(store, practice.VET, to, plainly)
    assert verify(to, store_path=store).good
    (to / "index.html").write_text("another", encoding="utf-8")
    (to / "data" / "visits.csv").unlink()
    (to / "more.txt").write_text("more")
    assert verify(to).faults == ("data/visits.csv is missing", "index.html was altered", "more.txt was added")


def test_a_manifest_written_anew_is_not_the_one_in_the_ledger(store, tmp_path, plainly):
    from pipelines.sharing.manifest import write_manifest

    to = tmp_path / "to"
    share(store, practice.VET, to, plainly)
    (to / "index.html").write_text("another", encoding="utf-8")
    write_manifest(to, "forged")
    verdict = verify(to, store_path=store)
    assert (verdict.faults, verdict.recorded, verdict.good) == ((), False, False)


def test_a_folder_without_a_manifest_is_no_summary(tmp_path):
    with pytest.raises(Problem, match=r"holds no manifest\.json"):
        verify(tmp_path)


def test_an_encrypted_summary_is_one_zip_opened_by_its_passphrase_alone(store, tmp_path, monkeypatch):
    monkeypatch.delenv(VARIABLE, raising=False)
    how = How(NOW, pdf=False, encrypt=True, ask=lambda: "four made up words")
    (one,) = share(store, practice.VET, tmp_path / "to", how)
    (closed,) = (tmp_path / "to").iterdir()
    assert closed.name == f"{one.summary}.zip"
    with pytest.raises(Problem, match="passphrase"):
        unseal(closed, tmp_path / "wrong", "some other made up words")
    assert verify(tmp_path / "to", store_path=store, ask=lambda: "four made up words").good


def test_the_process_that_writes_the_files_does_not_get_the_passphrase(monkeypatch):
    from pipelines.sharing.apart import _environment

    monkeypatch.setenv(VARIABLE, "four made up words")
    assert VARIABLE not in _environment()


@pytest.mark.parametrize(("words", "line"), [("", "no passphrase"), ("short", "too short")])
def test_no_summary_is_closed_with_a_passphrase_that_is_blank_or_short(store, tmp_path, monkeypatch, words, line):
    monkeypatch.setenv(VARIABLE, words)
    with pytest.raises(Problem, match=line):
        share(store, practice.VET, tmp_path / "to", How(NOW, pdf=False, encrypt=True))
    assert not (tmp_path / "to").exists()


def test_questions_reach_the_horse_they_are_about(store, tmp_path, plainly):
    asks = tmp_path / "asks.csv"
    asks.write_text(
        "Horse,Date asked,Foot,Ask\nPlain Horse 2,2026-05-01,lf,Is this <corn> one to see?\nMARKhorse_idH0006,,,Mine?\n"
    )
    share(store, practice.VET, tmp_path / "to", plainly, asks=asks, contact="The forge, 01 23")
    page = (tmp_path / "to" / "horse-2.html").read_text(encoding="utf-8")
    assert "1 May 2026: Left fore. Is this &lt;corn&gt; one to see?" in page
    assert "The forge, 01 23" in (tmp_path / "to" / "index.html").read_text(encoding="utf-8")
    assert found(tmp_path / "to", {"Mine?"}) == set()


@pytest.mark.parametrize(
    ("row", "line"),
    [
        ("Nobody,,,Why?", "row 2: Nobody is the code of no horse"),
        ("Plain Horse 1,,,", "row 2: the question is blank"),
        ("Plain Horse 1,,XX,Why?", "row 2: the foot is LF, RF, LH, RH or blank, not XX"),
        ("Plain Horse 1,1/5/26,,Why?", "row 2: asked_on is a day as YYYY-MM-DD"),
    ],
)
def test_a_question_that_cannot_be_read_stops_the_summary(store, tmp_path, plainly, row, line):
    asks = tmp_path / "asks.csv"
    asks.write_text(f"horse,asked_on,foot,question\n{row}\n")
    with pytest.raises(Problem, match=line):
        share(store, practice.VET, tmp_path / "to", plainly, asks=asks)
