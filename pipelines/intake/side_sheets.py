"""A sheet beside the records that is no table of them: counts by month, a list of horses to ring, a diary.

A sheet that lacks a column which its rows need stops the reading, for it may be a year of records. It is left out, and
said to be, only where the records are complete without it and its headers or cells show that it holds none.
"""

from pipelines.intake.headers import Meant
from pipelines.intake.roles import HORSE, NEEDED, Role, readable
from pipelines.intake.sheet import Sheet, cell
from schemas.exports import EXPORT_TABLES

ONLY_WHOSE = {
    "horses": (*HORSE, "yard"),
    "visits": (*HORSE, "yard", "visit_id", "visit_date", "farrier", "notes"),
}
"""Columns that say which horse or visit is meant, and nothing of it."""
SAID = {"horse_id": "the horse", "visit_id": "the horse or its visit", "horse_name": "the horse"}
TRIED = 40
MOSTLY = 0.5


def is_no_table(sheet: Sheet, role: Role, told: set[str]) -> bool:
    """Whether a sheet that lacks columns of its own rows holds no records. told: tables that others tell in full.

    It holds none where it names no horse and lacks more than that, or where its cells are no feet and no days; and
    where it says which horse or visit is meant and nothing else, of a table that is told already.
    """
    columns = {meant.column for meant in role.columns if meant}
    needed = [column for column in NEEDED[role.primary] if column not in columns and not role.by_groups]
    if not columns & {*HORSE, "visit_id"}:
        return bool(needed) or not _cells_read(sheet, role)
    if role.primary in ("losses", "changes"):
        return "foot" in needed and not _cells_read(sheet, role)
    if role.by_groups or role.primary not in told or role.primary not in ONLY_WHOSE:
        return False
    return columns & set(EXPORT_TABLES[role.primary].columns()) <= set(ONLY_WHOSE[role.primary])


def _cells_read(sheet: Sheet, role: Role) -> bool:
    """Whether the cells of the columns that every such row needs are mostly what those columns hold."""
    needed = [(at, meant) for at, meant in enumerate(role.columns) if meant and meant.column in NEEDED[role.primary]]
    return all(_share(sheet, at, meant) > MOSTLY for at, meant in needed)


def _share(sheet: Sheet, at: int, meant: Meant) -> float:
    texts = sheet.cells[cell(at)].drop_nulls().unique(maintain_order=True).head(TRIED).to_list()
    written = [text for text in texts if text.strip()]
    return readable(written, meant) if written else 0.0


def why_left_out(sheet: Sheet, role: Role) -> str:
    """What is said of such a sheet."""
    names = dict.fromkeys(SAID.get(column, column) for found in role.lacking.values() for column in found)
    return (
        f"{sheet.source} is left out as no table of records: it looks most like {role.says}, but has no column for "
        f"{', '.join(names)}, and other sheets tell the records; if it holds records, add what it lacks"
    )
