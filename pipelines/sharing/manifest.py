"""The files of a summary and their SHA-256: what was handed over can be told from what was altered since."""

import json
from hashlib import sha256
from pathlib import Path

from schemas.problem import Problem

MANIFEST = "manifest.json"


def write_manifest(folder: Path, summary: str) -> str:
    """Write manifest.json over every file in `folder`; returns the SHA-256 of the manifest itself."""
    files = [
        {"path": path.relative_to(folder).as_posix(), "bytes": path.stat().st_size, "sha256": digest(path)}
        for path in _files(folder)
    ]
    text = json.dumps({"summary": summary, "files": files}, indent=1) + "\n"
    (folder / MANIFEST).write_text(text, encoding="utf-8")
    return sha256(text.encode()).hexdigest()


def faults(folder: Path) -> list[str]:
    """What is not as the manifest says: files altered, missing or added; empty where all is well.

    Raises Problem where there is no manifest that can be read.
    """
    try:
        listed = {
            str(file["path"]): str(file["sha256"])
            for file in json.loads((folder / MANIFEST).read_text(encoding="utf-8"))["files"]
        }
    except FileNotFoundError:
        raise Problem(f"{folder} holds no {MANIFEST}: name the folder of a summary") from None
    except (OSError, ValueError, KeyError, TypeError):
        raise Problem(f"{folder / MANIFEST} cannot be read: the summary was damaged") from None
    there = {path.relative_to(folder).as_posix(): path for path in _files(folder)}
    missing = [f"{name} is missing" for name in listed if name not in there]
    added = [f"{name} was added" for name in there if name not in listed]
    altered = [f"{name} was altered" for name, path in there.items() if name in listed and digest(path) != listed[name]]
    return sorted(missing + added + altered)


def digest(path: Path) -> str:
    """SHA-256 of a file, hexadecimal."""
    return sha256(path.read_bytes()).hexdigest()


def _files(folder: Path) -> list[Path]:
    return sorted(path for path in folder.rglob("*") if path.is_file() and path.name != MANIFEST)
