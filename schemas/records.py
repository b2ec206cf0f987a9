"""What is handed from one part to the next: an export once read and checked, and what a site says about itself."""

from dataclasses import dataclass, field
from datetime import date

import polars as pl


@dataclass(frozen=True)
class Known:
    """What the store holds already, for keys across tables: ids in force and the last date on record.

    horses: horse_id, horse_name and yard of the horses in force, to find by its name one that a later export names.
    """

    horse_ids: pl.Series = field(default_factory=lambda: pl.Series("horse_id", [], pl.String))
    visit_ids: pl.Series = field(default_factory=lambda: pl.Series("visit_id", [], pl.String))
    last_date: date | None = None
    horses: pl.DataFrame = field(
        default_factory=lambda: pl.DataFrame(schema=dict.fromkeys(("horse_id", "horse_name", "yard"), pl.String))
    )


@dataclass(frozen=True)
class Records:
    """One export, read and checked, every row accounted for.

    tables: accepted rows of each export table, typed as declared, plus source_file and source_row; one row a key.
    rows_read: rows read for each table; rows_read = accepted + collapsed + rows set aside.
    collapsed: copies of an accepted row, and rows for which a later export's row stands. A sheet that feeds several
    tables counts its rows for each of them; what a row tells in the same words as another is a copy of it, and is
    named once, with that other, where it is set aside.
    set_aside, warnings: `ledger.Findings`, one row a reason.
    files: `ledger.LoadFiles` without load_id.
    superseded: of several exports taken together, the rows of an earlier one that a later one says otherwise, in
    order of arrival, as in tables; counted in collapsed.
    untold: by table, a text a row of `tables`: the columns, a blank between them, that no sheet tells of its key. What
    the store holds there stays; what stands in the row is a default for where it holds nothing.
    taken: how each sheet was understood (`line()` says it). changes: what was changed on the way in: table_name,
    column_name, change, cells, and an example (found, taken). habits: how each source writes its days, by its name.
    """

    as_of: date
    tables: dict[str, pl.DataFrame]
    rows_read: dict[str, int]
    collapsed: dict[str, int]
    set_aside: pl.DataFrame
    warnings: pl.DataFrame
    files: pl.DataFrame
    superseded: dict[str, pl.DataFrame] = field(default_factory=dict)
    untold: dict[str, pl.Series] = field(default_factory=dict)
    taken: tuple = ()
    changes: pl.DataFrame = field(default_factory=pl.DataFrame)
    habits: dict = field(default_factory=dict)


@dataclass(frozen=True)
class About:
    """What every page says of itself: the day the record is read as of, the season under review and the files read.

    day_load: horses a day above which a farrier’s day is counted as full; None where none was chosen.
    handedness: whether the site has the page of it, which is for the farrier alone.
    """

    as_of: date
    season_start: date
    season_stop: date
    files: tuple[str, ...]
    follow_up_days: int = 84
    handedness: bool = True
    day_load: int | None = None
