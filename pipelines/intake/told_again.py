"""What is told again: a horse or visit on each foot's row, or in a sheet of its own as well."""

from collections.abc import Callable

import numpy as np
import polars as pl

from pipelines.intake.rows import AT, Rows, found
from pipelines.intake.rules import limits_of
from pipelines.intake.sheet import EXPORT, FOLDED, ROW, SOURCE

CHANGES_IN_TIME = (
    "discipline", "sex", "breed", "yard", "height_hands", "mass_kg", "turnout", "work_days_per_week",
    "owner_ref", "owner_name", "owner_contact", "vet_practice", "share_with_vet",
)  # fmt: skip
"""What may be told of one horse differently from visit to visit; a name, a year of birth or a chip may not."""
NOTES = "notes"
TURNS_ONCE = ("discipline", "sex", "breed", "yard", "owner_ref", "vet_practice")
"""Of these, what does not go back and forth: where it does, they may be two horses."""


def agree(rows: Rows) -> tuple[Rows, list[pl.DataFrame]]:
    """The rows where each that was folded in knows what the others of its key and export say, and the doubts of that.

    What one leaves blank the others fill in; a cell that cannot be read or breaks a rule is taken for what the others
    soundly say, with a warning. Where the only telling is faulty, the rows that leave it blank share the fault. What
    they say differently stays, to be judged.
    """
    groups = _told_again(rows)
    if groups is None or groups.is_empty():
        return rows, []
    rows, groups, noted = _notes_together(rows, groups)
    key = [EXPORT, *rows.table.key()]
    content = [name for name in rows.typed.columns if name not in key]
    faulty = {name: _faulty(groups, name, rows) for name in content}
    sound = groups.with_columns(
        pl.when(~mask).then(pl.col(name)).alias(name) for name, mask in faulty.items() if mask.any()
    )
    said = [
        pl.when(_alike(name, rows).n_unique() == 1).then(pl.col(name).drop_nulls().first()).over(key).alias(name)
        for name in content
    ]
    told = sound.select(pl.col(name).is_not_null().any().over(key).alias(name) for name in content)
    filled = sound.select(AT, *said)
    typed, unread, doubts = rows.typed, dict(rows.unread), noted
    for name in content:
        known, only = filled[name].is_not_null(), faulty[name] & told[name]
        typed = typed.with_columns(_put(typed[name], groups[AT], known | only, filled[name]))
        if only.any():
            settled = pl.repeat(False, rows.height, eager=True).scatter(groups[AT].filter(only), True)
            unread = unread | ({name: unread[name] & ~settled} if name in unread else {})
            doubts.append(_taken_so(rows, typed, settled, name))
        if (faulty[name] & ~told[name]).any():
            typed, unread = _shared_fault(rows, groups, faulty[name] & ~told[name], name, typed, unread)
    unread = {name: odd for name, odd in unread.items() if odd.any()}
    return Rows(rows.name, rows.texts, typed, unread, rows.whys, rows.doubts), doubts


def _told_again(rows: Rows) -> pl.DataFrame | None:
    """The typed rows, with AT and EXPORT, of each key that stands more than once and was folded in somewhere."""
    if FOLDED not in rows.texts.columns or rows.one_row_a_key:
        return None
    key = [EXPORT, *rows.table.key()]
    marked = rows.typed.with_columns(rows.texts[EXPORT], rows.texts[FOLDED].is_not_null().alias(FOLDED))
    marked = marked.with_row_index(AT).drop_nulls(rows.table.key())
    return marked.filter((pl.len().over(key) > 1) & pl.col(FOLDED).any().over(key))


def _notes_together(rows: Rows, groups: pl.DataFrame) -> tuple[Rows, pl.DataFrame, list[pl.DataFrame]]:
    """Where the rows of one visit carry notes that differ, each with all of them, and a doubt: a note on a foot's row
    may be about that foot, and no two of them contradict each other.
    """
    key = [EXPORT, *rows.table.key()]
    if NOTES not in groups.columns:
        return rows, groups, []
    several = groups.filter((pl.col(NOTES).drop_nulls().n_unique() > 1).over(key))
    if several.is_empty():
        return rows, groups, []
    joined = pl.col(NOTES).drop_nulls().unique(maintain_order=True).str.join("; ").over(key)
    several = several.sort(AT).with_columns(joined.alias(NOTES))
    typed = rows.typed.with_columns(rows.typed[NOTES].scatter(several[AT], several[NOTES]))
    first = pl.repeat(False, rows.height, eager=True).scatter(
        several.unique(key, keep="first", maintain_order=True)[AT], True
    )
    says = pl.lit(f"{NOTES} differ on the rows of this visit: all of them are kept, one after the other")
    together = Rows(rows.name, rows.texts, typed, rows.unread, rows.whys, rows.doubts)
    return together, _told_again(together), [found(rows, first, "notes_joined", NOTES, pl.lit(None), says)]


def _faulty(groups: pl.DataFrame, name: str, rows: Rows) -> pl.Series:
    """Which of these rows have a cell that could not be read, or that breaks a rule of its column."""
    odd = rows.unread.get(name)
    faulty = pl.repeat(False, groups.height, eager=True) if odd is None else odd.gather(groups[AT])
    for rule in limits_of(name, rows.table.columns()[name]):
        faulty |= groups.select(rule.bad.fill_null(False)).to_series()
    return faulty


def _put(column: pl.Series, at: pl.Series, which: pl.Series, values: pl.Series) -> pl.Series:
    """The column with other values at some of these places."""
    return column.scatter(at.filter(which), values.filter(which)) if which.any() else column


def _shared_fault(
    rows: Rows, groups: pl.DataFrame, faulty: pl.Series, name: str, typed: pl.DataFrame, unread: dict[str, pl.Series]
) -> tuple[pl.DataFrame, dict[str, pl.Series]]:
    """The faulty cell also in the rows of its key that leave it blank: they are one horse, and set aside with it."""
    key = [EXPORT, *rows.table.key()]
    marked = groups.select(AT, *key, pl.col(name).alias("value"), faulty.alias("faulty"))
    marked = marked.with_columns(
        pl.col("value").filter("faulty").drop_nulls().first().over(key).alias("fault"),
        pl.col("faulty").any().over(key).alias("shared"),
    )
    blank = marked["shared"] & ~marked["faulty"] & marked["value"].is_null()
    typed = typed.with_columns(_put(typed[name], marked[AT], blank, marked["fault"]))
    if name in unread:
        unread = unread | {name: unread[name].scatter(marked[AT].filter(blank & marked["fault"].is_null()), True)}
    return typed, unread


def _alike(name: str, rows: Rows) -> pl.Expr:
    """What is said, in capitals or not: Pip and PIP are one name."""
    said = pl.col(name).drop_nulls()
    if rows.table.columns()[name].kind != "text":
        return said
    return said.str.to_lowercase().str.replace_all(r"[\s_.\-]+", " ").str.strip_chars()


def latest(rows: Rows, told_on: Callable[[], pl.DataFrame]) -> tuple[Rows, list[pl.DataFrame]]:
    """Horses that changed as the last visit that tells it has it, and a doubt for each earlier wording.

    told_on: SOURCE, ROW and the day (`day`) of the visit that each row of a sheet is about. Where one day tells both,
    or a sheet of horses tells one of them, nothing is settled.
    """
    if FOLDED not in rows.texts.columns or rows.one_row_a_key:
        return rows, []
    key = [EXPORT, *rows.table.key()]
    place = rows.texts.select(EXPORT, SOURCE, ROW, FOLDED)
    told = pl.concat([place, rows.typed], how="horizontal").with_row_index(AT).drop_nulls(key)
    told = told.filter((pl.len().over(key) > 1) & pl.col(FOLDED).is_not_null().all().over(key))
    differing = [name for name in CHANGES_IN_TIME if told.select((_kinds(name).over(key) > 1).any()).item()]
    if not differing:
        return rows, []
    told = told.join(told_on(), on=[SOURCE, ROW], how="left")
    known = pl.col("day").is_not_null().all().over(key)
    typed, doubts = rows.typed, []
    for name in differing:
        day = pl.when(pl.col(name).is_not_null()).then("day")
        then = pl.col(name).filter(day == day.max())
        settled = known & (_kinds(name).over(key) > 1) & (then.n_unique() == 1).over(key)
        if name in TURNS_ONCE:
            settled &= ~pl.struct(key).is_in(_back_and_forth(told, name, key))
        chosen = told.filter(settled).with_columns(then.first().over(key).alias("@then"))
        if chosen.is_empty():
            continue
        typed = typed.with_columns(typed[name].scatter(chosen[AT], chosen["@then"]))
        doubts.append(_taken_later(rows, chosen, name, key))
    return Rows(rows.name, rows.texts, typed, rows.unread, rows.whys, rows.doubts), doubts


def _back_and_forth(told: pl.DataFrame, name: str, key: list[str]) -> list[dict]:
    """Keys of the horses of which one thing is told, then another, then the first again."""
    turns = (pl.col(name) != pl.col(name).shift(1)).sum()
    in_time = told.drop_nulls(name).sort("day", AT).group_by(key).agg(turns.alias("turns"), _kinds(name).alias("kinds"))
    return in_time.filter(pl.col("turns") >= pl.col("kinds")).select(key).to_dicts()


def _kinds(name: str) -> pl.Expr:
    return pl.col(name).drop_nulls().n_unique()


def _taken_later(rows: Rows, chosen: pl.DataFrame, name: str, key: list[str]) -> pl.DataFrame:
    """One line for each earlier value of each horse, at the first row that says it."""
    other = chosen.filter(pl.col(name).is_not_null() & (pl.col(name) != pl.col("@then")))
    first = other.unique([*key, name], keep="first", maintain_order=True).sort(AT)
    bad = pl.repeat(False, rows.height, eager=True).scatter(first[AT], True)
    line = found(rows, bad, "latest_taken", name, pl.col(name), pl.lit(""))
    two = "; if they are two horses, say in a layout file under [horses] what tells them apart"
    reason = pl.concat_str(
        first["horse_name"].fill_null(""), pl.lit(f': {name} says "'), line["value"].str.strip_chars(),
        pl.lit('" and on the last visit "'), first["@then"].cast(pl.String).str.replace(r"\.0$", ""),
        pl.lit('": the last is taken' + (two if name in TURNS_ONCE else "")),
    )  # fmt: skip
    return line.with_columns(reason.alias("reason"))


def _taken_so(rows: Rows, typed: pl.DataFrame, settled: pl.Series, name: str) -> pl.DataFrame:
    line = found(rows, settled, "told_otherwise", name, pl.col(name), pl.lit(""))
    taken = pl.concat_str(pl.lit("as "), typed[name].filter(settled).cast(pl.String), pl.lit(" ")).fill_null("")
    odd = rows.unread.get(name)
    could_be_read = pl.lit(True) if odd is None else ~odd.filter(settled)
    reason = pl.concat_str(
        pl.lit(f'{name} says "'), pl.col("value").str.strip_chars(), pl.lit('", which cannot be '),
        pl.when(could_be_read).then(pl.lit("right")).otherwise(pl.lit("read")),
        pl.lit(": taken "), taken, pl.lit("from the other rows that tell it"),
    )  # fmt: skip
    return line.with_columns(reason.alias("reason"))


def times(rows: Rows) -> np.ndarray:
    """How many rows of the files each row stands for: one, or all that tell it in the same words."""
    if FOLDED not in rows.texts.columns:
        return np.ones(rows.height, dtype=np.int64)
    return rows.texts[FOLDED].fill_null(1).to_numpy()
