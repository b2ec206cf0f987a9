"""The section on what goes with lost shoes: all factors together."""

from reports.charts.loss_factors import Ratio, loss_factors
from reports.page import Numbers, Section, table
from reports.picking import NOT_RECORDED, Results, Row, known, rows
from reports.wording import figure, level_name, many, plain, sentence, span, whole

MOST_NAMED = 4
FACTORS = {
    "discipline": "Work",
    "end": "Front or hind",
    "branch_past_heel_mm": "Steel behind the heel",
    "wall_state": "Hoof wall",
    "hind_shod": "Hind foot, same side",
    "hind_toe_leaving_mm": "Hind toe, same side",
    "hind_angle_leaving_deg": "Hind angle, same side",
    "season": "Season of nailing",
    "turnout": "Turnout",
    "nails_total": "Nails in all",
    "heel_nails": "Nails at the heel",
    "edges_dressed": "Edges rounded",
    "clips": "Clips",
    "pad": "Pad",
    "fitting": "Fitting",
    "nail_line": "Line of the clinches",
    "sole_relief": "Clear of the sole",
    "shoe_style": "Style of the shoe",
    "shoe_material": "Material",
    "handling": "How the horse stands",
    "wall_side": "Side of a poor wall",
    "nails_on_unsound_side": "Nails on a poor wall",
    "farrier": "Farrier",
    "days_late": "Planned date",
    "ground": "Ground",
}
# Shorter, for the picture: the ratio of a measure has its step written behind it.
MEASURES = {
    "branch_past_heel_mm": "Steel behind heel",
    "hind_toe_leaving_mm": "Hind toe",
    "hind_angle_leaving_deg": "Hind angle",
    "nails_on_unsound_side": "Nails, poor wall",
}
HANDLING = {"1": "easy", "2": "fairly easy", "3": "middling", "4": "hard", "5": "not safe to finish"}
BY_PACE, FARRIER = "branch_by_pace", "farrier"
UNSHOWN = (FARRIER, BY_PACE)
OTHER, TAKEN_TOGETHER = "other", "the others together"
COUNTED_WITH_OTHER = "counted with other"
TOGETHER = (
    "Each ratio is taken with all the others held equal, and its range allows for shoes of one horse going together. "
    "Within the horse: the same from comparing each horse’s shoes only with its own, which leaves out all that differs "
    "between horses. What goes together need not be the cause."
)
SET_TO_THE_MIDDLE = (
    "With few horses a plain ratio is mostly a little off to one side, so ratios are set to come out too high as often "
    "as too low over many records like this one."
)
FARRIERS = "The farrier is held equal too, but has no line here: farriers see different horses and are never compared."


def together(results: Results) -> Section:
    """All factors in one model."""
    every = rows(results, "loss_factors")
    pooled = {row["factor"] for row in every if (row["note"] or "").endswith(COUNTED_WITH_OTHER)}
    found = [_pool_named(held(row), pooled) for row in every if row["factor"] not in UNSHOWN]
    farriers = [row for row in every if row["factor"] == FARRIER]
    told = known(found, "low")
    drawn = [row for row in told if row["level"] != NOT_RECORDED]
    return Section(
        "What goes with losing a shoe, all taken together?",
        _answer(told),
        (loss_factors(_ratios(drawn)),) if drawn else (),
        (_numbers(found),) if found else (),
        (*_held_equal(found), *_without([*found, *farriers]), *_farriers(farriers)) if found else (),
    )


def _pool_named(row: Row, pooled: set[str]) -> Row:
    """Levels too rare to stand alone, taken together, by a name that no level of the practice's own can have."""
    if row["level"] == OTHER and row["factor"] in pooled:
        return row | {"level": TAKEN_TOGETHER}
    note = row["note"] or ""
    return row | {"note": note.replace(COUNTED_WITH_OTHER, "counted with the others together") or None}


def _held_equal(found: list[Row]) -> tuple[str, ...]:
    """How to read a ratio, where there is one."""
    if not known(found, "rate_ratio"):
        return ()
    return (TOGETHER, SET_TO_THE_MIDDLE) if known(found, "ratio_median_unbiased") else (TOGETHER,)


def _farriers(found: list[Row]) -> tuple[str, ...]:
    return (FARRIERS,) if known(found, "rate_ratio") else ()


def _answer(told: list[Row]) -> str:
    if not told:
        return "Too few shoes have been lost to weigh one thing against another."
    sure = sorted((row for row in told if leaves_out_one(row)), key=lambda row: row["p_value"])
    expected = f"about {whole(len(told) / 20)}" if len(told) >= 20 else "fewer than one" if len(told) < 15 else "one"
    text = (
        f"{whole(len(sure)) if sure else 'None'} of {many(len(told), 'ratio')} {'has' if len(sure) == 1 else 'have'} a "
        f"likely range that leaves out 1; were there nothing to find, {expected} would by chance alone."
    )
    named = [_said(row) for row in sure if row["level"] != NOT_RECORDED][:MOST_NAMED]
    return f"{text} Clearest: {'; '.join(named)}." if named else text


def held(row: Row) -> Row:
    """The row with what holds where horses are few: limits from leaving each out, a ratio set to the middle."""
    if row.get("low_left_out") is None:
        return row
    middle = row.get("ratio_median_unbiased")
    ratio = {} if middle is None else {"rate_ratio": middle}
    return row | ratio | {"low": row["low_left_out"], "high": row["high_left_out"]}


def leaves_out_one(row: Row) -> bool:
    """Whether the likely range of a ratio lies wholly on one side of 1."""
    return row["low"] > 1 or row["high"] < 1


def _said(row: Row) -> str:
    name = FACTORS[row["factor"]].lower()
    likely = span(row["low"], row["high"])
    beside = "" if row["level"].startswith("per ") else f" beside “{_reference(row)}”"
    return f"{name}, “{_level(row)}”: {figure(row['rate_ratio'])} times the rate{beside} (likely {likely})"


def _level(row: Row) -> str:
    level = row["level"]
    if level == TAKEN_TOGETHER:
        return level
    if level.startswith("per "):
        return f"{level[4:]} more"
    if row["factor"] == "handling":
        return HANDLING.get(level, level)
    return level_name(row["factor"], level).lower() if row["factor"] == "discipline" else plain(level).lower()


def _reference(row: Row) -> str:
    reference = row["reference"] or ""
    return _level({**row, "level": reference}) if reference else "–"


def _ratios(drawn: list[Row]) -> list[Ratio]:
    """One line a row; a measure stands alone, levels stand under the name of their factor and what it is set beside."""
    ratios = []
    for row in drawn:
        name = FACTORS[row["factor"]]
        alone = row["level"].startswith("per ") or row["level"] == "yes"
        group = "" if alone else f"{name}, beside {_reference(row)}"
        written = _alone(row) if alone else plain(_level(row))
        figures = (row["rate_ratio"], row["low"], row["high"], row["within_horse_ratio"], row["losses"], row["shoes"])
        ratios.append(Ratio(group, written, *figures))
    return ratios


def _alone(row: Row) -> str:
    """A measure with the step of its ratio: `per 5 mm` → `Hind toe, +5 mm`; a yes beside a no by its name."""
    name = FACTORS[row["factor"]]
    if row["level"] == "yes":
        return name
    step = row["level"].removeprefix("per ").replace(" degree", "°").replace(" nail", "")
    return f"{MEASURES.get(row['factor'], name)}, +{step}"


def _without(found: list[Row]) -> tuple[str, ...]:
    left = [(row["factor"], row["note"]) for row in found if (row["note"] or "").startswith("left out: ")]
    if not left:
        return ()
    told = [f"{FACTORS[factor].lower()} ({note.removeprefix('left out: ')})" for factor, note in left]
    return (f"Left out: {'; '.join(told)}.",)


def _numbers(found: list[Row]) -> Numbers:
    heads = ("What", "Level *", "Beside *", "Ratio", "Likely", "Within the horse", "Likely", "Lost", "Shoes", "Note *")
    faint = (place for place, row in enumerate(found) if row["rate_ratio"] is None)
    return table("Ratios of loss rates, all factors together", heads, [_line(row) for row in found], faint)


def _line(row: Row) -> tuple[str, ...]:
    is_reference = row["note"] == "reference"
    return (
        FACTORS[row["factor"]],
        _level(row) if row["level"] != "all" else "–",
        "–" if is_reference else _reference(row),
        figure(row["rate_ratio"]),
        span(row["low"], row["high"]),
        figure(row["within_horse_ratio"]),
        span(row["within_low"], row["within_high"]),
        whole(row["losses"]),
        whole(row["shoes"]),
        "Set beside." if is_reference else sentence(row["note"]),
    )
