"""Questions for the vet, kept by the farrier as one CSV file: horse, question, and if wanted asked_on and foot."""

from datetime import date
from pathlib import Path

import polars as pl

from schemas.fields import MEANINGS
from schemas.problem import Problem
from schemas.shared import Asks
from schemas.words import FEET

HEADERS = {
    heading: column
    for column in ("horse_id", "asked_on", "foot", "question")
    for heading in (column, column.replace("_", " "), *MEANINGS[column].also)
} | {"horse": "horse_id", "horse name": "horse_id", "name": "horse_id"}

COLUMNS = "horse_id (or Horse, its name) and question, with asked_on (YYYY-MM-DD) and foot if you like"


def read_asks(path: Path, horses: pl.DataFrame) -> pl.DataFrame:
    """`schemas.shared.Asks` from a CSV file. horses: horse_id and horse_name of the record; a name must be one horse's.

    Raises Problem with the row number where a row can't be read: nothing is left out in silence.
    """
    if not path.is_file():
        raise Problem(f"there is no file {path}: --asks names a CSV file of {COLUMNS}")
    try:
        raw = pl.read_csv(path, infer_schema=False)
    except (OSError, pl.exceptions.PolarsError) as error:
        why = _other_separator(path) or str(error).splitlines()[0]
        raise Problem(f"{path} cannot be read as a CSV file of {COLUMNS}: {why}") from None
    named = raw.rename({name: HEADERS.get(name.strip().lower(), name) for name in raw.columns}, strict=False)
    if not {"horse_id", "question"} <= set(named.columns):
        has = _other_separator(path) or f"it has {', '.join(raw.columns)}"
        raise Problem(f"{path} is to be a CSV file of {COLUMNS}; {has}")
    ids = _ids(horses)
    rows = [_ask(path, number, row, ids) for number, row in enumerate(named.to_dicts(), start=2)]
    return Asks.check(pl.DataFrame(rows, schema=Asks.dtypes(), orient="row"))


def _other_separator(path: Path) -> str | None:
    """What to do where the columns are set apart by another mark than the comma, as many spreadsheets save them."""
    with path.open(encoding="utf-8", errors="replace") as file:
        header = file.readline()
    marks = {";": "semicolons", "\t": "tabs"}
    found = next((name for mark, name in marks.items() if mark in header and "," not in header), None)
    if found is None:
        return None
    return f"its columns are set apart by {found}: use commas, and quotation marks around a text with a comma in it"


def _ids(horses: pl.DataFrame) -> dict[str, str]:
    """Horse by its code, or by a name that only one horse has."""
    once = horses.filter(pl.col("horse_name").is_unique())
    return dict(once.select("horse_name", "horse_id").iter_rows()) | {one: one for one in horses["horse_id"]}


def _ask(path: Path, number: int, row: dict[str, str | None], ids: dict[str, str]) -> tuple:
    horse, question = ((row[name] or "").strip() for name in ("horse_id", "question"))
    foot = (row.get("foot") or "").strip().upper() or None
    if horse not in ids:
        raise Problem(f"{path}, row {number}: {horse or 'a blank'} is the code of no horse, or the name of several")
    if not question:
        raise Problem(f"{path}, row {number}: the question is blank")
    if foot is not None and foot not in FEET:
        raise Problem(f"{path}, row {number}: the foot is {', '.join(FEET)} or blank, not {foot}")
    return ids[horse], _day(path, number, (row.get("asked_on") or "").strip()), foot, question


def _day(path: Path, number: int, text: str) -> date | None:
    try:
        return date.fromisoformat(text) if text else None
    except ValueError:
        raise Problem(f"{path}, row {number}: asked_on is a day as YYYY-MM-DD, not {text}") from None
