"""Tell whether a summary is as it was handed over."""

import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from zipfile import is_zipfile

from pipelines.sharing.manifest import MANIFEST, digest, faults
from pipelines.sharing.sealing import passphrase, unseal
from pipelines.store import open_store
from schemas.problem import Problem


@dataclass(frozen=True)
class Verdict:
    """faults: files altered, missing or added, folders added, links.

    recorded: whether the ledger knows the manifest; None if not asked.
    """

    faults: tuple[str, ...]
    sha256: str
    recorded: bool | None

    @property
    def good(self) -> bool:
        """Whether nothing speaks against it."""
        return not self.faults and self.recorded is not False


def summaries_in(folder: Path) -> list[Path]:
    """The folders to verify: this one, or where it only holds summaries, as --all-vets leaves it, each of those."""
    if not folder.is_dir() or _is_summary(folder):
        return [folder]
    return [one for one in sorted(folder.iterdir()) if _is_summary(one)] or [folder]


def besides(folder: Path, summaries: Sequence[Path]) -> list[str]:
    """Names of what else lies in a folder of summaries."""
    return [f"{one.name}{'/' * one.is_dir()}" for one in sorted(folder.iterdir()) if one not in summaries]


def _is_summary(folder: Path) -> bool:
    """A link is none: what it leads to may lie elsewhere."""
    if folder.is_symlink() or not folder.is_dir():
        return False
    return (folder / MANIFEST).exists() or any(folder.glob("*.zip"))


def verify(folder: Path, *, store_path: Path | None = None, ask: Callable[[], str] | None = None) -> Verdict:
    """Check every file of a summary against its manifest, and with a store the manifest against the ledger.

    folder: a summary, an encrypted one, or the folder that holds that, whose passphrase is asked for. A manifest alone
    can't tell a summary that was altered together with it; the ledger can.
    """
    closed = [folder] if folder.is_file() and folder.suffix.lower() == ".zip" else []
    if folder.is_dir() and not (folder / MANIFEST).exists():
        closed = sorted(folder.glob("*.zip"))
    if not closed:
        return _verdict(folder, store_path)
    if len(closed) > 1:
        raise Problem(f"{folder} holds {len(closed)} zips: put each in a folder of its own")
    others = [] if closed == [folder] else [path for path in sorted(folder.iterdir()) if path != closed[0]]
    beside = [f"{path.name}{'/' * path.is_dir()} was added" for path in others]
    if not is_zipfile(closed[0]):
        raise Problem(f"{closed[0].name} is no zip, or was cut: ask for it to be sent again")
    with tempfile.TemporaryDirectory() as private:
        unseal(closed[0], Path(private), passphrase(ask, new=False))
        return _verdict(Path(private), store_path, beside)


def _verdict(folder: Path, store_path: Path | None, beside: Sequence[str] = ()) -> Verdict:
    found = (*beside, *faults(folder))
    sha256 = digest(folder / MANIFEST)
    return Verdict(found, sha256, None if store_path is None else _recorded(store_path, sha256))


def _recorded(store_path: Path, sha256: str) -> bool:
    with open_store(store_path, read_only=True) as store:
        return sha256 in store.sql("select sha256 from ledger.shares")["sha256"].to_list()
