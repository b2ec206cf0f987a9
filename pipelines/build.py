"""The whole run, in reading order, as plain calls: records in, store, analyses, site."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta
from importlib import import_module
from pathlib import Path
from threading import Thread
from typing import Any

import polars as pl

from pipelines.intake import read_export
from pipelines.place import refuse_other_folder, site_beside
from pipelines.store import Store, open_store
from schemas.base import Problem
from schemas.ledger import LoadTables
from schemas.records import About, Records

ANALYSES = (
    "intake_account",
    "loss_rates",
    "retention",
    "loss_causes",
    "horse_losses",
    "interval_lengths",
    "horse_intervals",
    "bruising",
    "bruise_burden",
    "bruise_patterns",
    "angle_drift",
    "angle_trend",
    "angle_gaps",
    "handedness",
    "lateness",
    "workload",
    "season_review",
    "season_compare",
    "due_list",
    "calendar_entries",
    "completeness",
    "retention_interval",
    "retention_tests",
    "loss_hazard",
    "loss_factors",
    "loss_watch",
    "interval_guide",
    "loss_dating",
    "changes_tried",
    "horse_pages",
)
SEASON_DAYS = 365

Step = Callable[..., Any]


def plainly(_name: str, work: Callable[..., Any], *args: Any, **options: Any) -> Any:
    """Run one step of the build as a plain call. Anything with this signature may stand in its place."""
    return work(*args, **options)


@dataclass(frozen=True)
class Settings:
    """How a record is read. season: first and last day under review; without it the year up to the as-of date.

    handedness: whether the site has the page of it. day_load: horses a day above which a day is counted as full.
    """

    as_of: date | None = None
    season: tuple[date, date] | None = None
    hemisphere: str = "north"
    follow_up_days: int = 84
    reading: tuple[tuple[str, Any], ...] = ()
    handedness: bool = True
    day_load: int | None = None


@dataclass(frozen=True)
class Outcome:
    """What a run did. counts: `ledger.LoadTables` of this load, empty where nothing was taken in.

    taken, changes, habits: how each sheet was understood, what was changed on the way in and how each source writes
    its days, as in `Records`.
    """

    as_of: date
    counts: pl.DataFrame
    set_aside: pl.DataFrame
    warnings: pl.DataFrame
    pages: tuple[Path, ...] = ()
    taken: tuple[Any, ...] = ()
    changes: pl.DataFrame = field(default_factory=pl.DataFrame)
    habits: dict[str, Any] = field(default_factory=dict)

    @property
    def rows_set_aside(self) -> int:
        """Rows read but not accepted."""
        return int(self.counts["rows_set_aside"].sum())


def publish(
    exports: Sequence[Path], store_path: Path | None, site: Path, settings: Settings, step: Step = plainly
) -> Outcome:
    """Take exports in, analyse the record and write the site; all of it or nothing.

    store_path None keeps the store in memory. Without exports the store is published as it stands. Raises Problem
    with one clear line where that cannot be done; the store and the site are then as they were.
    """
    refuse_other_folder(site)
    Thread(target=_warm_up, daemon=True).start()
    with open_store(store_path) as store, site_beside(site) as beside:
        outcome = _take(exports, store, settings, step)
        about = _about(store, outcome.as_of, settings)
        results = step("analyse", analyse, store)
        step("keep the results", store.write_results, results)
        pages = step("write the site", _write_site, results, about, beside)
        store.commit()
    return replace(outcome, pages=tuple(site / page for page in pages))


def check(exports: Sequence[Path], store_path: Path | None, settings: Settings, step: Step = plainly) -> Outcome:
    """Read and check exports as publish would, and change nothing. store_path: a store they are meant for."""
    with open_store(store_path) as store:
        return _take(exports, store, settings, step)


def analyse(store: Store) -> dict[str, pl.DataFrame]:
    """Every result table, from counts taken in the store and estimates made of them."""
    results: dict[str, pl.DataFrame] = {}
    for name in ANALYSES:
        module = import_module(f"pipelines.analyses.{name}")
        counts = {part: store.sql(query) for part, query in module.COUNTS.items()}
        results |= getattr(module, name)(counts)
    return results


def _take(exports: Sequence[Path], store: Store, settings: Settings, step: Step) -> Outcome:
    if not exports:
        return _as_it_stands(store, settings, step)
    started_at = _now()
    records: Records = step(
        "read and check", read_export, exports, store.known(), settings.as_of, _today(), **dict(settings.reading)
    )
    step("take in", store.take_in, records, started_at)
    _derive(store, records.as_of, settings, step)
    counts = store.finish_load(_now())
    warnings = store.latest_warnings()
    read = records.taken, records.changes, records.habits
    return Outcome(records.as_of, counts, records.set_aside, warnings, (), *read)


def _as_it_stands(store: Store, settings: Settings, step: Step) -> Outcome:
    last = store.last_as_of()
    if last is None:
        raise Problem("the store holds no records yet: name an export to take in")
    as_of = settings.as_of or last
    if as_of > _today():
        raise Problem(f"--as-of {as_of} is after today, {_today()}")
    _derive(store, as_of, settings, step)
    nothing = pl.DataFrame()
    return Outcome(as_of, LoadTables.empty(), nothing, nothing)


def _derive(store: Store, as_of: date, settings: Settings, step: Step) -> None:
    step("follow the shoes", store.derive, as_of, settings.follow_up_days, settings.hemisphere)
    store.set_season(*_season(as_of, settings))


def _season(as_of: date, settings: Settings) -> tuple[date, date]:
    return settings.season or (as_of - timedelta(days=SEASON_DAYS - 1), as_of)


def _about(store: Store, as_of: date, settings: Settings) -> About:
    season, files = _season(as_of, settings), store.latest_files()
    return About(as_of, *season, files, settings.follow_up_days, settings.handedness, settings.day_load)


def _write_site(results: dict[str, pl.DataFrame], about: About, folder: Path) -> list[str]:
    from reports.site import write_site

    written = write_site(results, about, folder)
    return [path.relative_to(folder).as_posix() for path in written if path.suffix == ".html"]


def _warm_up() -> None:
    """Get the drawing ready on the other core while the records are read."""
    from reports.drawing import warm_up

    warm_up()


def _today() -> date:
    return datetime.now(UTC).astimezone().date()


def _now() -> datetime:
    return datetime.now(UTC).replace(tzinfo=None)
