"""Reasons in the words of the person who has to mend the row: their own header, the foot, and how to teach a word."""

import re
from collections.abc import Iterable
from difflib import get_close_matches

import polars as pl

from pipelines.intake.spellings.reading import too_little_said
from pipelines.intake.told import Told
from schemas import words
from schemas.fields import MEANINGS
from schemas.synonyms import TOO_LITTLE_SAID, lookup, plain

NOT_KNOWN = ("not_in_list", "taken_as_other")
"""Rules that a word of the practice's own broke: a layout file can teach it."""
SPOKEN = [
    name for name, meaning in MEANINGS.items() if meaning.kind == "yes_no" or name in ("bruise_grade", "handling")
]
"""Columns for which people write words though they are no closed list: "moderate" for a grade, "agreed" for a yes."""
FILL_IN = {"integer": "its number", "yes_no": "yes or no"}
LONGEST_WORD = 40
MOST_COMPARED = 500
NEAR = 0.75
CHOICE = re.compile(r"/|\bor\b", re.I)
FOOT = "@foot"


def headers_of(taken: Iterable[Told]) -> pl.DataFrame:
    """source_file, place and header of each column whose header is not its declared name; place: "LH work", "fee"."""
    lines = [(told.source, place, header) for told in taken for header, place in told.named]
    return pl.DataFrame(lines, schema=dict.fromkeys(("source_file", "place", "header"), pl.String), orient="row")


def in_own_words(findings: pl.DataFrame, headers: pl.DataFrame) -> pl.DataFrame:
    """The findings with each reason naming the column as the sheet heads it, and the foot where it has a group a foot.

    findings: those of one table, with the foot each row says it is of as FOOT, which is left out.
    """
    found = _placed(findings, headers).with_columns(_named().alias("@named"))
    for column in found["column_name"].drop_nulls().unique():
        said = pl.col("reason").str.replace(f": {column} says ", ": " + pl.col("@named") + " says ", literal=True)
        said = pl.when(_begins()).then(pl.col("@named") + pl.col("reason").str.strip_prefix(column)).otherwise(said)
        mine = (pl.col("column_name") == column) & pl.col("@named").is_not_null()
        found = found.with_columns(pl.when(mine).then(said).otherwise("reason").alias("reason"))
    return _with_lessons(found.select(name for name in findings.columns if name != FOOT))


def _begins() -> pl.Expr:
    return pl.col("reason").str.starts_with(pl.col("column_name") + " ")


def _placed(findings: pl.DataFrame, headers: pl.DataFrame) -> pl.DataFrame:
    """The place and header of each finding: those of its foot's group, else those of its column."""
    of_foot = headers.rename({"place": "@of_foot", "header": "@header_of_foot"})
    there = findings.with_columns((pl.col(FOOT) + " " + pl.col("column_name")).alias("@of_foot"))
    there = there.join(of_foot, on=["source_file", "@of_foot"], how="left", maintain_order="left")
    alone = headers.rename({"place": "column_name", "header": "@header"})
    there = there.join(alone, on=["source_file", "column_name"], how="left", maintain_order="left")
    own = pl.when(pl.col("@header_of_foot").is_not_null())
    return there.with_columns(
        own.then("@header_of_foot").otherwise("@header").alias("@header"),
        own.then("@of_foot").otherwise("column_name").alias("@place"),
    )


def _named() -> pl.Expr:
    """column "near hind bruise" (LH bruise_grade); without the bracket where the header says just that."""
    alike = pl.col("@header").str.to_lowercase().str.replace_all(r"[\s_.\-]+", " ").str.strip_chars()
    same = alike == pl.col("@place").str.to_lowercase().str.replace_all("_", " ")
    behind = pl.when(same).then(pl.lit("")).otherwise(" (" + pl.col("@place") + ")")
    return 'column "' + pl.col("@header") + '"' + behind


def is_own_word() -> pl.Expr:
    """Of findings, whether a layout file can teach the word: one of a closed list, or for a grade or a yes."""
    no_figure = pl.col("value").str.contains(r"^[^\d½¼¾]*\p{L}[^\d½¼¾]*$")
    spoken = (pl.col("rule") == "cannot_read") & pl.col("column_name").is_in(SPOKEN) & no_figure
    return pl.col("rule").is_in(NOT_KNOWN) | spoken.fill_null(False)


def _with_lessons(findings: pl.DataFrame) -> pl.DataFrame:
    """The way out by a layout file behind each reason that is about a word."""
    findings = findings.with_columns(is_own_word().alias("@own"))
    said = findings.filter("@own").select("column_name", "value").unique(maintain_order=True)
    taught = [(column, value, _taught(column, value, at)) for at, (column, value) in enumerate(said.rows())]
    schema = {"column_name": pl.String, "value": pl.String, "@taught": pl.String}
    lessons = pl.DataFrame(taught, schema=schema, orient="row")
    joined = findings.join(lessons, on=["column_name", "value"], how="left", maintain_order="left")
    told = pl.col("@own") & pl.col("@taught").is_not_null()
    return joined.with_columns(
        pl.when(told).then(pl.concat_str("reason", "@taught")).otherwise("reason").alias("reason")
    ).drop("@taught", "@own")


def _taught(column: str, value: str, at: int) -> str | None:
    if len(value.strip()) > LONGEST_WORD:
        return None
    meaning = MEANINGS[column]
    if not teachable(column, value):
        why = too_little_said(value.strip(), column, meaning.words) if column == "discipline" else None
        return why and f"; {why}"
    meant = nearest_word(column, value) if at < MOST_COMPARED else None
    own = f'under [words.{column}]: "{quoted(value.strip())}" = '
    if column == "discipline" and meant is None:
        return f'; a layout file can teach it, {own}"other", or the one it is'
    return f'; or teach it in a layout file, {own}"{meant or FILL_IN.get(meaning.kind, "one of them")}"'


def teachable(column: str, said: str) -> bool:
    """Whether one declared word can stand for this text wherever it is written.

    Not where it could mean two things or several feet, or is misspelt for such a word; nor where two words stand in it
    as a choice, "on/off", or it is in doubt itself, "reset?".
    """
    vocabulary = MEANINGS[column].words
    if too_little_said(said.strip(), column, vocabulary) or "?" in said:
        return False
    known, doubtful = lookup(column, vocabulary) | _yes_or_no(column), TOO_LITTLE_SAID.get(column, {})
    chosen = {known.get(plain(part)) for part in CHOICE.split(said)} - {None}
    near = get_close_matches(plain(said), known.keys() | doubtful.keys(), 1, NEAR) if doubtful else []
    return len(chosen) < 2 and (not near or near[0] in known)


def nearest_word(column: str, said: str) -> str | None:
    """The declared word that a misspelt one is most likely meant for; None where none is near, or two stand in it."""
    if not MEANINGS[column].words:
        return None
    known = lookup(column, MEANINGS[column].words)
    if len({known[part] for part in plain(said).split() if part in known}) > 1:
        return None
    near = get_close_matches(plain(said), known, 1, NEAR)
    return known[near[0]] if near else None


def _yes_or_no(column: str) -> dict[str, str]:
    if MEANINGS[column].kind != "yes_no":
        return {}
    return dict.fromkeys(words.YES, "yes") | dict.fromkeys(words.NO, "no")


def quoted(text: str) -> str:
    """A text as it stands between the quotation marks of a TOML file."""
    return text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", " ")
