"""Text cells of CSV files that people open with a spreadsheet: none of them is run as a formula.

The rule, which can be turned back: a text cell whose first character, spaces aside, is one of `= + - @`, a tab, a line
end or one of their full-width forms gets an apostrophe in front, and so does one that starts with an apostrophe. To
read it back, one apostrophe at the start of a text cell is dropped. Numbers, dates and yes/no are written as they are.
"""

import polars as pl

RULE = (
    "A text cell that a spreadsheet could run as a formula, or that starts with an apostrophe, has an apostrophe put "
    "in front; drop one apostrophe at the start of a text cell to read it back."
)
STARTS_FORMULA = r"^\s*[=+\-@＝＋－＠']|^[\t\r\n]"


def neutral(cell: pl.Expr) -> pl.Expr:
    """Text that no spreadsheet runs."""
    return pl.when(~cell.str.contains(STARTS_FORMULA)).then(cell).otherwise(pl.concat_str(pl.lit("'"), cell))


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
    return cell.str.strip_prefix("'")
