"""A site is written beside and swapped in whole; a folder that is no site of ours is never replaced."""

import json
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from schemas.base import Problem

MARK = "site.json"


@contextmanager
def site_beside(site: Path) -> Iterator[Path]:
    """A new folder beside `site` to write into; once the block ends without an error it takes the place of `site`.

    Raises Problem where `site` holds something else than an earlier site, or cannot be written.
    """
    refuse_other_folder(site)
    try:
        site.absolute().parent.mkdir(parents=True, exist_ok=True)
        beside = Path(tempfile.mkdtemp(prefix=f".{site.name}-", dir=site.absolute().parent))
    except OSError as error:
        raise Problem(f"cannot write {site}: {error.strerror}") from error
    try:
        yield beside
        pages = sorted(page.relative_to(beside).as_posix() for page in beside.rglob("*") if page.is_file())
        (beside / MARK).write_text(json.dumps({"files": pages}, indent=1) + "\n", encoding="utf-8")
        beside.chmod(0o755)
        _swap(beside, site)
    finally:
        shutil.rmtree(beside, ignore_errors=True)


def refuse_other_folder(site: Path) -> None:
    """Raise Problem unless `site` is absent, empty or an earlier site with nothing else in it, and can be read."""
    try:
        if not site.exists():
            return
        if not site.is_dir():
            raise Problem(f"{site} is a file: name a folder for the site")
        own = _files_of_site(site)
        # Up to the first other file: a whole disk named by mistake holds more than can be listed.
        if any(page.is_file() and page.relative_to(site).as_posix() not in own for page in site.rglob("*")):
            raise Problem(f"{site} holds files that are no site of this program: name a new or an empty folder")
    except OSError as error:
        raise Problem(f"cannot write {site}: {error.strerror}") from error


def _files_of_site(site: Path) -> set[str]:
    try:
        return {MARK, *json.loads((site / MARK).read_text(encoding="utf-8"))["files"]}
    except (OSError, ValueError, KeyError, TypeError):
        return set()


def _swap(beside: Path, site: Path) -> None:
    old = beside.with_name(beside.name + "-old")
    try:
        if site.exists():
            site.rename(old)
        beside.rename(site)
    except OSError as error:
        if old.exists():
            old.rename(site)
        raise Problem(f"cannot write {site}: {error.strerror}") from error
    shutil.rmtree(old, ignore_errors=True)
