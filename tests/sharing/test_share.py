"""Who gets what: consent, withdrawal, the ledger, and all or nothing."""

import json
import re
from datetime import date, timedelta
from hashlib import sha256
from pathlib import Path
from tempfile import TemporaryDirectory

import polars as pl
import pytest

from pipelines.sharing.apart import write_apart
from pipelines.sharing.manifest import write_manifest
from pipelines.sharing.sealing import VARIABLE, seal, unseal
from pipelines.sharing.share import How, share, shares
from pipelines.sharing.verifying import verify
from pipelines.sharing.writing import write_files
from pipelines.store import open_store
from pipelines.store.shared_store import write_shared
from schemas.problem import Problem
from tests.sharing import practice
from tests.sharing.conftest import NOW
from tests.sharing.searching import found
from tests.store.drawn import load


@pytest.fixture(autouse=True)
def in_this_process(monkeypatch):
    """Files are written here and not in a process of their own, whose start takes longest; the tests of leaks and of
    the command line keep to that process, and so do those of this file that ask for `in_its_own_process`.
    """

    def write_here(tables, folder, *, pdf, fhir):
        with TemporaryDirectory() as private:
            database = Path(private) / "summary.duckdb"
            write_shared(database, tables)
            return write_files(database, folder, pdf=pdf, fhir=fhir)

    monkeypatch.setattr("pipelines.sharing.share.write_apart", write_here)


@pytest.fixture
def in_its_own_process(in_this_process, monkeypatch):
    monkeypatch.setattr("pipelines.sharing.share.write_apart", write_apart)


def peers_in(folder) -> pl.DataFrame:
    return pl.read_csv(folder / "data" / "peers.csv")


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


def test_only_consenting_horses_of_that_vet_are_in(store, tmp_path, plainly, in_its_own_process):
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
    with pytest.raises(Problem, match=f"ask {practice.VET} to delete {first.summary}$"):
        share(store, practice.VET, tmp_path / "second", plainly)
    assert not (tmp_path / "second").exists()


def test_where_no_vet_practice_is_left_the_problem_still_says_who_is_to_delete_what(store, made, tmp_path, plainly):
    first = share(store, None, tmp_path / "first", plainly, all_vets=True)
    nobody = made["horses"].with_columns(share_with_vet=pl.lit(False))
    with open_store(store) as kept:
        load(kept, made | {"horses": nobody}, kept.last_as_of())
        kept.commit()
    before = store.read_bytes()
    with pytest.raises(Problem) as problem:
        share(store, None, tmp_path / "new" / "second", plainly, all_vets=True)
    for one in first:
        assert f"ask {one.vet} to delete {one.summary}" in str(problem.value)
    assert store.read_bytes() == before
    assert not (tmp_path / "new").exists(), "not even the folder above it"


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


def test_one_horse_may_be_asked_for_by_its_name(store, tmp_path, plainly):
    share(store, practice.VET, tmp_path / "to", plainly, horse="plain horse 2")
    assert horses_in(tmp_path / "to") == ["Plain Horse 2"]


def test_one_horse_alone_when_asked_for(store, tmp_path, plainly):
    share(store, practice.VET, tmp_path / "to", plainly, horse="MARKhorse_idH0002")
    assert horses_in(tmp_path / "to") == ["Plain Horse 2"]
    assert found(tmp_path / "to", {"Plain Horse 1", "Plain Horse 3"}) == set()
    assert pl.read_csv(tmp_path / "to" / "data" / "horses.csv")["horse_no"].to_list() == [1], "not its place among all"
    assert sorted(path.name for path in (tmp_path / "to").glob("*.html")) == ["horse-1.html", "index.html"]


@pytest.mark.parametrize(
    ("options", "line"),
    [
        ({"vet": "Nobody"}, "no horse may be shared with Nobody"),
        ({"vet": practice.VET, "horse": "MARKhorse_idH0004"}, "may not be shared"),
        ({"vet": practice.OTHER, "horse": "MARKhorse_idH0001"}, "may not be shared"),
        ({"vet": practice.VET, "all_vets": True}, "--vet, or take --all-vets"),
        ({"vet": practice.VET, "since": date(2300, 1, 1)}, "--since 2300-01-01 is after "),
        ({"vet": None, "all_vets": True, "since": date(2300, 1, 1)}, "name an earlier day"),
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

    assert _folders(["CON", "Com1", "Contact"]) == {"CON": "vet-con", "Com1": "vet-com1", "Contact": "contact"}
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


@pytest.fixture
def small(tmp_path) -> Path:
    """A folder of two files and its manifest."""
    folder = tmp_path / "small"
    (folder / "data").mkdir(parents=True)
    (folder / "index.html").write_text("page", encoding="utf-8")
    (folder / "data" / "horses.csv").write_text("horse", encoding="utf-8")
    write_manifest(folder, "small")
    return folder


def _with_a_manifest_below(folder: Path) -> None:
    (folder / "data" / "manifest.json").write_text("{}", encoding="utf-8")


def _with_an_empty_folder(folder: Path) -> None:
    (folder / "more" / "below").mkdir(parents=True)


def _with_a_linked_file(folder: Path) -> None:
    (folder / "more.html").symlink_to(folder / "index.html")


def _with_a_linked_folder(folder: Path) -> None:
    (folder / "more").symlink_to(folder / "data", target_is_directory=True)


def _with_a_link_that_leads_nowhere(folder: Path) -> None:
    (folder / "more").symlink_to(folder / "nowhere")


def _with_a_link_in_place_of_a_file(folder: Path) -> None:
    (folder / "index.html").rename(folder.parent / "elsewhere.html")
    (folder / "index.html").symlink_to(folder.parent / "elsewhere.html")


def _with_a_link_in_place_of_a_folder(folder: Path) -> None:
    (folder / "data").rename(folder.parent / "elsewhere")
    (folder / "data").symlink_to(folder.parent / "elsewhere", target_is_directory=True)


def _with_a_link_in_place_of_the_manifest(folder: Path) -> None:
    (folder / "manifest.json").rename(folder.parent / "elsewhere.json")
    (folder / "manifest.json").symlink_to(folder.parent / "elsewhere.json")


def _with_a_folder_in_place_of_a_file(folder: Path) -> None:
    (folder / "index.html").unlink()
    (folder / "index.html").mkdir()


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (_with_a_manifest_below, ("data/manifest.json was added",)),
        (_with_an_empty_folder, ("more/ was added", "more/below/ was added")),
        (_with_a_linked_file, ("more.html was added",)),
        (_with_a_linked_folder, ("more was added",)),
        (_with_a_link_that_leads_nowhere, ("more was added",)),
        (_with_a_link_in_place_of_a_file, ("index.html is a link",)),
        (_with_a_link_in_place_of_a_folder, ("data was added", "data/horses.csv is missing")),
        (_with_a_link_in_place_of_the_manifest, ("manifest.json is a link",)),
        (_with_a_folder_in_place_of_a_file, ("index.html/ was added",)),
    ],
    ids=lambda one: one.__name__.strip("_") if callable(one) else "",
)
def test_nothing_that_is_not_in_the_manifest_goes_untold(small, change, told):
    assert verify(small).faults == ()
    change(small)
    assert verify(small).faults == told


def test_a_manifest_written_anew_is_not_the_one_in_the_ledger(store, tmp_path, plainly):
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
    assert not (tmp_path / "wrong").exists(), "not one file, nor a part of one"
    assert verify(tmp_path / "to", store_path=store, ask=lambda: "four made up words").good
    (tmp_path / "to" / "more.txt").write_text("more")
    assert verify(tmp_path / "to", ask=lambda: "four made up words").faults == ("more.txt was added",)


def test_a_zip_is_verified_by_its_own_name_too_and_any_other_file_is_told_from_it(store, tmp_path, monkeypatch):
    monkeypatch.delenv(VARIABLE, raising=False)
    share(store, practice.VET, tmp_path / "to", How(NOW, pdf=False, encrypt=True, ask=lambda: "four made up words"))
    (closed,) = (tmp_path / "to").iterdir()
    (tmp_path / "to" / "more.txt").write_text("more")
    assert verify(closed, store_path=store, ask=lambda: "four made up words").good
    with pytest.raises(Problem, match="does not fit"):
        verify(closed, ask=lambda: "short")
    with pytest.raises(Problem, match="name the folder of a summary, or its zip"):
        verify(tmp_path / "to" / "more.txt")


def test_one_passphrase_never_seals_the_summaries_of_several_vet_practices(store, tmp_path):
    before = store.read_bytes()
    with pytest.raises(Problem, match="share with one at a time"):
        share(store, None, tmp_path / "to", How(NOW, encrypt=True, ask=lambda: "four made up words"), all_vets=True)
    assert (store.read_bytes(), (tmp_path / "to").exists()) == (before, False)


def test_no_two_summaries_of_a_store_have_one_name(store, tmp_path, plainly):
    made = share(store, None, tmp_path / "a", plainly, all_vets=True)
    made += share(store, practice.VET, tmp_path / "b", plainly)
    assert [one.summary.rpartition("-")[2] for one in made] == ["no1", "no2", "no3"]


def test_what_can_be_read_of_a_zip_without_its_passphrase_tells_no_name_and_no_moment(store, made, tmp_path):
    import zipfile

    how = How(NOW, fhir=True, encrypt=True, ask=lambda: "four made up words")
    share(store, practice.VET, tmp_path / "to", how)
    (closed,) = (tmp_path / "to").iterdir()
    with zipfile.ZipFile(closed) as listing:
        entries = listing.infolist()
        assert listing.comment == b""
    plain = re.compile(
        r"(data/[a-z_]+\.(csv|json)|horse-\d+\.html|index\.html|manifest\.json|shoeing-summary-\d{4}-\d\d-\d\d-no\d+"
        r"-(A4|Letter)\.pdf)"
    )
    assert [entry.filename for entry in entries if not plain.fullmatch(entry.filename)] == []
    assert {(entry.date_time, entry.comment) for entry in entries} == {((1980, 1, 1, 0, 0, 0), b"")}
    assert all(entry.flag_bits & 1 for entry in entries), "every one is encrypted"


def test_a_wrong_passphrase_that_happens_to_pass_the_first_check_gives_no_part_of_a_file(small, tmp_path, monkeypatch):
    """The zip format keeps two bytes of the key to check; here any key passes them."""
    from pyzipper import zipfile_aes

    seal(small, tmp_path / "a.zip", "four made up words")
    checked = zipfile_aes.AESZipDecrypter.__init__
    given = {}

    def passing(self, zinfo, pwd, encryption_header):
        salt = encryption_header[:-2]
        size = 2 * zipfile_aes.WZ_KEY_LENGTHS[zinfo.wz_aes_strength] + 2
        given["asked"] = True
        checked(self, zinfo, pwd, salt + zipfile_aes.PBKDF2(pwd, salt, count=1000, dkLen=size)[-2:])

    monkeypatch.setattr(zipfile_aes.AESZipDecrypter, "__init__", passing)
    with pytest.raises(Problem, match="passphrase"):
        unseal(tmp_path / "a.zip", tmp_path / "out", "some other made up words")
    assert given
    assert not (tmp_path / "out").exists()


def test_a_zip_whose_file_would_lie_outside_its_folder_is_refused(tmp_path):
    import pyzipper

    with pyzipper.AESZipFile(tmp_path / "a.zip", "w", encryption=pyzipper.WZ_AES) as closed:
        closed.setpassword(b"four made up words")
        closed.writestr("../elsewhere.txt", "x")
    with pytest.raises(Problem, match="outside its folder"):
        unseal(tmp_path / "a.zip", tmp_path / "out", "four made up words")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.zip"]


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
    (one,) = share(store, practice.VET, tmp_path / "to", plainly, asks=asks, contact="The forge, 01 23")
    assert one.not_asked == ("MARKhorse5",), "by name, as a person knows it"
    page = (tmp_path / "to" / "horse-2.html").read_text(encoding="utf-8")
    assert "1 May 2026: Left fore. Is this &lt;corn&gt; one to see?" in page
    assert "The forge, 01 23" in (tmp_path / "to" / "index.html").read_text(encoding="utf-8")
    assert found(tmp_path / "to", {"Mine?"}) == set()


@pytest.mark.parametrize("name", ["a question", "."])
def test_questions_that_are_no_file_are_one_line_with_the_columns_wanted(store, tmp_path, plainly, name):
    with pytest.raises(
        Problem, match=r"there is no file .*: --asks names a CSV file of horse_id \(or Horse"
    ) as problem:
        share(store, practice.VET, tmp_path / "to", plainly, asks=tmp_path / name)
    assert "\n" not in str(problem.value)


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


def test_all_vets_of_one_call_are_told_the_same_figures_whatever_their_names(store, made, tmp_path, plainly):
    seen_by_none = pl.int_range(pl.len()) >= 5
    alone = made["horses"].with_columns(
        vet_practice=pl.when(seen_by_none).then(None).otherwise(pl.concat_str(pl.lit("Vet "), pl.int_range(pl.len()))),
        share_with_vet=~seen_by_none,
    )
    with open_store(store) as kept:
        load(kept, made | {"horses": alone}, kept.last_as_of())
        kept.commit()
    made_now = share(store, None, tmp_path / "to", plainly, all_vets=True)
    told = [peers_in(one.folder).filter(pl.col("base").is_not_null()).rows() for one in made_now]
    assert len(told) == 5
    assert len(told[0]) > 1
    assert all(rows == told[0] for rows in told)


def test_a_question_about_a_horse_shared_with_another_vet_of_the_call_is_not_among_those_that_went_to_nobody(
    store, tmp_path, plainly
):
    asks = tmp_path / "asks.csv"
    asks.write_text("Horse,Ask\nPlain Horse 2,Sound?\nMARKhorse_idH0006,Mine?\nMARKhorse_idH0004,Not?\n")
    made = share(store, None, tmp_path / "to", plainly, asks=asks, all_vets=True)
    assert {one.not_asked for one in made} == {("MARKhorse3",)}
