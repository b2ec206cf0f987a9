"""Look for strings in every byte that is handed over: names of files, raw bytes, and what unpacks from them."""

import re
import zlib
from collections.abc import Iterable, Iterator
from pathlib import Path

from pypdf import PdfReader


def found(folder: Path, wanted: Iterable[str]) -> set[tuple[str, str]]:
    """(file, string) for each string found in a file's name, bytes, PDF text, PDF metadata or unpacked PDF streams."""
    words = sorted(wanted)
    hits = set()
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder).as_posix()
        forms = [name.encode(), *(_forms(path) if path.is_file() else [])]
        hits |= {(name, word) for word in words if any(_holds(form, word) for form in forms)}
    return hits


def _holds(form: bytes, word: str) -> bool:
    return any(word.encode(code) in form for code in ("utf-8", "utf-16-le", "utf-16-be"))


def _forms(path: Path) -> Iterator[bytes]:
    raw = path.read_bytes()
    yield raw
    if path.suffix == ".pdf":
        yield from _unpacked(raw)
        reader = PdfReader(path)
        yield str(reader.metadata).encode()
        yield str(reader.xmp_metadata.stream.get_data()).encode() if reader.xmp_metadata else b""
        yield " ".join(page.extract_text() for page in reader.pages).encode()


def _unpacked(raw: bytes) -> Iterator[bytes]:
    for start in (match.end() for match in re.finditer(rb"stream\r?\n", raw)):
        try:
            yield zlib.decompressobj().decompress(raw[start:])
        except zlib.error:
            continue  # not every stream is packed this way; its raw bytes were searched
