"""The files of a summary and their SHA-256: what was handed over can be told from what was altered since."""

import json
import os
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
    """What is not as the manifest says: files altered, missing or added, folders added, links; empty if all is well.

    A link is never followed: what it leads to may change, or lie outside of what was handed over. Raises Problem where
    there is no manifest that can be read.
    """
    listed = _listed(folder)
    there = _all_in(folder)
    missing = [f"{name} is missing" for name in listed if name not in there]
    wrong = [fault for name, path in there.items() if name != MANIFEST and (fault := _fault(name, path, listed))]
    linked = [f"{MANIFEST} is a link"] if (folder / MANIFEST).is_symlink() else []
    return sorted(missing + wrong + linked)


def digest(path: Path) -> str:
    """SHA-256 of a file, hexadecimal."""
    return sha256(path.read_bytes()).hexdigest()


def _listed(folder: Path) -> dict[str, str]:
    try:
        files = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))["files"]
        return {str(file["path"]): str(file["sha256"]) for file in files}
    except FileNotFoundError:
        raise Problem(f"{folder} holds no {MANIFEST}: name the folder of a summary, or its zip") from None
    except NotADirectoryError:
        raise Problem(f"{folder} is a file and no zip: name the folder of a summary, or its zip") from None
    except (OSError, ValueError, KeyError, TypeError):
        raise Problem(f"{folder / MANIFEST} cannot be read: the summary was damaged") from None


def _fault(name: str, path: Path, listed: dict[str, str]) -> str | None:
    if path.is_symlink():
        return f"{name} is a link" if name in listed else f"{name} was added"
    if path.is_dir():
        expected = any(file.startswith(f"{name}/") for file in listed)
        return None if expected else f"{name}/ was added"
    if name not in listed:
        return f"{name} was added"
    return None if path.is_file() and digest(path) == listed[name] else f"{name} was altered"


def _all_in(folder: Path) -> dict[str, Path]:
    """Everything in a folder and the folders below it, by its path from there; links are not followed."""
    found: dict[str, Path] = {}
    for above, folders, files in os.walk(folder, followlinks=False):
        for name in (*folders, *files):
            path = Path(above, name)
            found[path.relative_to(folder).as_posix()] = path
    return found


def _files(folder: Path) -> list[Path]:
    return sorted(path for name, path in _all_in(folder).items() if path.is_file() and name != MANIFEST)
