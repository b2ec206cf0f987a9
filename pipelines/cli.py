"""The command line: parse, call the build, print. Heavy imports stand inside the commands that need them."""

import sys
from contextlib import nullcontext
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Annotated, Any

import typer

from pipelines.arguments import day
from pipelines.cli_share import share
from schemas.problem import Problem

DONE, SET_ASIDE, NOT_DONE = 0, 1, 2

app = typer.Typer(
    name="shoeing",
    help="Shoeing outcomes from visit records: which shoes come off, which bruises come back, where angles drift.",
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    add_completion=False,
    no_args_is_help=True,
)

Exports = Annotated[list[Path] | None, typer.Argument(metavar="[EXPORT]...", help="Folders or files of visit records.")]
NeededExports = Annotated[list[Path], typer.Argument(metavar="EXPORT...", help="Folders or files of visit records.")]
StoreFile = Annotated[Path, typer.Option("--store", metavar="FILE", help="The store: one DuckDB file, made if absent.")]
SiteFolder = Annotated[Path, typer.Option("--site", metavar="DIR", help="Folder the pages are written to.")]
AsOf = Annotated[
    str | None, typer.Option("--as-of", metavar="DATE", help="Read the record as of this day, YYYY-MM-DD.")
]
Season = Annotated[
    str | None,
    typer.Option("--season", metavar="START:END", help="Days under review; without it the year up to the as-of date."),
]
Hemisphere = Annotated[
    str, typer.Option("--hemisphere", metavar="NORTH|SOUTH", help="Where the seasons are: north or south.")
]
Dates = Annotated[
    str | None, typer.Option("--dates", metavar="ORDER", help="day-first or month-first, where no file tells.")
]
Layout = Annotated[
    Path | None, typer.Option("--layout", metavar="FILE.toml", help="How this practice writes: headers, words, units.")
]
FollowUp = Annotated[
    int, typer.Option("--follow-up-days", min=7, max=366, help="Days without word after which a shoe counts no longer.")
]

DayLoad = Annotated[
    int | None,
    typer.Option("--day-load", metavar="N", min=1, max=100, help="Horses a day above which a day counts as full."),
]
NoHandedness = Annotated[
    bool, typer.Option("--no-handedness", help="Leave out the page of what each farrier does left and right.")
]


@app.command()
def demo(site: SiteFolder = Path("demo-site"), no_handedness: NoHandedness = False) -> int:
    """Publish the made-up practice that comes with the program."""
    settings = replace(_settings(None, None, "north", 84), handedness=not no_handedness)
    return _told(_publish([sample_practice()], None, site, settings, flow=False), site)


@app.command()
def check(
    exports: NeededExports,
    store: Annotated[Path | None, typer.Option("--store", metavar="FILE", help="The store they are meant for.")] = None,
    as_of: AsOf = None,
    dates: Dates = None,
    layout: Layout = None,
    report: Annotated[
        Path | None,
        typer.Option("--report", metavar="FILE", help="Write the rows set aside there, .csv or .xlsx, to be mended."),
    ] = None,
    write_layout: Annotated[
        Path | None, typer.Option("--write-layout", metavar="FILE.toml", help="Write a draft of a layout file.")
    ] = None,
) -> int:
    """Read and check visit records, say what would be set aside and why, and change nothing."""
    from pipelines import build, mending, telling
    from pipelines.next_steps import Checked

    if store is not None and not store.exists():
        raise Problem(f"there is no store {store}: leave --store out to check the records by themselves")
    settings = _settings(as_of, None, "north", 84, dates, layout)
    try:
        with _progress() as step:
            outcome = build.check(exports, store, settings, step)
    except Problem as problem:
        if write_layout is None:
            raise
        mending.write_outline(exports, write_layout, layout)
        raise Problem(f"{problem}; a draft to complete was written to {write_layout}") from problem
    if report is not None:
        mending.write_report(outcome.set_aside, report, exports, outcome.warnings, outcome.habits)
    if write_layout is not None:
        mending.write_layout(outcome, write_layout, layout)
    again = _reading(dates, layout, as_of)
    telling.tell_check(outcome, sys.stdout, Checked(exports, store, again, report, write_layout))
    return SET_ASIDE if outcome.rows_set_aside else DONE


@app.command()
def publish(
    store: StoreFile,
    site: SiteFolder,
    exports: Exports = None,
    as_of: AsOf = None,
    season: Season = None,
    hemisphere: Hemisphere = "north",
    follow_up_days: FollowUp = 84,
    dates: Dates = None,
    layout: Layout = None,
    no_handedness: NoHandedness = False,
    day_load: DayLoad = None,
    flow: Annotated[bool, typer.Option("--flow", help="Run each step as a Prefect task.")] = False,
) -> int:
    """Take visit records in, analyse them and write the pages. Without EXPORT the store is published again."""
    settings = _settings(as_of, season, hemisphere, follow_up_days, dates, layout)
    settings = replace(settings, handedness=not no_handedness, day_load=day_load)
    outcome = _publish(exports or [], store, site, settings, flow)
    day_is = None if as_of else _day_taken(outcome, exports)
    return _told(outcome, site, exports, store, _reading(dates, layout, as_of), day_is)


@app.command()
def simulate(
    horses: Annotated[int, typer.Option("--horses", min=1, max=1_000_000, help="Horses in the practice.")],
    years: Annotated[float, typer.Option("--years", min=0.1, max=30, help="Years of records.")],
    seed: Annotated[int, typer.Option("--seed", min=0, help="The same seed gives the same practice.")],
    to: Annotated[Path, typer.Option("--to", metavar="DIR", help="New or empty folder for the export.")],
) -> int:
    """Write a made-up practice of any size, with the true effects beside it."""
    from pipelines import simulate as made_up

    if to.exists() and (not to.is_dir() or any(to.iterdir())):
        raise Problem(f"{to} is there already and not empty: name a new folder")
    practice = made_up.simulate(horses, years, seed)
    made_up.write_practice(practice, to)
    rows = ", ".join(f"{frame.height:,} {table}" for table, frame in practice.tables.items())
    sys.stdout.write(f"{to}: {rows}\n")
    return DONE


app.command()(share)


def main() -> None:
    """Run the command line and end with its exit code: 0 done, 1 done with rows set aside, 2 could not be done."""
    sys.exit(run(sys.argv[1:]))


def run(arguments: list[str]) -> int:
    """The exit code of one command line; what cannot be done is one line on standard error."""
    try:
        return int(app(arguments, standalone_mode=False) or DONE)
    except typer.Abort:
        return _not_done("stopped; nothing was changed")
    except Problem as problem:
        return _not_done(str(problem))
    except typer.TyperException as error:
        return _not_done(f"{error.format_message().rstrip('.')}. See: shoeing --help")


def sample_practice() -> Path:
    """Folder of the made-up practice: packed with the installed program, or beside it in a checkout."""
    packed = Path(__file__).parent / "sample_data"
    return packed if packed.is_dir() else Path(__file__).parents[1] / "sample_data" / "practice"


def _publish(exports: list[Path], store: Path | None, site: Path, settings: Any, flow: bool) -> Any:
    if flow:
        from pipelines.flows import publish_as_flow

        return publish_as_flow(exports, store, site, settings, _state_folder(store, site))
    from pipelines.build import publish as build_publish

    with _progress() as step:
        return build_publish(exports, store, site, settings, step)


def _reading(dates: str | None, layout: Path | None, as_of: str | None) -> tuple[tuple[str, str], ...]:
    """The options without which the same files are not read the same again."""
    reading = (("--dates", dates), ("--layout", layout), ("--as-of", as_of))
    return tuple((option, str(value)) for option, value in reading if value is not None)


def _day_taken(outcome: Any, exports: list[Path] | None) -> str | None:
    """What the as-of date is where none was given; None where no row was accepted that could tell a day."""
    if not exports:
        return "the day of the latest load"
    accepted = outcome.counts["rows_read"].sum() - outcome.rows_set_aside
    return "the last day on record" if accepted else None


def _told(
    outcome: Any,
    site: Path,
    exports: list[Path] | None = None,
    store: Path | None = None,
    reading: tuple[tuple[str, str], ...] = (),
    day_is: str | None = None,
) -> int:
    from pipelines import telling
    from pipelines.next_steps import Checked

    asked = Checked(exports, store, reading) if exports else None
    telling.tell_publish(outcome, site, sys.stdout, asked, day_is)
    return SET_ASIDE if outcome.rows_set_aside else DONE


def _settings(
    as_of: str | None,
    season: str | None,
    hemisphere: str,
    follow_up_days: int,
    dates: str | None = None,
    layout: Path | None = None,
) -> Any:
    from pipelines.build import Settings

    if hemisphere.lower() not in ("north", "south"):
        raise Problem(f"--hemisphere is north or south, not {hemisphere}")
    last = day(as_of, "--as-of") if as_of else None
    reading = (("dates", dates), ("layout", layout))
    return Settings(last, _season(season), hemisphere.lower(), follow_up_days, reading)


def _season(text: str | None) -> tuple[date, date] | None:
    if text is None:
        return None
    start, colon, stop = text.partition(":")
    if not colon:
        raise Problem(f"--season is two days with a colon between, as 2026-01-01:2026-06-30, not {text}")
    days = day(start, "--season"), day(stop, "--season")
    if days[0] > days[1]:
        raise Problem(f"--season starts on {days[0]}, after it ends on {days[1]}: write the earlier day first")
    return days


def _state_folder(store: Path | None, site: Path) -> Path:
    return (store or site).absolute().parent / ".shoeing-prefect"


def _progress() -> Any:
    if not sys.stderr.isatty():
        from pipelines.build import plainly

        return nullcontext(plainly)
    from pipelines.progress import steps_on_terminal

    return steps_on_terminal()


def _not_done(line: str) -> int:
    sys.stderr.write("shoeing: " + " ".join(line.split()) + "\n")
    return NOT_DONE
