"""What was found on rows, told by table and rule: how many, an example or two, and what else is like them."""

from collections.abc import Iterator

import polars as pl

from schemas.exports import EXPORT_TABLES

KNOCK_ON = ("visit_set_aside", "horse_set_aside")
"""Rules of rows that are set aside only for a row they belong to."""
MOST_EXAMPLES = 4
MOST_OTHERS = 6
LONGEST_VALUE = 40
HERE_TOO = "to be mended here too"
"""How the reason ends of a row that finds the row it belongs to by what both say."""
ROW = ["table_name", "source_file", "source_row", "row_json"]
ORDER = {name: at for at, name in enumerate(("none", "", *EXPORT_TABLES))}


def many(count: int, what: str) -> str:
    """A number of things, as said: "1 row", "2,000 rows"."""
    return f"{count:,} {what}" + ("" if count == 1 else "s")


def rows_of(findings: pl.DataFrame) -> int:
    """How many rows anything was found on, counted for each table as in the account."""
    return findings.select(ROW).n_unique()


def summed_up(findings: pl.DataFrame) -> Iterator[str]:
    """Lines for a person: each table and rule with its rows and examples; rows that only follow another in one line."""
    own = findings.filter(~pl.col("rule").is_in(KNOCK_ON))
    groups = [(key, part) for key, part in own.group_by("table_name", "rule", maintain_order=True)]
    for (table, rule), part in sorted(groups, key=lambda group: (ORDER[group[0][0]], -rows_of(group[1]))):
        name = "" if table in ("", "none") else f"{table}, "
        yield f"  {name}{rule}: {many(rows_of(part), 'row')}"
        yield from _examples(part)
    following = findings.join(own, on=ROW, how="anti", nulls_equal=True)
    for (table,), part in following.group_by("table_name", maintain_order=True):
        parents = " or ".join(rule.partition("_")[0] for rule in KNOCK_ON if rule in part["rule"])
        told_by_name = part.filter(pl.col("reason").str.ends_with(HERE_TOO))
        here_too = (
            f"; a {_named_by(told_by_name)} mended there must be mended on these rows too"
            if told_by_name.height
            else ""
        )
        yield (
            f"  {table}, only because their {parents} is set aside: {many(rows_of(part), 'row')}; "
            f"with that {parents} mended they come in{here_too}"
        )


def _named_by(following: pl.DataFrame) -> str:
    return "name, yard, day or farrier" if "visit_set_aside" in following["rule"] else "name or yard"


def _examples(part: pl.DataFrame) -> Iterator[str]:
    """The most frequent cell of each column, or two of one column, by its first row; the other cells by name."""
    kinds = part.group_by("column_name", "value", maintain_order=True).agg(
        pl.col("source_file", "source_row", "reason").first(), pl.struct(ROW).n_unique().alias("rows")
    )
    kinds = kinds.sort("rows", descending=True, maintain_order=True)
    a_column = 1 if kinds["column_name"].n_unique() > 1 else 2
    kinds = kinds.with_columns((pl.int_range(pl.len()).over("column_name") < a_column).alias("shown"))
    kinds = kinds.with_columns(shown=pl.col("shown") & (pl.col("shown").cum_sum() <= MOST_EXAMPLES))
    for kind in kinds.filter("shown").iter_rows(named=True):
        like_it = f" ({many(kind['rows'] - 1, 'more row')} like it)" if kind["rows"] > 1 else ""
        yield f"    {kind['source_file']} row {kind['source_row']}: {kind['reason']}{like_it}"
    others = kinds.filter(~pl.col("shown"))
    if others.height:
        named = [
            _cell(*cell)
            for cell in others.select("column_name", "value", "source_row", "rows").head(MOST_OTHERS).rows()
        ]
        more = f"; {others.height - MOST_OTHERS:,} other cells" if others.height > MOST_OTHERS else ""
        yield f"    also {'; '.join(named)}{more}"


def _cell(column: str | None, value: str | None, row: int, rows: int) -> str:
    said = " ".join((value or "").split())
    said = f'"{said[:LONGEST_VALUE]}{"…" if len(said) > LONGEST_VALUE else ""}"' if said else "blank"
    return f"{column or 'line'} {said} (row {row}" + (f" and {rows - 1:,} more)" if rows > 1 else ")")
