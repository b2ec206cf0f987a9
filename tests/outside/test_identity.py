"""Facts about horses' heights, chips and life numbers, set down outside this project, held against the rules."""

import polars as pl
import pytest

from pipelines.intake.rules import rules_of
from schemas import words
from schemas.exports import Horses

INCH_CM = 2.54  # exactly, by the international agreement of 1959


def breaks_a_rule(**cells: str) -> bool:
    typed = pl.DataFrame({name: [cells.get(name)] for name in Horses.columns()}, schema=Horses.dtypes())
    rules = [rule for rule in rules_of("horses") if rule.column in cells]
    assert rules
    return any(typed.select(rule.bad.fill_null(False)).item() for rule in rules)


# A hand is 4 inches; the digit after the point counts inches. 14.2 hands is the usual line between pony and horse:
# 147.3 or 148 cm in rule books. From memory; the arithmetic is by definition.
@pytest.mark.parametrize(("hands", "cm"), [("14.2", 147.3), ("15.2", 157.5), ("16.0", 162.6), ("16", 162.6)])
def test_a_height_in_hands_is_hands_and_inches_not_tenths(hands, cm):
    whole, _, inches = hands.partition(".")
    assert round((int(whole) * 4 + int(inches or 0)) * INCH_CM, 1) == cm
    assert not breaks_a_rule(height_hands=hands)


@pytest.mark.parametrize("hands", ["14.4", "15.5", "15.9", "15.10", "15.2hh"])
def test_there_is_no_fourth_inch_in_a_hand(hands):
    assert breaks_a_rule(height_hands=hands)


# ISO 11784: 64 bits, of which 10 for the country or maker and 38 for the animal: 2**38 - 1 = 274,877,906,943 is the
# greatest code of an animal, printed as 12 digits after the 3 of the country. The limit is derived from the 38 bits.
def test_the_last_12_digits_of_a_chip_fit_38_bits():
    assert 2**38 - 1 == 274_877_906_943
    assert not breaks_a_rule(microchip="985274877906943")
    assert breaks_a_rule(microchip="985274877906944")


# ISO 11784 as printed by readers: 15 digits, no check digit, no letters; a country below 100 begins with 0
# (056 Belgium, ISO 3166), which a spreadsheet drops from a number.
@pytest.mark.parametrize("chip", ["56098100123456", "9851020012345678", "985-10200123456", "98510200123456X"])
def test_a_chip_has_15_digits(chip):
    assert not breaks_a_rule(microchip="056098100123456")
    assert breaks_a_rule(microchip=chip)


# Universal equine life number: 15 characters, 3 of the country (ISO 3166 numeric), 3 of the data base, 9 of the
# animal; digits and capital letters. Source: ueln.net, "What is UELN".
@pytest.mark.parametrize("ueln", ["276431234567890", "528003ABC123456", "826000A00000001"])
def test_a_life_number_of_the_published_form_is_accepted(ueln):
    assert not breaks_a_rule(ueln=ueln)
    assert ueln[:3] in words.COUNTRY_NUMBERS


@pytest.mark.parametrize("ueln", ["27643123456789", "2764312345678901", "DEU431234567890", "276 43123456789"])
def test_a_life_number_of_another_form_is_not(ueln):
    assert breaks_a_rule(ueln=ueln)


# ISO 3166-1 numeric: 276 Germany, 528 Netherlands, 826 United Kingdom, 840 United States, 372 Ireland, 250 France,
# 036 Australia; 249 countries in force and 15 withdrawn ones with a number of their own in Debian's iso-codes 4.15.
def test_the_country_numbers_are_those_of_iso_3166():
    assert {"276", "528", "826", "840", "372", "250", "036"} <= words.COUNTRY_NUMBERS
    assert len(words.COUNTRY_NUMBERS) == 249 + 15
    assert not {"000", "999", "985", "900"} & words.COUNTRY_NUMBERS
