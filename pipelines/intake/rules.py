"""The rules one row can break by itself, taken from the declared columns, and the doubts it can raise."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache

import polars as pl

from pipelines.intake.saying import allowed, span
from pipelines.intake.spellings.numbers import AN_AGE
from schemas import words
from schemas.exports import EXPORT_TABLES
from schemas.fields import Meaning

LARGEST_CHIP_BODY = 274_877_906_943  # 38 bits, ISO 11784
LARGEST_ANGLE_STEP_DEG = 10
SHOE_DETAILS = (
    "shoe_style", "shoe_material", "web_mm", "thickness_mm", "branch_past_heel_mm", "expansion_mm", "nails_medial",
    "nails_lateral", "heel_nails", "nail_line", "clips", "pad", "fitting", "edges_dressed", "sole_relief",
)  # fmt: skip
NOTHING = {"nails_medial": 0, "nails_lateral": 0, "heel_nails": 0, "clips": "none", "pad": "none"}


@dataclass(frozen=True)
class Rule:
    """bad: true where a typed row breaks the rule. says: the reason, {} standing for the cell as it was found."""

    name: str
    column: str
    bad: pl.Expr
    says: str


@cache
def rules_of(table_name: str) -> list[Rule]:
    """Every rule that sets a row of this table aside by itself, save what cannot be read at all."""
    table = EXPORT_TABLES[table_name]
    required = [_required(name, table.columns()[name]) for name in table.required()]
    limits = [rule for name, meaning in table.columns().items() for rule in limits_of(name, meaning)]
    return [*required, *limits, *OWN_RULES.get(table_name, [])]


@cache
def doubts_of(table_name: str) -> list[Rule]:
    """Every rule that has a row of this table accepted and named."""
    columns = EXPORT_TABLES[table_name].columns()
    return [*(rule for name, meaning in columns.items() for rule in _doubts(name, meaning)), *OWN_DOUBTS[table_name]()]


def foaled_after(year: int) -> Rule:
    """A horse born after the year the record is read as of."""
    limits = span(EXPORT_TABLES["horses"].columns()["foaled_year"].low, year)
    says = f"foaled_year {{}} is after the year the record is read as of: {limits} is allowed"
    return Rule("too_high", "foaled_year", pl.col("foaled_year") > year, says)


def _required(name: str, meaning: Meaning) -> Rule:
    what = allowed(meaning)
    return Rule(
        "required", name, pl.col(name).is_null(), f"{name} is blank and must be filled in" + (what and f": {what}")
    )


def limits_of(name: str, meaning: Meaning) -> Iterator[Rule]:
    """The rules that one cell of a column can break, whatever else its row says."""
    value, may_be = pl.col(name), f": {allowed(meaning)} is allowed"
    if name == "foaled_year":
        yield Rule("too_low", name, value < 100, f"{name} {{}} {AN_AGE}")
        value = pl.when(value >= 100).then(value)
    if meaning.low is not None:
        yield Rule("too_low", name, value < meaning.low, f"{name} {{}} is too low{may_be}")
    if meaning.high is not None:
        yield Rule("too_high", name, value > meaning.high, f"{name} {{}} is too high{may_be}")
    if meaning.longest is not None:
        yield Rule("too_long", name, value.str.len_chars() > meaning.longest, f"{name} is too long{may_be}")
    if meaning.pattern is not None:
        yield from PATTERN_RULES[name](meaning)


def _height(meaning: Meaning) -> Iterator[Rule]:
    says = 'height_hands says "{}": use hands and inches like 15.2, the part after the point being 0 to 3'
    yield Rule("wrong_form", "height_hands", ~pl.col("height_hands").str.contains(meaning.pattern), says)


def _microchip(meaning: Meaning) -> Iterator[Rule]:
    chip = pl.col("microchip")
    short, power = chip.str.contains(r"^[0-9]{14}$"), chip.str.contains(r"^[0-9][.,][0-9]+[eE]\+?[0-9]+$")
    name = "microchip"
    yield Rule(
        "wrong_form", name, ~chip.str.contains(meaning.pattern) & ~short & ~power,
        'microchip says "{}": a chip number has 15 digits and nothing else',
    )  # fmt: skip
    yield Rule(
        "wrong_form", name, short,
        "microchip {} has 14 digits and needs 15: a spreadsheet likely dropped a leading 0; keep the column as text",
    )  # fmt: skip
    yield Rule(
        "wrong_form", name, power,
        "microchip {} was shortened by a spreadsheet and not all its digits are there: type all 15 again in a column "
        "kept as text",
    )  # fmt: skip
    yield _rounded(name)
    body = chip.str.slice(3).cast(pl.Int64, strict=False)
    yield Rule(
        "wrong_form", name, chip.str.contains(meaning.pattern) & (body > LARGEST_CHIP_BODY),
        f"microchip {{}} is no chip number: the last 12 digits go up to {LARGEST_CHIP_BODY}; look for a wrong digit",
    )  # fmt: skip


def _rounded(name: str) -> Rule:
    """Six zeros at the end are one number in a million, and what is left of 9.85102E+14 once saved as a number."""
    says = (
        f"{name} {{}} ends in zeros, as a number does that a spreadsheet rounded: type all 15 digits again in a column "
        "kept as text"
    )
    return Rule("wrong_form", name, pl.col(name).str.contains(r"^[0-9]{9}0{6}$"), says)


def _ueln(meaning: Meaning) -> Iterator[Rule]:
    yield _rounded("ueln")
    says = 'ueln says "{}": a life number has 15 characters, 3 digits and then digits or capital letters'
    yield Rule("wrong_form", "ueln", ~pl.col("ueln").str.contains(meaning.pattern), says)


PATTERN_RULES: dict[str, Callable[[Meaning], Iterator[Rule]]] = {
    "height_hands": _height,
    "microchip": _microchip,
    "ueln": _ueln,
}

OWN_RULES = {
    "losses": [
        Rule(
            "seen_after_found",
            "last_seen_on",
            pl.col("last_seen_on") > pl.col("found_off"),
            "last_seen_on {} is after found_off: the shoe was last seen on before, or the day it was found off",
        )
    ]
}


def _doubts(name: str, meaning: Meaning) -> Iterator[Rule]:
    """A value inside the hard limits and beyond the usual ones."""
    low, high, value = meaning.doubt_below, meaning.doubt_above, pl.col(name)
    if low is None and high is None:
        return
    says = f"{name} {{}} is unusual, mostly it is {span(low, high, meaning.unit)}: the row is kept, look again"
    yield Rule("unusual_value", name, (value < low) | (value > high), says)


def _horse_doubts() -> list[Rule]:
    chip, ueln = pl.col("microchip"), pl.col("ueln")
    no_country = ueln.str.contains(r"^[0-9]{3}") & ~ueln.str.slice(0, 3).is_in(list(words.COUNTRY_NUMBERS))
    return [
        Rule(
            "test_chip", "microchip", chip.str.starts_with("999"), "microchip {} starts with 999, a maker's test code"
        ),
        *(_one_number_two_horses(name) for name in ("microchip", "ueln")),
        Rule("unknown_country", "ueln", no_country, "ueln {} starts with no country's number (ISO 3166): look again"),
    ]


def _one_number_two_horses(name: str) -> Rule:
    """A chip or life number belongs to one horse for life: renamed, moved, or a number copied to the wrong row."""
    several = pl.col("horse_id").n_unique().over(name) > 1
    says = (
        f"{name} {{}} stands at more than one horse: if it is one that was renamed or moved, give its rows one "
        "horse_id or say so in a layout file under [horses]; if not, look for the wrong number"
    )
    return Rule("one_number_two_horses", name, pl.col(name).is_not_null() & several, says)


def _feet_doubts() -> list[Rule]:
    nails = pl.col("nails_medial") + pl.col("nails_lateral")
    any_nail = pl.any_horizontal(pl.col("nails_medial", "nails_lateral", "heel_nails").fill_null(0) > 0)
    unshod = pl.col("work").is_in(["trim", "take_off", "none"])
    no_bruise = pl.col("bruise_site").is_not_null() & (pl.col("bruise_grade").fill_null(0) == 0)
    sound = pl.col("wall_side").is_not_null() & (pl.col("wall_state") == "sound")
    step = (pl.col("angle_leaving_deg") - pl.col("angle_arrival_deg")).abs()
    kept = "the row is kept, look again"
    return [
        Rule("do_not_agree", "heel_nails", pl.col("heel_nails") > nails,
             f"heel_nails {{}} is more than nails_medial and nails_lateral together: {kept}"),
        Rule("do_not_agree", "shoe_style", any_nail & (pl.col("shoe_style") == "glue_on"),
             f"shoe_style is glue_on and nails are counted too: {kept}"),
        Rule("do_not_agree", "work", unshod & _any_shoe_detail(),
             f"work is {{}} and details of a shoe nailed on are given too: {kept}"),
        Rule("do_not_agree", "bruise_site", no_bruise,
             f"bruise_site is {{}} and bruise_grade names no bruise: {kept}"),
        Rule("do_not_agree", "wall_side", sound, f"wall_side is {{}} and wall_state is sound: {kept}"),
        *map(_parts_of_a_millimetre, ("branch_past_heel_mm", "expansion_mm")),
        Rule("big_step", "angle_leaving_deg", step > LARGEST_ANGLE_STEP_DEG,
             f"angle_leaving_deg {{}} is more than {LARGEST_ANGLE_STEP_DEG} degrees from angle_arrival_deg: {kept}"),
    ]  # fmt: skip


def _parts_of_a_millimetre(name: str) -> Rule:
    """Nobody measures steel in eighths of a millimetre, nor most of it in less than one: inches were meant."""
    size = pl.col(name).abs()
    eighths = ((8 * size) % 1 == 0) & (size != 0.5)
    bad = size.is_between(0, 1, closed="none") & (eighths | (size.filter(size > 0).median() < 1))
    says = (
        f"{name} {{}} is less than a millimetre, and kept so: if it is in inches, write it with its unit, or say in a "
        f'layout file under [units]: {name} = "in"'
    )
    return Rule("inches_likely", name, bad, says)


def _any_shoe_detail() -> pl.Expr:
    """Whether anything is said of a new shoe; no nails, no clips and no pad say nothing."""
    said = [pl.col(name).is_not_null() & (pl.col(name) != NOTHING[name]) for name in NOTHING]
    return pl.any_horizontal(*said, *(pl.col(name).is_not_null() for name in SHOE_DETAILS if name not in NOTHING))


OWN_DOUBTS: dict[str, Callable[[], list[Rule]]] = {
    "horses": _horse_doubts,
    "visits": list,
    "feet": _feet_doubts,
    "losses": list,
    "changes": list,
}
