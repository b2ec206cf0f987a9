"""Rows of a sheet that are no records of what it is about: totals, and its headers written again."""

import polars as pl

from pipelines.intake.roles import Role
from pipelines.intake.sheet import ROW, Sheet, cell

HEADERS_COMPARED = 4
TOTALS = ("total", "totals", "sum", "sums", "subtotal", "sub total", "grand total", "average", "mean", "count", "all",
          "carried forward", "brought forward", "c/f", "b/f")  # fmt: skip
TOTAL_OF = r"^(?:sub|grand )?totals?\b"
FIGURE = r"^[£$€]?\s*[\d., ]+\s*(?:[£$€]|min|mins|h|km|mm)?$"
ABOUT = {
    "horses": ("horse_id", "horse_name", "discipline"),
    "visits": ("visit_id", "horse_id", "horse_name", "visit_date", "visit_kind"),
    "feet": ("visit_id", "horse_name", "visit_date", "foot", "arrival", "work"),
    "losses": ("loss_id", "horse_id", "horse_name", "foot", "found_off"),
    "changes": ("horse_id", "horse_name", "foot", "changed_on", "what"),
}
"""The columns that say what a record is about; where none of them says anything it is no record."""

LeftOut = list[tuple[str, int, str]]


def records(sheet: Sheet, role: Role) -> tuple[pl.DataFrame, LeftOut]:
    """The rows that are records, and (source, row, why) of each that is left out."""
    if role.canonical or sheet.cells.is_empty():
        return sheet.cells, []
    again = _headers_again(sheet)
    totals = _totals(sheet, role)
    reasons = ((totals, "a row of totals"), (again, "the headers written again"))
    left_out = [(sheet.source, row, why) for rows, why in reasons for row in rows]
    none = sorted({*totals, *again})
    return sheet.cells.filter(~pl.col(ROW).is_in(none)) if none else sheet.cells, left_out


def _headers_again(sheet: Sheet) -> list[int]:
    written = [(at, text) for at, text in enumerate(sheet.header) if text][:HEADERS_COMPARED]
    same = pl.all_horizontal(pl.col(cell(at)).str.strip_chars().fill_null("") == text for at, text in written)
    return sheet.cells.lazy().filter(same).collect()[ROW].to_list()


def _totals(sheet: Sheet, role: Role) -> list[int]:
    """Which rows sum up others: nothing stands where a record says what it is about, and one cell says "total", or
    the last row holds figures alone. A horse may be called Count: its row says more.
    """
    about = [at for at, meant in enumerate(role.columns) if meant and meant.column in ABOUT[role.primary]]
    bare = sheet.cells.with_columns((pl.int_range(pl.len()) == pl.len() - 1).alias("@last"))
    for at in reversed(about):
        said, spellings = _said(at), bare.select(pl.col(cell(at)).unique())
        no_record = (said == "") | said.is_in(TOTALS) | said.str.contains(TOTAL_OF) | said.str.contains(FIGURE)
        spellings = spellings.filter(no_record)
        if spellings.is_empty():
            return []
        bare = bare.join(spellings, on=cell(at), how="semi", nulls_equal=True, maintain_order="left")
    everywhere = [_said(at) for at in _positions(sheet)]
    named = pl.any_horizontal(text.is_in(TOTALS) | text.str.contains(TOTAL_OF) for text in everywhere)
    figures = pl.all_horizontal((text == "") | text.str.contains(FIGURE) for text in everywhere)
    nothing = pl.all_horizontal(_said(at) == "" for at in about)
    return bare.filter(named | (figures & nothing & pl.col("@last")))[ROW].to_list()


def _said(at: int) -> pl.Expr:
    return pl.col(cell(at)).str.to_lowercase().str.strip_chars(" .:=\t").fill_null("")


def _positions(sheet: Sheet) -> list[int]:
    return [at for at in range(len(sheet.header)) if cell(at) in sheet.cells.columns]
