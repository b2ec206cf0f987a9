"""Visits told twice on one day, notes that differ from foot to foot, and rows that say what they belong to by name."""

import pytest

from pipelines.intake import read_export
from pipelines.telling_findings import summed_up
from schemas.records import Known
from tests.intake.conftest import TODAY, as_csv, told

HEAD = "Horse | Yard | Use | Date | Farrier | Kind | Leg | Came in | Done | Notes\n"
MORNING = "".join(f"Pip | Low | polo | 2025-03-01 | Sam | routine | {leg} | on | new |\n" for leg in ("NF", "OF"))
BACK = "Pip | Low | polo | 2025-03-01 | Sam | lost shoe | NF | off | refit |\n"


@pytest.fixture
def read(tmp_path):
    def write_and_read(**drawn: str):
        for name, text in drawn.items():
            (tmp_path / f"{name}.csv").write_text(as_csv(text), encoding="utf-8")
        return read_export([tmp_path / f"{name}.csv" for name in drawn], Known(), None, TODAY)

    return write_and_read


def test_a_horse_shod_twice_on_one_day_is_told_how_to_keep_both(read):
    aside = read(book=HEAD + MORNING + BACK).set_aside.filter(rule="same_key_twice")
    visit, foot = (aside.filter(table_name=name)["reason"][0] for name in ("visits", "feet"))
    assert visit.endswith("if they are two visits on one day, give each a visit_id, the same on the rows of its feet")
    assert "if the horse was shod twice that day, give each visit a visit_id" in foot
    assert foot.endswith("if they are two horses, give each a horse_id or say in a layout file what tells them apart")


def test_what_it_was_told_to_do_keeps_both(read):
    other = "Bay | Low | polo | 2025-03-02 | Sam | routine | {} | on | new |\n"
    rows = [*MORNING.splitlines(), BACK.strip(), *(other.format(leg).strip() for leg in ("NF", "OF", "NH", "OH"))]
    codes = ["A", "A", "B", "", "", "", ""]
    book = "visit_id | " + HEAD + "\n".join(f"{code} | {row}" for code, row in zip(codes, rows, strict=True))
    records = read(book=book)
    assert records.set_aside.is_empty()
    assert records.tables["visits"]["visit_id"].to_list() == ["A", "B", "bay, low, 2025-03-02, sam"]
    assert records.tables["feet"].height == 7
    assert records.warnings.is_empty(), "a shoe that came off is nailed twice in earnest"


@pytest.mark.parametrize(("by", "says"), [("Jo", " and nailed LF, RF both times (see "), ("S", None)])
def test_one_visit_told_by_two_farriers_is_doubted(read, by, says):
    again = MORNING.replace("Sam", by) if says else MORNING.replace("Sam", by).replace("NF", "NH").replace("OF", "OH")
    records = read(a=HEAD + MORNING, b=HEAD + again)
    assert records.set_aside.is_empty()
    [doubt] = told(records.warnings.filter(rule="two_visits_one_day"))
    assert doubt.startswith("b.csv row 2: this horse was visited twice on 2025-03-01" + (says or " (see a.csv row 2)"))


def test_two_farriers_who_did_different_feet_are_no_doubt(read):
    again = MORNING.replace("Sam", "Jo").replace("NF", "NH").replace("OF", "OH")
    assert read(a=HEAD + MORNING, b=HEAD + again).warnings.is_empty()


def test_notes_that_differ_from_foot_to_foot_are_all_kept(read):
    near, off = MORNING.splitlines()
    records = read(book=f"{HEAD}{near} kicked\n{off} thrush")
    assert records.set_aside.is_empty()
    assert records.tables["visits"]["notes"].to_list() == ["kicked; thrush"]
    assert records.warnings["rule"].to_list() == ["notes_joined"]
    assert read(book=f"{HEAD}{near} kicked\n{off}").warnings.is_empty()


def test_rows_that_find_their_visit_by_name_and_day_say_that_these_are_mended_on_both(read):
    aside = read(book=HEAD + MORNING.replace("routine", "gubbins")).set_aside
    feet = aside.filter(table_name="feet")["reason"][0]
    assert feet.endswith("mend that row first; a name, yard, day or farrier mended there is to be mended here too")
    [line] = [line for line in summed_up(aside) if "only because" in line]
    assert line.endswith(
        "with that visit mended they come in; a name, yard, day or farrier mended there must be mended on these rows "
        "too"
    )


def test_a_column_taken_for_disciplines_that_holds_none_is_named(read):
    book = HEAD.replace("Use", "Job") + MORNING.replace("polo", "full set") + BACK.replace("polo", "fronts")
    doubts = read(book=book).warnings.filter(rule="no_discipline")
    assert told(doubts) == [
        'book.csv row 2: column "Job" (discipline) holds no word for a discipline anywhere, but full set, fronts: if '
        'the column is about something else, say so in a layout file under [headers], with "" to leave it out'
    ]


def test_feet_of_a_day_with_two_visits_are_not_given_to_the_first_of_them(tmp_path):
    visits = """
        visit_id | Horse | Yard | Date       | Farrier | Kind
        A        | Pip   | Low  | 2025-03-01 | Sam     | routine
        B        | Pip   | Low  | 2025-03-01 | Sam     | lost shoe
    """
    feet = "Horse | Yard | Date | Farrier | Leg | Came in | Done \n Pip | Low | 2025-03-01 | Sam | NF | off | refit"
    horses = "Horse | Yard | Use \n Pip | Low | polo"
    for name, text in (("horses", horses), ("visits", visits), ("feet", feet)):
        (tmp_path / f"{name}.csv").write_text(as_csv(text), encoding="utf-8")
    records = read_export([tmp_path], Known(), None, TODAY)
    assert told(records.set_aside) == [
        "feet.csv row 2: Pip was visited more than once on 2025-03-01: write the visit_id of the visit that is meant"
    ]
