"""What an export's sheets do not carry stays as it stands; what they carry and leave blank is blank from then on."""

from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pipelines.intake import read_export
from pipelines.sharing.consent import consents
from pipelines.store import open_store
from schemas.records import Known
from tests.intake.conftest import as_csv

NOW, TODAY = datetime(2025, 7, 1, tzinfo=UTC), date(2025, 6, 30)
WHOLE = """
    Horse | Yard  | Use     | Breed | Vet      | Owner    | share_with_vet
    Ash   | North | hunting | Cob   | Ash Vets | Mrs Pike | yes
    Bay   | South | racing  |       | Ash Vets |          | no
"""
BOOK = """
    Date       | Horse | Yard  | Kind    | Fee | Mins | Near fore arrival | Near fore work
    2025-01-01 | Ash   | North | routine | 80  | 50   | bare              | new
    2025-01-02 | Bay   | South | routine | 60  | 40   | bare              | trim
"""
MAY = """
    Date       | Horse | Yard  | Kind    | Discipline | Near fore arrival | Near fore work
    2025-05-01 | Ash   | North | routine | hunting    | on                | refit
    2025-05-02 | Bay   | South | routine | hacking    | bare              | trim
"""
HELD = "select horse_name, discipline, breed, vet_practice, owner_name, share_with_vet from accepted.horses order by 1"
ASH, BAY = ("Ash", "hunting", "Cob", "Ash Vets", "Mrs Pike", True), ("Bay", "racing", None, "Ash Vets", None, False)


@pytest.fixture
def told(tmp_path: Path):
    """Take exports into a store, each a folder of drawn sheets; the counts of each load by table."""

    def tell(store, *exports: dict[str, str], layout: str | None = None, apart: bool = True):
        folders = []
        for sheets in exports:
            folder = tmp_path / f"export-{len(list(tmp_path.iterdir()))}"
            folder.mkdir()
            for name, drawn in sheets.items():
                (folder / f"{name}.csv").write_text(as_csv(drawn), encoding="utf-8")
            folders.append(folder)
        practice = tmp_path / "practice.toml" if layout else None
        if practice:
            practice.write_text(layout, encoding="utf-8")
        counts = []
        for paths in [[folder] for folder in folders] if apart else [folders]:
            paths = [file for folder in paths for file in folder.iterdir()] if store.known().horse_ids.len() else paths
            store.take_in(read_export(paths, store.known(), None, TODAY, layout=practice), NOW)
            loads = store.finish_load(NOW)
            read = "rows_read", "rows_new", "rows_changed", "rows_unchanged", "rows_set_aside"
            counts.append({name: row for name, *row in loads.select("table_name", *read).rows()})
        return counts

    return tell


def test_columns_that_the_next_export_does_not_carry_stay_as_they_stand(told):
    with open_store(None) as store:
        told(store, {"Horses": WHOLE, "book": BOOK})
        first, again = told(store, {"may": MAY}, {"may": MAY})
        assert store.sql(HELD).rows() == [ASH, ("Bay", "trail", *BAY[2:])]
        assert first["horses"] == [2, 0, 1, 1, 0]
        assert {name: row[3] for name, row in again.items()} == {"horses": 2, "visits": 2, "feet": 2, "losses": 0}


def test_a_blank_cell_in_a_column_that_is_carried_is_blank_from_then_on(told):
    blank = WHOLE.replace("| yes", "|    ").replace("| Mrs Pike", "|         ")
    with open_store(None) as store:
        told(store, {"Horses": WHOLE, "book": BOOK})
        told(store, {"horses": blank})
        assert store.sql(HELD).rows() == [(*ASH[:4], None, None), BAY]


def test_a_visit_told_again_by_a_sheet_with_fewer_columns_keeps_the_others(told):
    short = (
        BOOK.replace("| Fee | Mins ", "| Fee ").replace("| 80  | 50   ", "| 85  ").replace("| 60  | 40   ", "| 60  ")
    )
    with open_store(None) as store:
        told(store, {"Horses": WHOLE, "book": BOOK})
        (counts,) = told(store, {"book": short})
        assert counts["visits"] == [2, 0, 1, 1, 0]
        assert store.sql("select fee, minutes from accepted.visits order by all").rows() == [(60, 40), (85, 50)]


def test_a_visit_of_a_code_given_to_another_horse_by_name_is_that_horses(told):
    coded = BOOK.replace("Date      ", "Visit ID | Date").replace("2025-01-01", "V1 | 2025-01-01")
    coded = coded.replace("2025-01-02", "V2 | 2025-01-02")
    with open_store(None) as store:
        told(store, {"Horses": WHOLE, "book": coded})
        told(store, {"book": coded.replace("Bay   | South", "Ash   | North").replace("Fee", "Fees")})
        found = store.sql("select h.horse_name from accepted.visits join accepted.horses h using (horse_id)")
        assert found.rows() == [("Ash",), ("Ash",)]


@pytest.mark.parametrize(
    "sheet", [MAY.replace("| hunting   ", "|           ").replace("| hacking   ", "|           "), MAY]
)
def test_a_default_fills_only_what_is_blank_in_the_store_too(told, sheet):
    with open_store(None) as store:
        told(store, {"Horses": WHOLE, "book": BOOK})
        told(store, {"may": sheet}, layout='[defaults]\ndiscipline = "polo"\nturnout = "part_day"')
        assert store.sql("select discipline, turnout from accepted.horses order by horse_name").rows() == [
            ("hunting", "part_day"),
            ("trail" if sheet == MAY else "racing", "part_day"),
        ]


def test_a_default_makes_no_sheet_tell_horses_and_no_two_rows_differ(told):
    with open_store(None) as store:
        (counts,) = told(store, {"Horses": WHOLE, "book": BOOK}, layout='[defaults]\ndiscipline = "trail"')
        assert counts["horses"] == [2, 2, 0, 0, 0]
        folded = BOOK.replace("Fee", "Use").replace("80 ", "   ").replace("60 ", "   ")
        told(store, {"Horses": WHOLE, "book": folded}, layout='[defaults]\ndiscipline = "trail"')
        assert store.sql(HELD).rows() == [ASH, BAY]


def test_of_exports_taken_together_the_later_leaves_what_it_does_not_carry(told):
    both = {"Horses": WHOLE, "book": BOOK}
    with open_store(None) as store, open_store(None) as other:
        told(store, both, {**both, "Horses": MAY_HORSES}, apart=False)
        told(other, {**both, "Horses": MAY_HORSES}, both, apart=False)
        assert store.sql(HELD).rows() == [ASH, ("Bay", "trail", *BAY[2:])]
        assert other.sql(HELD).rows() == [ASH, BAY]


MAY_HORSES = """
    Horse | Yard  | Use
    Ash   | North | hunting
    Bay   | South | hacking
"""
COLUMNS = {"Breed": ("Cob", "Arab", ""), "Vet": ("Ash Vets", "Beck", ""), "share_with_vet": ("yes", "no", "")}


@st.composite
def sheets(draw):
    carried = draw(st.lists(st.sampled_from(list(COLUMNS)), unique=True))
    lines = [["Horse", "Yard", "Use", *carried]]
    for name in draw(st.lists(st.sampled_from(["Ash", "Bay"]), min_size=1, unique=True)):
        lines.append(
            [
                name,
                "North",
                draw(st.sampled_from(["hunting", "polo"])),
                *(draw(st.sampled_from(COLUMNS[c])) for c in carried),
            ]
        )
    return lines


def plainly(told_in_turn):
    """The horses in force by a plain loop: what a sheet carries holds, the rest stays."""
    horses: dict[str, dict[str, str]] = {}
    for head, *body in told_in_turn:
        for line in body:
            horses.setdefault(line[0], {}).update(zip(head, line, strict=True))
    return {name: tuple(told.get(c) or None for c in ("Use", *COLUMNS)) for name, told in horses.items()}


def held(store):
    found = store.sql("select horse_name, discipline, breed, vet_practice, share_with_vet from accepted.horses").rows()
    return {name: (*rest, {True: "yes", False: "no", None: None}[agrees]) for name, *rest, agrees in found}


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(exports=st.lists(sheets(), min_size=1, max_size=3))
def test_the_horses_in_force_are_those_of_a_plain_loop_one_by_one_and_together(told, exports):
    book = "\n".join(line for line in BOOK.replace("South", "North").splitlines())
    drawn = [{"Horses": "\n".join(" | ".join(line) for line in lines), "book": book} for lines in exports]
    whole = [["Horse", "Yard", "Use"], ["Ash", "North", "polo"], ["Bay", "North", "polo"]]
    first = {"Horses": "\n".join(" | ".join(line) for line in whole), "book": book}
    with open_store(None) as one_by_one, open_store(None) as together:
        counts = told(one_by_one, first, *drawn) + told(together, first, *drawn, apart=False)
        assert held(one_by_one) == held(together) == plainly([whole, *exports])
        assert all(row[0] == sum(row[1:]) and row[4] == 0 for load in counts for row in load.values())
        (again,) = told(one_by_one, drawn[-1])
        assert again["horses"][3] == again["horses"][0]


@pytest.mark.parametrize("apart", [True, False])
def test_consent_that_was_refused_in_a_row_set_aside_does_not_come_back_with_a_sheet_that_does_not_tell_it(told, apart):
    refused = {"Horses": WHOLE.replace("hunting", "       ").replace("| yes", "| no"), "book": BOOK}
    later = {"horses": MAY_HORSES.replace("hunting", "polo   "), "book": BOOK}
    with open_store(None) as store:
        told(store, {"Horses": WHOLE, "book": BOOK})
        assert len(consents(store).to_share("Ash Vets")) == 1
        told(store, refused, later, apart=apart)
        assert consents(store).to_share("Ash Vets") == []


def test_consent_refused_and_never_told_again_stays_held_where_all_else_is_unchanged(told):
    refused = {"Horses": WHOLE.replace("hunting", "       ").replace("| yes", "| no"), "book": BOOK}
    with open_store(None) as store:
        told(store, {"Horses": WHOLE, "book": BOOK})
        told(store, refused, {"horses": MAY_HORSES, "book": BOOK})
        assert consents(store).to_share("Ash Vets") == []
        assert len(consents(store).held_from("Ash Vets")) == 1


def test_a_first_export_is_read_without_a_store_as_before(tmp_path):
    (tmp_path / "e").mkdir()
    for name, drawn in {"Horses": WHOLE, "book": BOOK}.items():
        (tmp_path / "e" / f"{name}.csv").write_text(as_csv(drawn), encoding="utf-8")
    read = read_export([tmp_path / "e"], Known(), None, TODAY)
    assert "sex" in read.untold["horses"][0].split()
    assert "breed" not in read.untold["horses"][0].split()
