"""Hand summaries over: gather, write in a process of its own, record, and put in place; all of it or nothing."""

import re
import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path

import polars as pl

from pipelines.sharing.apart import write_apart
from pipelines.sharing.asked_for import horse_called, label
from pipelines.sharing.asks import read_asks
from pipelines.sharing.carrying import carry_over, read_earlier
from pipelines.sharing.consent import Held, Returned, consents
from pipelines.sharing.gather import (
    Fallen,
    Gathered,
    NothingToShare,
    Wanted,
    Withdrawn,
    compare,
    gather,
    to_delete,
    vet_as_written,
    vets_with_consent,
)
from pipelines.sharing.peers import Compared
from pipelines.sharing.sealing import passphrase, seal
from pipelines.store import Store, open_store
from pipelines.store.shared_store import record_share
from schemas.ledger import Shares, ShareUnits
from schemas.problem import Problem
from schemas.shared import Asks

Rows = dict[str, pl.DataFrame]
NO_RECORDS = "the store holds no records yet: publish some records into it first"
NOT_ON_WINDOWS = r"con|prn|aux|nul|(com|lpt)\d"  # names of devices there, which no folder can have


@dataclass(frozen=True)
class How:
    """How summaries are made. now: the moment, UTC. encrypt: as one zip alone; ask: asks for its passphrase.

    earlier: another store, whose summaries and refusals are to be known to this one too; tell: told what became of it.
    """

    now: datetime
    fhir: bool = False
    pdf: bool = True
    encrypt: bool = False
    ask: Callable[[], str] | None = None
    earlier: Path | None = None
    tell: Callable[[str], object] = lambda line: None


@dataclass(frozen=True)
class Shared:
    """One summary made; where summary is None, none could be. The rest is for the farrier's eyes.

    withdrawn: horses in earlier ones, to be recalled; fallen: earlier ones whose figures of groups are to be.
    held: horses that are not in it, as a row set aside leaves their consent in doubt; returned: those whose consent
    came back; also: other spellings of the vet practice, put together with it. not_asked: the horse of each question
    that went to nobody, as it is in no summary of this call; first: whether the store knew of no summary before; the
    same in each.
    """

    vet: str
    summary: str | None
    folder: Path | None
    horses: int
    sha256: str | None
    withdrawn: tuple[Withdrawn, ...]
    fallen: tuple[Fallen, ...] = ()
    held: tuple[Held, ...] = ()
    returned: tuple[Returned, ...] = ()
    also: tuple[str, ...] = ()
    not_asked: tuple[str, ...] = ()
    first: bool = False


def share(
    store_path: Path,
    vet: str | None,
    to: Path,
    how: How,
    *,
    since: date | None = None,
    horse: str | None = None,
    all_vets: bool = False,
    contact: str | None = None,
    asks: Path | None = None,
    follow_up_days: int = 84,
    hemisphere: str = "north",
) -> list[Shared]:
    """Write the summary of one vet practice into the folder `to`, or with all_vets one each in folders below it.

    Only horses whose owner consents at the as-of date, that of the latest load. since: nothing before that day. horse:
    that one alone, by its code or a name that only one has. contact: who to ask, printed as given. asks: a CSV file of
    questions to the vet. `to` must be new or empty. Raises Problem, with nothing changed, where that cannot be done;
    what an earlier store knows is kept even so, or the next call would share what the owner there refused.
    """
    _refuse(store_path, vet, to, all_vets, how.encrypt)
    words = passphrase(how.ask) if how.encrypt else None
    if how.earlier is not None:
        _carry(store_path, how.earlier, how.tell)
    base = Wanted((vet or "").strip(), date.min, since, horse, contact, follow_up_days)
    with _beside(to) as work:
        making = _Making(how, words, work / "made", all_vets)
        made, rows = making.make_all(store_path, base, asks, hemisphere)
        with open_store(store_path) as store:
            _record_all(store, rows)
            _place(work / "made", to)
    return [replace(one, folder=to / one.folder if one.folder else None) for one in made]


def _carry(store_path: Path, path: Path, tell: Callable[[str], object]) -> None:
    earlier = read_earlier(path, store_path)
    with open_store(store_path) as store:
        if store.last_as_of() is None:
            raise Problem(NO_RECORDS)
        lines = carry_over(store, earlier)
        store.commit()
    for line in lines:
        tell(line)


def shares(store_path: Path) -> pl.DataFrame:
    """Every summary made so far: `ledger.shares`."""
    with open_store(store_path, read_only=True) as store:
        return Shares.check(store.sql("select * from ledger.shares order by share_id"))


def _refuse(store_path: Path, vet: str | None, to: Path, all_vets: bool, encrypt: bool) -> None:
    if bool(vet and vet.strip()) == all_vets:
        raise Problem("name one vet practice with --vet, or take --all-vets")
    if all_vets and encrypt:
        raise Problem(
            "--all-vets with --encrypt would seal all summaries with one passphrase, so that each vet practice could "
            "open another's: share with one at a time, --vet and a passphrase of its own each"
        )
    if not store_path.exists():
        raise Problem(f"there is no store {store_path}: publish some records into it first")
    if to.exists() and (not to.is_dir() or any(to.iterdir())):
        raise Problem(f"{to} is there already and not empty: name a new folder, so that no earlier summary is lost")


@dataclass(frozen=True)
class _Making:
    """Where and how the files of one call are written. words: the passphrase, if any; apart: one folder a vet."""

    how: How
    words: str | None
    work: Path
    apart: bool

    def make_all(
        self, store_path: Path, base: Wanted, asks: Path | None, hemisphere: str
    ) -> tuple[list[Shared], list[Rows]]:
        """Every summary asked for. The store is closed unchanged: what is recorded here is for the next one to see."""
        made, rows = [], []
        with open_store(store_path) as store:
            known = consents(store)
            wanted = replace(
                base,
                as_of=_ready(store, base, hemisphere),
                vet=vet_as_written(store, base.vet),
                horse=horse_called(known, base.horse) if base.horse is not None else None,
            )
            vets = vets_with_consent(store) if self.apart else [wanted.vet]
            questions = _questions(store, asks)
            compared = compare(store, wanted)
            self.work.mkdir()
            for vet, folder in (_folders(vets) if self.apart else {wanted.vet: "."}).items():
                one, recorded = self._make(store, replace(wanted, vet=vet), questions, compared, folder)
                made.append(one)
                if recorded:
                    record_share(store, recorded)
                    rows.append(recorded)
        if not rows:
            raise Problem(_nothing_at_all(made))
        missed = tuple(label(known, horse) for horse in _not_asked(questions, rows))
        first = rows[0]["shares"]["share_id"][0] == 1 and self.how.earlier is None
        return [replace(one, not_asked=missed, first=first) for one in made], rows

    def _make(
        self, store: Store, wanted: Wanted, questions: pl.DataFrame, compared: Compared, folder: str
    ) -> tuple[Shared, Rows | None]:
        try:
            gathered = gather(store, wanted, questions, compared)
        except NothingToShare as nothing:
            if not self.apart:
                raise
            return Shared(wanted.vet, None, None, 0, None, nothing.withdrawn, held=nothing.held), None
        place = self.work / folder
        place.mkdir(exist_ok=True)
        sha256 = self._write(gathered, place)
        horses = gathered.tables["horses"].height
        one = Shared(
            wanted.vet,
            gathered.summary,
            Path(folder),
            horses,
            sha256,
            gathered.withdrawn,
            gathered.fallen,
            gathered.held,
            gathered.returned,
            gathered.also,
        )
        return one, _recorded(one, gathered, self.how)

    def _write(self, gathered: Gathered, place: Path) -> str:
        if self.words is None:
            return write_apart(gathered.tables, place, pdf=self.how.pdf, fhir=self.how.fhir)
        with tempfile.TemporaryDirectory(dir=self.work.parent) as readable:
            sha256 = write_apart(gathered.tables, Path(readable), pdf=self.how.pdf, fhir=self.how.fhir)
            seal(Path(readable), place / f"{gathered.summary}.zip", self.words)
        return sha256


def _ready(store: Store, base: Wanted, hemisphere: str) -> date:
    as_of = store.last_as_of()
    if as_of is None:
        raise Problem(NO_RECORDS)
    if base.since is not None and base.since > as_of:
        raise Problem(f"--since {base.since} is after {as_of}, the day the record is read as of: name an earlier day")
    store.derive(as_of, base.follow_up_days, hemisphere)
    return as_of


def _nothing_at_all(made: list[Shared]) -> str:
    recall = to_delete({one.vet: one.withdrawn for one in made})
    return f"no horse may be shared: the owner's consent and a vet practice must stand in the record{recall}"


def _not_asked(questions: pl.DataFrame, rows: list[Rows]) -> tuple[str, ...]:
    shared = {horse for one in rows for horse in one["share_horses"]["horse_id"]}
    return tuple(horse for horse in questions["horse_id"] if horse not in shared)


def _questions(store: Store, asks: Path | None) -> pl.DataFrame:
    if asks is None:
        return Asks.empty()
    return read_asks(asks, store.sql("select horse_id, horse_name from accepted.horses"))


def _recorded(one: Shared, gathered: Gathered, how: How) -> Rows:
    cover = gathered.tables["cover"].to_dicts()[0]
    number = pl.lit(gathered.share_id, pl.Int64).alias("share_id")
    row = {
        "share_id": gathered.share_id,
        "summary": gathered.summary,
        "vet_practice": one.vet,
        "shared_at": how.now.replace(tzinfo=None),
        "as_of": cover["as_of"],
        "since": cover["since"],
        "counted_to": gathered.counted_to,
        "horses": one.horses,
        "with_data": how.fhir,
        "encrypted": how.encrypt,
        "sha256": one.sha256,
        "carried_over": False,
    }
    return {
        "shares": pl.DataFrame([row], schema=Shares.dtypes()),
        "share_horses": pl.DataFrame({"horse_id": list(gathered.horse_ids)}).select(number, "horse_id"),
        "share_units": gathered.units.select(list(ShareUnits.columns())),
    }


def _record_all(store: Store, rows: list[Rows]) -> None:
    last = store.sql("select coalesce(max(share_id), 0) as last from ledger.shares")["last"][0]
    if rows[0]["shares"]["share_id"][0] != last + 1:
        raise Problem("another summary was made at the same time: try again")
    for one in rows:
        record_share(store, one)
    store.commit()


def _folders(vets: list[str]) -> dict[str, str]:
    """A folder name for each vet practice, safe on any system and no two alike."""
    names: dict[str, str] = {}
    for vet in vets:
        plain = re.sub(r"[^A-Za-z0-9]+", "-", vet).strip("-").lower()[:60] or "vet"
        plain = f"vet-{plain}" if re.fullmatch(NOT_ON_WINDOWS, plain) else plain
        taken = sum(name == plain or name.startswith(f"{plain}_") for name in names.values())
        names[vet] = f"{plain}_{taken + 1}" if taken else plain
    return names


@contextmanager
def _beside(to: Path) -> Iterator[Path]:
    """A folder of our own beside `to`, gone afterwards, so that nothing half done is ever in place.

    Folders above `to` that had to be made are gone too where nothing was put in place.
    """
    above = to.absolute().parent
    fresh = [folder for folder in (above, *above.parents) if not folder.exists()]
    try:
        above.mkdir(parents=True, exist_ok=True)
        work = Path(tempfile.mkdtemp(prefix=".shoeing-share-", dir=above))
    except OSError as error:
        raise Problem(f"cannot write {to}: {error.strerror}") from error
    try:
        yield work
    finally:
        shutil.rmtree(work, ignore_errors=True)
        for folder in fresh:
            with suppress(OSError):
                folder.rmdir()


def _place(made: Path, to: Path) -> None:
    try:
        if to.exists():
            to.rmdir()
        made.rename(to)
    except OSError as error:
        raise Problem(
            f"cannot write {to}: {error.strerror}; the summary stands in the list but not in place"
        ) from error
