"""Close a summary with a passphrase for sending: one zip, AES-256, names of files being numbers and never names.

The passphrase comes from the environment or is asked for; a command line would keep it in its history.
"""

import os
import zlib
from collections.abc import Callable
from pathlib import Path

from schemas.problem import Problem

VARIABLE = "SHOEING_PASSPHRASE"
LEAST_CHARACTERS = 12  # the zip format stretches a passphrase by 1,000 rounds only, so that a short one is soon guessed
OLDEST = (1980, 1, 1, 0, 0, 0)  # the first day that a zip can tell: no moment of ours stands in it


def passphrase(ask: Callable[[], str] | None, *, new: bool = True) -> str:
    """The passphrase of the environment, else what `ask` gives.

    Raises Problem where there is none, or where a new one is short; one that is only to open a zip fits or does not.
    """
    if os.environ.get(VARIABLE) == "":
        raise Problem(f"no passphrase: {VARIABLE} is set but empty; give it one, or unset it to be asked")
    given = os.environ.get(VARIABLE) or (ask() if ask else "")
    if not given:
        raise Problem(f"no passphrase: set {VARIABLE}, or run this where it can be asked for")
    if new and len(given) < LEAST_CHARACTERS:
        raise Problem(f"the passphrase is too short: take at least {LEAST_CHARACTERS} characters, four words or more")
    return given


def seal(folder: Path, path: Path, words: str) -> None:
    """Write every file of `folder` into the encrypted zip `path`."""
    import pyzipper

    with pyzipper.AESZipFile(path, "w", compression=pyzipper.ZIP_DEFLATED, encryption=pyzipper.WZ_AES) as closed:
        closed.setpassword(words.encode())
        for file in sorted(one for one in folder.rglob("*") if one.is_file()):
            entry = closed.zipinfo_cls(file.relative_to(folder).as_posix(), OLDEST)
            entry.compress_type = pyzipper.ZIP_DEFLATED
            closed.writestr(entry, file.read_bytes())


def unseal(path: Path, folder: Path, words: str) -> None:
    """Unpack the encrypted zip `path` into `folder`, whole or not at all.

    Raises Problem where the passphrase does not fit, the file is damaged, or a file of it would lie elsewhere. All is
    read before any of it is written: one wrong passphrase in 65,536 is only found out at the end of a file.
    """
    files = _read(path, words)
    if not all((folder / name).resolve().is_relative_to(folder.resolve()) for name in files):
        raise Problem(f"{path.name} holds a file that would lie outside its folder: it is no summary")
    for name, content in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(content)


def _read(path: Path, words: str) -> dict[str, bytes]:
    """Every file of the zip. The library tells of a passphrase that does not fit as a RuntimeError, "Bad password"."""
    import pyzipper

    files: dict[str, bytes] = {}
    try:
        with pyzipper.AESZipFile(path) as closed:
            closed.setpassword(words.encode())
            for name in (one for one in closed.namelist() if not one.endswith("/")):
                files[name] = closed.read(name)
    except (RuntimeError, ValueError, NotImplementedError, zlib.error, pyzipper.BadZipFile) as error:
        if "Bad password" in str(error) and not files:
            raise Problem(f"the passphrase does not fit {path.name}: nothing was read; try again") from error
        raise Problem(f"{path.name} was damaged, or, very seldom, the passphrase is another") from error
    return files
