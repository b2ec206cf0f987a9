"""What a layout file says and nothing in the export meets: most likely it is spelt otherwise there."""

from collections.abc import Collection, Iterable, Iterator
from difflib import get_close_matches

import polars as pl

from pipelines.intake.headers import REASONS_HEADER, foot_and_rest, normal
from pipelines.intake.practice import Practice, key_of
from pipelines.intake.sheet import HIDDEN, Sheet
from schemas.exports import EXPORT_TABLES
from schemas.ledger import Findings
from schemas.synonyms import plain

Tables = dict[str, pl.DataFrame]
Entry = tuple[int, str, str, str]
"""Line, rule, what is named and what is said of it."""
NEAR = 0.8
RULES = ("header_not_found", "word_not_found", "column_not_found", "horse_not_found", "sheet_not_found")


def unmet(practice: Practice, sheets: list[Sheet], tables: Tables, known: Collection[str]) -> list[pl.DataFrame]:
    """A finding for each entry of the layout file that nothing meets, in order of its lines, none of them twice.

    sheets: of the export, tables: their rows as text before keys are made. known: horses that the store holds.
    Rows that came back from a report stand under declared names and need not meet anything: nothing is said of them.
    """
    if not practice.called or all(REASONS_HEADER in map(normal, sheet.header) for sheet in sheets if sheet.header):
        return []
    found = [
        *_headers(practice, sheets),
        *_words(practice, tables),
        *_columns(practice, tables),
        *_horses(practice, tables, known),
        *_sheets(practice, sheets),
    ]
    lines = [
        ("none", practice.called, line, rule, named, None, says, "{}")
        for line, rule, named, says in sorted(dict.fromkeys(found))
    ]
    return [pl.DataFrame(lines, schema=Findings.dtypes(), orient="row")] if lines else []


def _headers(practice: Practice, sheets: list[Sheet]) -> Iterator[Entry]:
    there = {said: text for sheet in sheets for text in sheet.header for said in (normal(text), plain(text)) if said}
    by_foot = {f"{foot.lower()} {rest}": text for said, text in there.items() for foot, rest in foot_and_rest(said)}
    there |= {rest: rest for said in list(there) for _, rest in foot_and_rest(said)}
    for own in practice.written.get("headers", {}):
        if plain(own) not in there:
            says = f'no sheet has a header "{own}"{_nearest(own, {**by_foot, **there})}'
            yield practice.line("headers", own), "header_not_found", own, says


def _words(practice: Practice, tables: Tables) -> Iterator[Entry]:
    for column, own in practice.written.get("words", {}).items():
        there = {plain(text): text.strip() for text in _cells(tables, column)}
        for word in own if there else ():
            if plain(word) not in there:
                says = f'no cell of {column} says "{word}"{_nearest(word, there)}'
                yield practice.line(f"words.{column}", word), "word_not_found", word, says


def _columns(practice: Practice, tables: Tables) -> Iterator[Entry]:
    """Parts about a column that no sheet has: words and units need its cells, a default needs rows of its table."""
    named = [("words", column, "its words are not used") for column in practice.words]
    named += [("units", column, "its unit is not used") for column in practice.units]
    for part, column, so in named:
        if not _cells(tables, column):
            yield practice.line(part, column), "column_not_found", column, f"no sheet has anything under {column}: {so}"
    for horse, column in practice.written.get("horses", {}).get("apart", []):
        if not _cells(tables, column):
            says = f"no sheet has anything under {column}: it cannot tell two horses apart"
            yield practice.line("horses", horse), "column_not_found", column, says
    for column in practice.defaults:
        homes = [name for name, table in EXPORT_TABLES.items() if column in table.columns()]
        if all(tables[name].is_empty() for name in homes):
            says = f"{column} belongs to {' or '.join(homes)}, of which no row was read"
            yield practice.line("defaults", column), "column_not_found", column, says


def _horses(practice: Practice, tables: Tables, known: Collection[str]) -> Iterator[Entry]:
    there = {**{name: name for name in known}, **_names(tables)}
    part = practice.written.get("horses", {})
    for group in [*part.get("same", []), *([horse] for horse, _ in part.get("apart", []))]:
        keys = {key_of(name) for name in group}
        others = {key: said for key, said in there.items() if key not in keys}
        for name in group:
            if key_of(name) not in there:
                of_the_name = {
                    key: said for key, said in others.items() if key.split(",")[0] == key_of(name).split(",")[0]
                }
                way_out = (
                    _nearest(name, of_the_name)
                    or _nearest(name, others)
                    or ': write its name and yard, like "bramble, low yard"'
                )
                says = f'no row is about a horse "{name}"{way_out}'
                yield practice.line("horses", name), "horse_not_found", name, says


def _sheets(practice: Practice, sheets: list[Sheet]) -> Iterator[Entry]:
    there = {plain(name): name for sheet in sheets for name in (sheet.file, sheet.source, sheet.name)}
    for own in practice.left_out:
        if plain(own) not in there:
            yield (
                practice.line("sheets", own),
                "sheet_not_found",
                own,
                f'no sheet is called "{own}"{_nearest(own, there)}',
            )


def _names(tables: Tables) -> dict[str, str]:
    """Each name and yard that a row is about, as the layout file has it: plain, and as a person reads it."""
    names: dict[str, str] = {}
    for part in tables.values():
        for name, yard in (("horse_name", "yard"), (HIDDEN + "horse_name", HIDDEN + "yard")):
            if name in part.columns:
                pairs = part.select(name, yard if yard in part.columns else pl.lit(None).alias(yard)).unique()
                names |= {key_of(said): said for row in pairs.rows() if (said := ", ".join(_written(row)))}
    return names


def _written(cells: Iterable[str | None]) -> list[str]:
    return [" ".join(text.split()) for text in cells if text and text.strip()]


def _cells(tables: Tables, column: str) -> list[str]:
    """Every spelling of a column's cells with anything written in it."""
    parts = [part[name] for part in tables.values() for name in (column, HIDDEN + column) if name in part.columns]
    texts = (text for part in parts for text in part.drop_nulls().unique())
    return sorted({text for text in texts if text.strip()})


def _nearest(said: str, there: dict[str, str]) -> str:
    near = get_close_matches(plain(said), there, 1, NEAR)
    return f'; the nearest is "{there[near[0]]}"' if near else ""
