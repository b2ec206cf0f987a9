"""What to do after a check, as the very commands to write."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain, count
from pathlib import Path
from shlex import quote

from pipelines.telling_findings import many

STORE, SITE, REPORT = Path("practice.duckdb"), Path("site"), Path("mend.xlsx")
"""Names used where the person has chosen none: those of the README."""


@dataclass(frozen=True)
class Checked:
    """What a check was asked: exports and options, and the files it wrote.

    reading: options that the same files need again, with their values: --dates, --layout, --as-of.
    """

    exports: Sequence[Path]
    store: Path | None = None
    reading: tuple[tuple[str, str], ...] = ()
    report: Path | None = None
    draft: Path | None = None

    def command(self, name: str, paths: Sequence[Path], *options: tuple[str, object]) -> str:
        """One command line with these files, the options of reading and the others."""
        words = [word for option in (*self.reading, *options) for word in option]
        return " ".join(["shoeing", name, *(quote(str(word)) for word in [*paths, *words])])


def why_aside(asked: Checked) -> str:
    """The command that says, after a publish, which rows were set aside or doubted, and why."""
    return asked.command("check", asked.exports, *_own_store(asked))


def next_steps(asked: Checked, aside: int, doubts: int) -> Iterator[str]:
    """Lines that say what was written and what comes next. aside, doubts: rows set aside, and rows to look at."""
    places = (("--store", asked.store or STORE), ("--site", SITE))
    if asked.report is not None and aside:
        yield f"Written: {asked.report}, {many(aside, 'row')} set aside, each with its reasons."
        yield f"Next: mend the cells in {asked.report.name} and save it. Then publish your records, if the store does"
        yield "not hold them yet, and after them the mended rows:"
        yield f"  {asked.command('publish', asked.exports, *places)}"
        yield f"  {asked.command('publish', [asked.report], *places)}"
    elif asked.report is not None:
        yield f"Written: {asked.report}. No row is set aside: there is nothing to mend in it."
    elif aside or doubts:
        yield "All of them, row by row" + (", to be mended in a spreadsheet and sent in again:" if aside else ":")
        report = free_name(REPORT, asked.exports)
        yield f"  {asked.command('check', asked.exports, *_own_store(asked), ('--report', report))}"
    if asked.draft is not None:
        yield f"Written: {asked.draft}, a draft of a layout file."
        yield "Next: complete it in a text editor, then see what it changes:"
        others = tuple(option for option in asked.reading if option[0] != "--layout")
        asked = Checked(asked.exports, asked.store, (*others, ("--layout", str(asked.draft))))
        yield f"  {asked.command('check', asked.exports, *_own_store(asked))}"


def free_name(path: Path, exports: Sequence[Path] = ()) -> Path:
    """This path, or the first of path-2, path-3 … that is no file yet, nor one of the exports, nor inside one."""
    inside = [export.resolve() for export in exports]
    while path.resolve().parent in inside:
        if path.resolve().parent == Path(path.resolve().anchor):  # a whole disk: no folder stands around it
            path = Path.home() / path.name
            break
        path = path.parent.parent / path.name if path.parent.name not in ("", "..") else Path("..") / path
    others = (path.with_stem(f"{path.stem}-{number}") for number in count(2))
    return next(name for name in chain([path], others) if not name.exists() and name not in exports)


def _own_store(asked: Checked) -> tuple[tuple[str, Path], ...]:
    return (("--store", asked.store),) if asked.store is not None else ()
