"""Each rule a row can break by itself: one drawn row that breaks it, and the reason as it is told."""

import pytest

FOOT = "visit_id | foot | arrival | work | {} \n V1 | LF | bare | fit_new | {}"
HORSE = "horse_id | horse_name | discipline | {} \n H1 | Made Up Ash | eventing | {} \n H2 | Made Up Bay | dressage |"
VISIT = """
    visit_id | horse_id | visit_date | visit_kind | {}
    V1       | H1       | 2025-01-01 | routine    | {}
    V2       | H1       | 2025-02-12 | routine    |
    V3       | H2       | 2025-01-02 | first      |
"""

FEET_RULES = {
    "a word that is not in the list": (
        "shoe_style", "clog",
        'shoe_style says "clog", which is no word for it: use one of plain, fullered, rim, wide_web, bar, egg_bar, '
        "heart_bar, rolled_toe, half_round, race_plate, glue_on, other; or teach it in a layout file, under "
        '[words.shoe_style]: "clog" = "one of them"',
    ),
    "a number that is none": (
        "angle_arrival_deg", "steep",
        'angle_arrival_deg says "steep", which is not a number: use 30 to 75 degrees',
    ),
    "a number too low": (
        "angle_arrival_deg", "29.9", "angle_arrival_deg 29.9 is too low: 30 to 75 degrees is allowed",
    ),
    "a number too high": ("toe_leaving_mm", "840", "toe_leaving_mm 840 is too high: 40 to 160 mm is allowed"),
    "a count below nothing": ("nails_medial", "-1", "nails_medial -1 is too low: 0 to 6 is allowed"),
    "half a nail": (
        "nails_medial", "3.5", 'nails_medial says "3.5", which is not a whole number: use 0 to 6',
    ),
    "not a number, spelt as computers do": (
        "web_mm", "NaN", 'web_mm says "NaN", which is not a number: use 5 to 60 mm',
    ),
    "endless": ("web_mm", "inf", 'web_mm says "inf", which is not a number: use 5 to 60 mm'),
    "neither yes nor no": (
        "sole_relief", "maybe", 'sole_relief says "maybe", which is not yes or no; or teach it in a layout file, under '
        '[words.sole_relief]: "maybe" = "yes or no"',
    ),
}  # fmt: skip


@pytest.mark.parametrize(("column", "cell", "reason"), FEET_RULES.values(), ids=FEET_RULES)
def test_a_foot_row_is_set_aside_for(set_aside, column, cell, reason):
    assert set_aside(feet=FOOT.format(column, cell)) == [f"feet.csv row 2: {reason}"]


HORSE_RULES = {
    "hands past 3 inches": (
        "height_hands", "15.5",
        'height_hands says "15.5": use hands and inches like 15.2, the part after the point being 0 to 3',
    ),
    "a year before the oldest horse": ("foaled_year", "1979", "foaled_year 1979 is too low: 1980 or more is allowed"),
    "a year after the record": (
        "foaled_year", "2026",
        "foaled_year 2026 is after the year the record is read as of: 1980 to 2025 is allowed",
    ),
    "a chip with a letter": (
        "microchip", "98510200123456O",
        'microchip says "98510200123456O": a chip number has 15 digits and nothing else',
    ),
    "a chip that lost its leading 0": (
        "microchip", "56098100123456",
        "microchip 56098100123456 has 14 digits and needs 15: a spreadsheet likely dropped a leading 0; keep the "
        "column as text",
    ),
    "a chip a spreadsheet rounded": (
        "microchip", "9.85E+14",
        "microchip 9.85E+14 was shortened by a spreadsheet and not all its digits are there: type all 15 again in a "
        "column kept as text",
    ),
    "a chip rounded and saved as a number": (
        "microchip", "985102000000000",
        "microchip 985102000000000 ends in zeros, as a number does that a spreadsheet rounded: type all 15 digits "
        "again in a column kept as text",
    ),
    "an age for a year": (
        "foaled_year", "12",
        "foaled_year 12 looks like an age, or a year without its century: write the year it was foaled in full, like "
        "2012",
    ),
    "an age in words": (
        "foaled_year", "rising 5",
        'foaled_year says "rising 5": it looks like an age, or a year without its century: write the year it was '
        "foaled in full, like 2012",
    ),
    "a chip beyond 38 bits": (
        "microchip", "985274877906944",
        "microchip 985274877906944 is no chip number: the last 12 digits go up to 274877906943; look for a wrong digit",
    ),
    "a life number too short": (
        "ueln", "276ABC12345",
        'ueln says "276ABC12345": a life number has 15 characters, 3 digits and then digits or capital letters',
    ),
}  # fmt: skip


@pytest.mark.parametrize(("column", "cell", "reason"), HORSE_RULES.values(), ids=HORSE_RULES)
def test_a_horse_is_set_aside_for(set_aside, column, cell, reason):
    told = set_aside(horses=HORSE.format(column, cell), visits=VISIT.format("notes", ""), feet=FOOT.format("pad", ""))
    assert told[0] == f"horses.csv row 2: {reason}"
    assert [line.split(":")[0] for line in told[1:]] == [
        "visits.csv row 2", "visits.csv row 3", "feet.csv row 2", "losses.csv row 2",
    ]  # fmt: skip


VISIT_RULES = {
    "no time at all": ("minutes", "0", "minutes 0 is too low: 1 to 600 minutes is allowed"),
    "a fee below nothing": ("fee", "-5", "fee -5 is too low: 0 or more is allowed"),
    "a plan of a year": ("planned_weeks", "52", "planned_weeks 52 is too high: 1 to 26 weeks is allowed"),
}


@pytest.mark.parametrize(("column", "cell", "reason"), VISIT_RULES.values(), ids=VISIT_RULES)
def test_a_visit_is_set_aside_for(set_aside, column, cell, reason):
    told = set_aside(visits=VISIT.format(column, cell))
    assert told == [
        f"visits.csv row 2: {reason}",
        "feet.csv row 2: visit_id V1 is a visit that is set aside itself (visits.csv row 2): mend that row first",
    ]


def test_a_blank_that_must_be_filled_names_what_may_stand_there(set_aside):
    told = set_aside(
        feet="""
            visit_id | foot | arrival | work
            V1       |      | bare    | fit_new
            V2       | LF   |         |
        """
    )
    assert told == [
        "feet.csv row 2: foot is blank and must be filled in: one of LF, RF, LH, RH",
        "feet.csv row 3: arrival is blank and must be filled in: one of on, sprung, off, bare",
        "feet.csv row 3: work is blank and must be filled in: one of fit_new, reset, trim, take_off, none",
    ]


def test_a_code_of_more_than_64_characters_is_too_long(set_aside):
    told = set_aside(losses=f"loss_id | horse_id | foot | found_off \n {'L' * 65} | H1 | LF | 2025-02-01")
    assert told == ["losses.csv row 2: loss_id is too long: 1 to 64 characters is allowed"]


def test_a_shoe_last_seen_after_it_was_found_off(set_aside):
    told = set_aside(
        losses="""
            loss_id | horse_id | foot | found_off  | last_seen_on
            L1      | H1       | LF   | 2025-02-01 | 2025-02-02
            L2      | H1       | RF   | 2025-02-01 | 2025-02-01
        """
    )
    assert told == [
        "losses.csv row 2: last_seen_on 2025-02-02 is after found_off: the shoe was last seen on before, or the day "
        "it was found off"
    ]


@pytest.mark.parametrize("cell", ["2025-02-30", "31/04/2025", "31 Apr 2025"])
def test_a_day_that_is_in_no_calendar(set_aside, cell):
    told = set_aside(losses=f"loss_id | horse_id | foot | found_off \n L1 | H1 | LF | {cell}")
    assert told == [
        f'losses.csv row 2: found_off says "{cell}", which is not a day of the calendar: use a day written like '
        "2026-03-05"
    ]


def test_every_reason_of_a_row_is_told_and_the_whole_row_is_kept(read):
    found = read(
        feet="""
            visit_id | foot | arrival | work    | web_mm | wear
            V1       | XX   | bare    | fit_new | 4      | even
        """
    ).set_aside
    assert found["column_name", "rule", "value"].rows() == [("foot", "not_in_list", "XX"), ("web_mm", "too_low", "4")]
    whole = '{"visit_id":"V1","foot":"XX","arrival":"bare","work":"fit_new","web_mm":"4","wear":"even"}'
    assert found["row_json"].to_list() == [whole, whole]


def test_spelling_that_leaves_no_doubt_is_taken(read):
    feet = read(
        feet="""
            visit_id | foot | arrival | work    | shoe_style | nails_medial | sole_relief | web_mm
            V1       | lf   | Bare    | Fit new | heart-bar  | 3.0          | TRUE        | +20.
        """
    ).tables["feet"]
    values = feet.select("foot", "arrival", "work", "shoe_style", "nails_medial", "sole_relief", "web_mm").row(0)
    assert values == ("LF", "bare", "fit_new", "heart_bar", 3, True, 20.0)


SUMS = {
    "owes": "write the sum in figures, 0 where nothing was charged, or leave it blank where it is not known",
    "99999999999999999999": "no figure has so many digits: look at it again",
}


@pytest.mark.parametrize(("cell", "why"), SUMS.items(), ids=SUMS)
def test_a_fee_that_is_no_sum_says_what_to_write(set_aside, cell, why):
    told = set_aside(visits=VISIT.format("fee", cell))
    assert told[0] == f'visits.csv row 2: fee says "{cell}": {why}'


def test_a_chip_with_all_its_digits_before_a_power_of_ten_is_read(read):
    horses = HORSE.format("microchip", "9.85102001234567E+14")
    assert read(horses=horses).tables["horses"]["microchip"][0] == "985102001234567"
