"""What a layout file says and the export does not meet is named with its line; what it cannot mean is refused."""

import re
from pathlib import Path

import polars as pl
import pytest

from pipelines.intake import read_export
from pipelines.intake.practice import read_practice
from schemas.problem import Problem
from schemas.records import Known
from tests.intake.conftest import TODAY, as_csv

BOOK = """
    Horse   | Yard     | Use  | Date       | Type    | Leg | On arrival | Work done | Angle in
    Bramble | Low Yard | Polo | 2025-01-02 | routine | NH  | bare       | re-fitt   | 52
    Bramble | Top Yard | Polo | 2025-01-03 | routine | NH  | bare       | gubbins   | 52
"""
WORDS = '[words.work]\n"re-fitt" = "reset"\n"gubbins" = "trim"\n'


@pytest.fixture
def told(tmp_path):
    """Line and words of each warning that is about the layout file."""

    def read(layout: str, drawn: str = BOOK, beside: str = "", known: Known | None = None) -> list[tuple[int, str]]:
        (tmp_path / "book.csv").write_text(as_csv(drawn), encoding="utf-8")
        if beside:
            (tmp_path / "beside.csv").write_text(as_csv(beside), encoding="utf-8")
        (tmp_path / "practice.toml").write_text(layout, encoding="utf-8")
        paths = [path for path in (tmp_path / "book.csv", tmp_path / "beside.csv") if path.exists()]
        found = read_export(paths, known or Known(), None, TODAY, layout=tmp_path / "practice.toml").warnings
        return found.filter(source_file="practice.toml").select("source_row", "reason").rows()

    return read


NOT_MET = {
    "a header misspelt": ('[headers]\n"Angel in" = "angle_arrival_deg"\n', 2,
                          'no sheet has a header "Angel in"; the nearest is "Angle in"'),
    "a header like no other": ('[headers]\n"Weather" = ""\n', 2, 'no sheet has a header "Weather"'),
    "a word misspelt": (f'{WORDS}"gubins" = "trim"\n', 4, 'no cell of work says "gubins"; the nearest is "gubbins"'),
    "words of a column that is not there": ('[words.pad]\n"leather" = "full"\n', 1,
                                            "no sheet has anything under pad: its words are not used"),
    "a unit of a column that is not there": ('[units]\ntoe_leaving_mm = "cm"\n', 2,
                                             "no sheet has anything under toe_leaving_mm: its unit is not used"),
    "a default of a table that is not there": ('[defaults]\nfound_off = "2025-01-01"\n', 2,
                                               "found_off belongs to losses, of which no row was read"),
    "a horse misspelt in one of several groups": (
        '[horses]\nsame = [\n  ["Bramble, Low Yard", "Bramble, Top Yard"],\n'
        '  ["Bramble, Low Yard", "Bramble, Topp Yard"]\n]\n',
        4, 'no row is about a horse "Bramble, Topp Yard"; the nearest is "Bramble, Top Yard"'),
    "a horse to be told apart": ('[horses]\napart = [["Gorse, Mill", "discipline"]]\n', 2,
                                 'no row is about a horse "Gorse, Mill": write its name and yard, '
                                 'like "bramble, low yard"'),
    "a column that could tell apart and is not there": (
        '[horses]\napart = [["Bramble, Low Yard", "foaled_year"]]\n', 2,
        "no sheet has anything under foaled_year: it cannot tell two horses apart"),
}  # fmt: skip


@pytest.mark.parametrize(("layout", "line", "says"), NOT_MET.values(), ids=NOT_MET)
def test_an_entry_that_meets_nothing_is_named_with_its_line(told, layout, line, says):
    assert told(layout) == [(line, says)]


MET = {
    "headers": '[headers]\n"angle IN" = "angle_arrival_deg"\n',
    "words": WORDS.replace("gubbins", "GUBBINS"),
    "units": '[units]\nweb_mm = "cm"\n',
    "defaults": '[defaults]\nvisit_kind = "routine"\nminutes = 45\n',
    "horses": '[horses]\nsame = [["bramble, low yard", "BRAMBLE,  Top Yard"]]\n',
}


@pytest.mark.parametrize("layout", MET.values(), ids=MET)
def test_an_entry_that_is_met_is_not_spoken_of(told, layout):
    assert told(layout, BOOK.replace("Angle in", "Angle in | Web").replace("| 52", "| 52 | 2")) == []


def test_a_header_of_a_foots_group_is_met_by_what_follows_the_foot(told):
    wide = """
        Horse | Use  | Date       | Type    | near hind came in | near hind Getan | off fore came in | off fore Getan
        Ash   | Polo | 2025-01-02 | routine | bare              | trim            | bare             | trim
    """
    assert told('[headers]\n"Getan" = "work"\n"RF Getan" = "work"\n', wide) == [
        (3, 'no sheet has a header "RF Getan"; the nearest is "off fore Getan"')
    ]


def test_every_entry_is_named_once_in_order_of_its_lines(told):
    found = told('[horses]\nsame = [["x, y", "x, y"]]\n[headers]\n"Beta" = ""\n"Alpha" = ""\n')
    assert [line for line, _ in found] == [2, 4, 5]


def test_rows_that_came_back_from_a_report_need_meet_nothing(told):
    back = """
        table  | horse_id | horse_name | discipline | set aside because
        horses |          | Ash        | polo       | it was blank
    """
    layout = '[headers]\n"Weather" = ""\n'
    assert told(layout, back, known=Known(horse_ids=pl.Series("horse_id", ["H1"]))) == []
    assert len(told(layout, back, BOOK)) == 1


REFUSED = {
    "words for free text": ('[words.farrier]\n"JM" = "Someone"\n', "line 1: farrier is free text"),
    "a horse that is a number": ("[horses]\nsame = [[\"a, b\", 3]]\n", "line 2: 3 is no name"),
    "a misspelt key of horses": ('[horses]\nsames = [["a, b", "c, d"]]\n', "line 2: there is no sames under"),
    "a misspelt key of dates": ('[dates]\nordr = "day-first"\n', "line 2: there is no ordr under"),
    "a list for a column": ('[headers]\n"x" = ["work"]\n', "line 2: .* is no column"),
    "a list for a default": ('[defaults]\nyard = ["Top"]\n', "line 2: yard needs one value"),
}  # fmt: skip


@pytest.mark.parametrize(("layout", "says"), REFUSED.values(), ids=REFUSED)
def test_what_a_layout_file_cannot_mean_stops_with_its_line(tmp_path: Path, layout, says):
    (tmp_path / "practice.toml").write_text(layout, encoding="utf-8")
    with pytest.raises(Problem, match=says):
        read_practice(tmp_path / "practice.toml")


@pytest.mark.parametrize(
    ("layout", "says"),
    [
        ('[headers]\n"Horse" = "horse_name"\n\n# next\n"Horse" = "horse_name"\n',
         'line 5: "Horse" stands there a second time, after line 2: take one of the two lines out'),
        ('[headers]\n[dates]\n[headers]\n', "line 3: [headers] stands there a second time, after line 1"),
        ('[headers]\n"Horse" = horse_name\n', 'line 2 cannot be understood, "Horse" = horse_name: write it like'),
        ('[headers]\nMy horse = "horse_name"\n', "line 2 cannot be understood, My horse"),
        ('[headers]\n"Horse" = ”horse_name”\n', "line 2: ” is no quotation mark here, write straight ones"),
    ],
)  # fmt: skip
def test_a_file_in_no_form_at_all_names_the_line_and_what_to_do_in_plain_words(tmp_path: Path, layout, says):
    (tmp_path / "practice.toml").write_text(layout, encoding="utf-8")
    with pytest.raises(Problem, match=re.escape(says)):
        read_practice(tmp_path / "practice.toml")


def test_a_header_named_as_a_column_of_another_table_says_where_that_belongs(tmp_path: Path):
    (tmp_path / "horses.csv").write_text("Horse,Use,Every (wks)\nAsh,polo,6\n", encoding="utf-8")
    (tmp_path / "practice.toml").write_text('[headers]\n"Every (wks)" = "planned_weeks"\n', encoding="utf-8")
    known = Known(pl.Series("horse_id", ["ash"]))
    records = read_export([tmp_path / "horses.csv"], known, None, TODAY, layout=tmp_path / "practice.toml")
    assert records.warnings["reason"].to_list() == [
        'column "Every (wks)" is none of the columns of horses and was left unread: planned_weeks belongs to visits'
    ]
