"""Text cells of CSV files that people open with a spreadsheet: none of them is run as a formula.

The rule, which can be turned back: a text cell whose first character, spaces and quotes aside, is one of `= + - @`, a
tab, a line end or one of their full-width forms gets an apostrophe in front, and so does one that starts with an
apostrophe. The same holds behind each semicolon, tab or line end within a text, since a spreadsheet that is told to
part cells there begins a new one. To read it back, one apostrophe at the start of a text cell and behind each
semicolon, tab and line end is dropped. Numbers, dates and yes/no are written as they are.
"""

import polars as pl

RULE = (
    "A text cell that a spreadsheet could run as a formula, or that starts with an apostrophe, has an apostrophe put "
    "in front, and so has what stands behind a semicolon, a tab or a line end within a text; drop one apostrophe at "
    "each of these places to read it back."
)
PARTS = r"[;\t\r\n]"  # a spreadsheet may be told to begin a new cell behind these
STARTS_FORMULA = rf"(^|{PARTS})((?:\"|[^\S\t\r\n])*[=+\-@＝＋－＠'])"


def neutral(cell: pl.Expr) -> pl.Expr:
    """Text that no spreadsheet runs."""
    parted = cell.str.replace_all(STARTS_FORMULA, "${1}'${2}")
    return pl.when(~cell.str.contains(r"^[\t\r\n]")).then(parted).otherwise(pl.concat_str(pl.lit("'"), parted))


def as_cells(table: pl.DataFrame) -> pl.DataFrame:
    """The table as it is to be written: texts neutral, yes/no as words."""
    texts = [neutral(pl.col(name)).alias(name) for name, kind in table.schema.items() if kind == pl.String]
    answers = [
        pl.when(pl.col(name)).then(pl.lit("yes")).when(~pl.col(name)).then(pl.lit("no")).alias(name)
        for name, kind in table.schema.items()
        if kind == pl.Boolean
    ]
    return table.with_columns(*texts, *answers)


def as_it_was(cell: pl.Expr) -> pl.Expr:
    """Text as it was before `neutral`."""
    return cell.str.replace_all(rf"(^|{PARTS})'", "${1}")
