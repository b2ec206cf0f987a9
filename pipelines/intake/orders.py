"""Which way round each file writes its days: settled by evidence, by the person, or not at all. Never guessed."""

from collections.abc import Callable

import polars as pl

from pipelines.intake.identify import DAY
from pipelines.intake.sheet import EXPORT, FILE
from pipelines.intake.spellings import Habits
from pipelines.intake.spellings.days import Evidence, evidence, years_both_ways
from pipelines.intake.years_in_two_digits import may_begin_with_their_year
from schemas.ledger import Findings
from schemas.problem import Problem

DAY_COLUMNS = ("visit_date", "found_off", "last_seen_on", "changed_on", DAY)
ORDERS = {"day-first": True, "month-first": False}
MANY_EITHER = 4
"""So many days that can be read both ways round for each that cannot are more than any calendar brings about."""
ASK = "say which with --dates day-first or --dates month-first"
IF_FIRST = "if they begin with it, write all four digits, like 2025-03-15"


def settle(tables: dict[str, pl.DataFrame], asked: str | None, habits: Habits) -> dict[str, Habits]:
    """How each file writes, by its name. asked: day-first or month-first, as the person says.

    Where none is asked, a file's own days settle it (there is no 13th month), else those of the other files of its
    export. Raises Problem where nothing does, a file writes days both ways, or one or two days of it would turn all
    the others round against those files.
    """
    if asked is not None and asked not in ORDERS:
        raise Problem(f"--dates is day-first or month-first, not {asked}")
    seen = _evidence(tables, habits.latest_year)
    for (_, file), found in seen.items():
        if found.year_first and not found.year_last:
            raise Problem(f"{file} writes days with two digits of the year first: write all four, like 2026-03-05")
    if asked is not None:
        return {file: _with(habits, ORDERS[asked]) for _, file in seen}
    for (_, file), found in seen.items():
        if found.day_first and found.month_first:
            raise Problem(f"{file} writes some days day first and some month first: {ASK}, then mend the others")
    for place in seen:
        _refuse_year_either(*place, seen, tables, habits.latest_year)
        _refuse_turned_round(*place, seen, tables, habits.latest_year)
    return {file: _with(habits, _order(export, file, seen)) for export, file in seen}


def years_taken_last(tables: dict[str, pl.DataFrame], asked: str | None, latest_year: int) -> list[pl.DataFrame]:
    """A finding for each file of which all days alone told that they end with their year, and no single one did."""
    seen, days = _evidence(tables, latest_year), _spellings(tables)
    lines = []
    for export, file in seen if asked is None else ():
        if _year_either(export, file, seen):
            odd = next(day for day in days[export, file] if years_both_ways(day, latest_year))
            says = f"days like {odd} are taken to end with their year, as they lie closer together so: {IF_FIRST}"
            lines.append(("none", file, 1, "year_taken_last", None, odd, says, "{}"))
    return [pl.DataFrame(lines, schema=Findings.dtypes(), orient="row")] if lines else []


def _year_either(export: int, file: str, seen: dict[tuple[int, str], Evidence]) -> bool:
    """25/03/15 alone is a day of 2025 or of 2015; one 3/4/25 in the export tells that the year stands last."""
    return seen[export, file].year_either > 0 and not any(
        found.year_last for (at, _), found in seen.items() if at == export
    )


def _refuse_year_either(
    export: int, file: str, seen: dict[tuple[int, str], Evidence], tables: dict[str, pl.DataFrame], latest_year: int
) -> None:
    if not _year_either(export, file, seen):
        return
    together = [day for (at, _), days in _spellings(tables).items() if at == export for day in days]
    if may_begin_with_their_year(together, latest_year):
        odd = _one_of(export, file, tables, lambda text: evidence([text], latest_year).year_either)
        raise Problem(
            f"{file}: nothing tells whether days like {odd} begin or end with their year: {ASK} if they end with it, "
            "else write all four digits, like 2025-03-15"
        )


def _refuse_turned_round(
    export: int, file: str, seen: dict[tuple[int, str], Evidence], tables: dict[str, pl.DataFrame], latest_year: int
) -> None:
    """Six in ten days of a calendar tell which way round they are written: one among many is likely mistyped."""
    own, others = seen[export, file], [found for (at, name), found in seen.items() if at == export and name != file]
    for way, against in (("month_first", "day_first"), ("day_first", "month_first")):
        few = 0 < getattr(own, way) <= max(1, own.either // MANY_EITHER) and own.either
        if (
            few
            and any(getattr(found, against) for found in others)
            and not any(getattr(found, way) for found in others)
        ):
            odd = _one_of(export, file, tables, lambda text, way=way: getattr(evidence([text], latest_year), way))
            said, other = (name.replace("_", " ") for name in (way, against))
            raise Problem(
                f"{file}: {odd} can only be written {said}, and the other files write {other}: mend that day, or if "
                f"the whole file is {said}, take it in by itself with --dates {way.replace('_', '-')}"
            )


def _one_of(export: int, file: str, tables: dict[str, pl.DataFrame], is_such: Callable[[str], int]) -> str:
    """The first day of this file that is such a one."""
    columns = [(part, name) for part in tables.values() for name in DAY_COLUMNS if name in part.columns]
    of_file = (part.filter(pl.col(EXPORT) == export, pl.col(FILE) == file)[name].drop_nulls() for part, name in columns)
    return next(text.strip() for days in of_file for text in days if is_such(text))


def _order(export: int, file: str, seen: dict[tuple[int, str], Evidence]) -> bool | None:
    own = seen[export, file]
    if own.day_first or own.month_first:
        return own.day_first > 0
    if not own.either:
        return None
    others = [found for (other, _), found in seen.items() if other == export]
    day_first, month_first = (any(getattr(found, way) for found in others) for way in ("day_first", "month_first"))
    if day_first == month_first:
        raise Problem(f"{file}: nothing tells whether its days are written day first or month first: {ASK}")
    return day_first


def _evidence(tables: dict[str, pl.DataFrame], latest_year: int) -> dict[tuple[int, str], Evidence]:
    """What each file's days say, each spelling once: a flat sheet has one day as that of the visit and of its feet."""
    return {place: evidence(days, latest_year) for place, days in _spellings(tables).items()}


def _spellings(tables: dict[str, pl.DataFrame]) -> dict[tuple[int, str], list[str]]:
    """The different days of each file that are not written like 2026-03-05."""
    columns = [
        part.select(EXPORT, FILE, pl.col(name).str.strip_chars().alias("day")).drop_nulls("day").unique()
        for part in tables.values()
        for name in DAY_COLUMNS
        if name in part.columns
    ]
    if not columns:
        return {}
    written = pl.concat(columns).filter(pl.col("day").str.contains(r"^\d{4}-\d{2}-\d{2}$").not_()).unique().sort("day")
    by_file = written.group_by(EXPORT, FILE).agg("day").sort(EXPORT, FILE)
    return {(export, file): days for export, file, days in by_file.rows()}


def _with(habits: Habits, day_first: bool | None) -> Habits:
    return Habits(day_first, habits.latest_year, habits.words)
