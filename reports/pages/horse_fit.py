"""The sections on the fit of one horse's shoes: those it lost beside those it kept, and its hind feet beside fronts."""

from reports.page import Numbers, Section, table
from reports.picking import Row
from reports.wording import figure, many, percent, whole
from schemas.words import ENDS

FEWEST_LOST = 3
FIT = {
    "branch_past_heel_mm": ("Steel behind the heel", " mm"),
    "expansion_mm": ("Shoe outside the wall at the heels", " mm"),
    "nails": ("Nails", ""),
    "heel_nails": ("Nails at the heel", ""),
    "clips": ("With clips", "%"),
    "edges_dressed": ("Edges rounded", "%"),
    "sole_relief": ("Clear of the sole", "%"),
    "wall_unsound": ("Wall not sound", "%"),
    "hind_toe_leaving_mm": ("Toe of the hind foot", " mm"),
    "hind_angle_leaving_deg": ("Angle of the hind foot", "°"),
    "hind_shod": ("Hind foot shod", "%"),
}
WORTH = (
    "“Worth a look” is what lies further apart than chance sets it in 19 of 20 comparisons. Of every 20 things "
    "compared one or more would be named by chance, and what differs need not be what pulled the shoe."
)


def fit(rows: list[Row]) -> Section | None:
    """The fit of the shoes lost beside those kept, front and hind apart; rows: the horse’s own."""
    found = [row for row in rows if not row["fit_measure"].startswith("hind_")]
    if not any(row["lost_shoes"] for row in found):
        return None
    ends = [end for end in ENDS if any(row["lost_shoes"] for row in found if row["end"] == end)]
    tables = [_fit_numbers(f"{end.title()} shoes", [row for row in found if row["end"] == end]) for end in ends]
    return Section(
        "How do the shoes it lost differ from those it kept?",
        _fit_answer(found),
        numbers=tuple(tables),
        notes=(WORTH, "Kept: renewed or taken off at a visit. A shoe that is still on is in neither."),
    )


def hinds(rows: list[Row]) -> Section | None:
    """The hind feet beside the front shoes lost and kept."""
    found = [row for row in rows if row["fit_measure"].startswith("hind_")]
    if not any(row["lost_shoes"] for row in found):
        return None
    return Section(
        "What were its hind feet like when it lost a front shoe?",
        _fit_answer(found),
        numbers=(_fit_numbers("The hind foot on the same side, when the front shoe was nailed on", found),),
        notes=("A front shoe is mostly trodden off from behind (common practice, no source).",),
    )


def _fit_answer(found: list[Row]) -> str:
    lost = max(row["lost_shoes"] for row in found)
    compared = [row for row in found if row["differs"] is not None]
    if not compared:
        return f"{many(lost, 'lost shoe')} with this on record: too few to say what differs, so only the figures stand."
    apart = [_said(row) for row in compared if row["differs"]]
    if not apart:
        return f"Of {many(len(compared), 'thing')} compared none lies further apart than chance often sets it."
    return f"Worth a look, of {many(len(compared), 'thing')} compared: {'; '.join(apart)}."


def _said(row: Row) -> str:
    name, _ = FIT[row["fit_measure"]]
    end = "" if row["fit_measure"].startswith("hind_") else f"{row['end']} shoes, "
    return f"{end}{name[0].lower()}{name[1:]}, {_value(row, 'lost')} lost and {_value(row, 'kept')} kept"


def _fit_numbers(caption: str, found: list[Row]) -> Numbers:
    lines = [
        (
            FIT[row["fit_measure"]][0],
            _value(row, "lost"),
            _value(row, "kept"),
            f"{whole(row['lost_shoes'])} and {whole(row['kept_shoes'])}",
            "Worth a look" if row["differs"] else "",
        )
        for row in found
    ]
    heads = ("What", "Lost", "Kept", "Shoes", "Differs *")
    faint = [place for place, row in enumerate(found) if row["lost_shoes"] < FEWEST_LOST]
    return table(f"{caption}: mean, or share, of lost beside kept", heads, lines, faint)


def _value(row: Row, side: str) -> str:
    value, unit = row[f"{side}_figure"], FIT[row["fit_measure"]][1]
    if value is None:
        return "–"
    return percent(value) if unit == "%" else f"{figure(value)}{unit}"
