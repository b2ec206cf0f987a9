"""Rows that are accepted and named: what a person should look at again."""

import pytest

HORSE = "horse_id | horse_name | discipline | {} \n H1 | Made Up Ash | {} \n H2 | Made Up Bay | dressage |"
KEPT = "the row is kept, look again"

HORSE_DOUBTS = {
    "a discipline that is not in the list": (
        "sex", "bronc_riding | mare",
        'discipline says "bronc_riding", which is not in the list: taken as other; a layout file can teach it, '
        'under [words.discipline]: "bronc_riding" = "other", or the one it is',
    ),
    "a maker's test chip": (
        "microchip", "eventing | 999000000000001", "microchip 999000000000001 starts with 999, a maker's test code",
    ),
    "a life number of no country": (
        "ueln", "eventing | 999ABC123456789",
        "ueln 999ABC123456789 starts with no country's number (ISO 3166): look again",
    ),
}  # fmt: skip


@pytest.mark.parametrize(("column", "cells", "doubt"), HORSE_DOUBTS.values(), ids=HORSE_DOUBTS)
def test_a_horse_is_doubted_for(read, doubted, column, cells, doubt):
    assert doubted(horses=HORSE.format(column, cells)) == [f"horses.csv row 2: {doubt}"]


def test_a_horse_of_unknown_discipline_is_accepted_as_other(read):
    records = read(horses=HORSE.format("sex", "bronc_riding | mare"))
    assert records.tables["horses"]["discipline"].to_list() == ["other", "dressage"]


FOOT_DOUBTS = {
    "an angle below the usual": (
        "fit_new", "angle_arrival_deg", "39.5",
        "angle_arrival_deg 39.5 is unusual, mostly it is 40 to 65 degrees",
    ),
    "a toe above the usual": (
        "fit_new", "toe_arrival_mm", "116", "toe_arrival_mm 116 is unusual, mostly it is 65 to 115 mm",
    ),
    "more nails at the heel than in the shoe": (
        "fit_new", "nails_medial | nails_lateral | heel_nails", "1 | 1 | 3",
        "heel_nails 3 is more than nails_medial and nails_lateral together",
    ),
    "nails in a glued shoe": (
        "fit_new", "shoe_style | nails_medial", "glue_on | 3", "shoe_style is glue_on and nails are counted too",
    ),
    "a shoe on a foot that was trimmed": (
        "trim", "shoe_style", "plain", "work is trim and details of a shoe nailed on are given too",
    ),
    "the site of a bruise that was not found": (
        "fit_new", "bruise_grade | bruise_site", "0 | toe", "bruise_site is toe and bruise_grade names no bruise",
    ),
    "the site of a bruise that was not looked for": (
        "fit_new", "bruise_site", "toe", "bruise_site is toe and bruise_grade names no bruise",
    ),
    "the side of a wall that is sound": (
        "fit_new", "wall_state | wall_side", "sound | medial", "wall_side is medial and wall_state is sound",
    ),
    "a trim of more than 10 degrees": (
        "fit_new", "angle_arrival_deg | angle_leaving_deg", "45 | 55.1",
        "angle_leaving_deg 55.1 is more than 10 degrees from angle_arrival_deg",
    ),
}  # fmt: skip


@pytest.mark.parametrize(("work", "columns", "cells", "doubt"), FOOT_DOUBTS.values(), ids=FOOT_DOUBTS)
def test_a_foot_is_doubted_for(doubted, work, columns, cells, doubt):
    drawn = f"visit_id | foot | arrival | work | {columns} \n V1 | LF | bare | {work} | {cells}"
    assert doubted(feet=drawn) == [f"feet.csv row 2: {doubt}: {KEPT}"]


@pytest.mark.parametrize(
    ("lengths", "doubted_rows"),
    [(("0.25", "0.375", "0.5", "0"), [2, 3, 4]), (("6", "0.25", "5", "0.5"), [3]), (("0.4", "0.3", "0", "1"), [2, 3]),
     (("0.4", "5", "3", "0.5"), []), (("1", "2", "-0.25", "-3"), [4]), (("0", "0", "1", ""), [])],
)  # fmt: skip
@pytest.mark.parametrize("column", ["branch_past_heel_mm", "expansion_mm"])
def test_parts_of_a_millimetre_are_kept_and_taken_for_likely_inches(read, column, lengths, doubted_rows):
    feet = zip(("LF", "RF", "LH", "RH"), lengths, strict=True)
    lines = [f"V1 | {foot} | bare | fit_new | {length}" for foot, length in feet]
    records = read(feet="\n".join([f"visit_id | foot | arrival | work | {column}", *lines]))
    assert records.warnings.filter(rule="inches_likely")["source_row"].to_list() == doubted_rows
    assert records.tables["feet"].height == 4
    assert all(f'under [units]: {column} = "in"' in reason for reason in records.warnings["reason"])


USUAL = {
    "no nails, clips or pad on a trimmed foot": (
        "trim", "nails_medial | clips | pad | heel_nails", "0 | none | none | 0",
    ),
    "angles on the edge of the usual": ("fit_new", "angle_arrival_deg | angle_leaving_deg", "40 | 50"),
    "a bruise where it lies": ("fit_new", "bruise_grade | bruise_site", "1 | toe"),
    "a crack where it lies": ("fit_new", "wall_state | wall_side", "cracked | toe"),
}  # fmt: skip


@pytest.mark.parametrize(("work", "columns", "cells"), USUAL.values(), ids=USUAL)
def test_nothing_is_doubted_about(read, work, columns, cells):
    records = read(feet=f"visit_id | foot | arrival | work | {columns} \n V1 | LF | bare | {work} | {cells}")
    assert (records.warnings.height, records.set_aside.height, records.tables["feet"].height) == (0, 0, 1)


def test_of_a_row_that_is_set_aside_no_doubt_is_told(read):
    records = read(
        feet="visit_id | foot | arrival | work | angle_arrival_deg | web_mm \n V1 | LF | bare | fit_new | 39 | 4"
    )
    assert (records.set_aside.height, records.warnings.height) == (1, 0)


def test_a_column_nobody_knows_is_named_and_left_unread(read):
    records = read(feet="visit_id | foot | arrival | work | Farr. remarks | Col7 \n V1 | LF | bare | trim | ok |")
    assert records.warnings["column_name", "reason"].rows() == [
        ("Farr. remarks", 'column "Farr. remarks" is none of the columns of feet and was left unread')
    ]
    assert records.tables["feet"].height == 1
