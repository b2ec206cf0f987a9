"""Paths → sheets of text: which files belong to an export, what each is, and what it holds."""

import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from pipelines.intake.sheet import Sheet
from schemas.exports import EXPORT_TABLES
from schemas.problem import Problem

WORKBOOKS = (".xlsx", ".ods")
TEXTS = (".csv", ".tsv")
READABLE = (*TEXTS, *WORKBOOKS, ".parquet", ".jsonl")


@dataclass(frozen=True)
class Source:
    """One file of an export. called: the name used for it in every message; export: which one, from 0."""

    path: Path
    called: str
    export: int


@dataclass(frozen=True)
class ReadFile:
    """One file once read: the hash of its bytes and what stood in it."""

    source: Source
    sha256: str
    sheets: list[Sheet]


def find_files(paths: Sequence[Path]) -> tuple[list[Source], list[Source]]:
    """The files of each export in order of arrival, and the files in its folders that are of no kind read here.

    Each path is one export: a folder, a workbook or a single file. Raises Problem where a path is absent, a folder
    holds nothing to read, or a file of an unknown kind is given by name or is named like a table.
    """
    sources, left = [], []
    for export, path in enumerate(map(Path, paths)):
        if path.is_dir():
            inside = list(_inside(path, export, len(paths) > 1))
            sources += [source for source in inside if _is_readable(source.path)]
            left += [source for source in inside if not _is_readable(source.path)]
            if not any(_is_readable(source.path) for source in inside):
                raise Problem(f"{path} holds no file to read: put {', '.join(READABLE)} files in it")
        elif path.exists():
            sources.append(Source(path, path.name, export))
        else:
            raise Problem(f"there is no file or folder {path}")
    for source in [*sources, *left]:
        _refuse_unknown_kind(source, given=source in sources)
    return sources, left


def _inside(folder: Path, export: int, named_by_folder: bool) -> Iterator[Source]:
    """Files of a folder by name, without those a program hides or locks."""
    for path in sorted(folder.iterdir()):
        if path.is_file() and not path.name.startswith((".", "~$")):
            yield Source(path, f"{folder.name}/{path.name}" if named_by_folder else path.name, export)


def _is_readable(path: Path) -> bool:
    return path.suffix.lower() in READABLE


def _refuse_unknown_kind(source: Source, given: bool) -> None:
    if _is_readable(source.path):
        return
    if given or source.path.stem.lower().startswith(tuple(EXPORT_TABLES)):
        kind = f"a {source.path.suffix} file" if source.path.suffix else "a file without an ending"
        raise Problem(f"{source.called} is {kind}, which cannot be read: save it as one of {', '.join(READABLE)}")


def read_file(source: Source) -> ReadFile:
    """One file, all its cells as text. Raises Problem where it cannot be read at all."""
    try:
        data = source.path.read_bytes()
    except OSError as error:
        raise Problem(f"{source.called} cannot be opened: {error.strerror}") from error
    return ReadFile(source, hashlib.sha256(data).hexdigest(), _sheets(source, data))


def _sheets(source: Source, data: bytes) -> list[Sheet]:
    if source.path.suffix.lower() in WORKBOOKS:
        return _sheets_of_workbook(source, data)
    header, header_row, cells = _single(source, data)
    return [Sheet(source.called, source.called, source.export, source.path.stem, header, header_row, cells)]


def _single(source: Source, data: bytes):
    from pipelines.intake import text_files, typed_files

    readers = {".parquet": typed_files.read_parquet, ".jsonl": typed_files.read_json_lines}
    return readers.get(source.path.suffix.lower(), text_files.read_text)(data, source.called)


def _sheets_of_workbook(source: Source, data: bytes) -> list[Sheet]:
    from pipelines.intake.workbooks import read_workbook

    written = [found for found in read_workbook(data, source.called) if found[1]]
    # A workbook of one sheet goes by the file's name: programs call the first sheet whatever they like.
    single = len(written) == 1
    return [
        Sheet(
            source.called if single else f"{source.called}, sheet {name}",
            source.called,
            source.export,
            source.path.stem if single and not _like_a_table(name) else name,
            header,
            header_row,
            cells,
        )
        for name, header, header_row, cells in written
    ]


def _like_a_table(name: str) -> bool:
    return name.lower().startswith(tuple(EXPORT_TABLES))
