"""The `share` command: write, list and verify summaries for vet practices."""

import sys
import warnings
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import Annotated, Any

import typer

from pipelines.arguments import day
from schemas.problem import Problem

DONE, NOT_GOOD = 0, 1
FHIR = "Add angles, toes, bruises, losses, both rates and the questions, not all facts, as an HL7 FHIR R5 bundle."

Vet = Annotated[str | None, typer.Option("--vet", metavar="REF", help="The vet practice, as the records name it.")]
To = Annotated[Path | None, typer.Option("--to", metavar="DIR", help="New or empty folder for the summary.")]
Since = Annotated[str | None, typer.Option("--since", metavar="DATE", help="Leave out what is before this day.")]
Horse = Annotated[
    str | None,
    typer.Option("--horse", metavar="HORSE", help="This horse alone: its name, or its code where two have it."),
]
Asks = Annotated[
    Path | None,
    typer.Option("--asks", metavar="FILE.csv", help="Questions: horse_id or Horse, question, asked_on, foot."),
]
Earlier = Annotated[
    Path | None,
    typer.Option("--earlier", metavar="OLD.duckdb", help="Another store that summaries were made from, once."),
]


def share(
    store: Annotated[Path | None, typer.Option("--store", metavar="FILE", help="The store.")] = None,
    vet: Vet = None,
    to: To = None,
    all_vets: Annotated[bool, typer.Option("--all-vets", help="A summary for each vet practice.")] = False,
    since: Since = None,
    horse: Horse = None,
    contact: Annotated[str | None, typer.Option("--contact", help="Who to ask, printed as you write it.")] = None,
    asks: Asks = None,
    fhir: Annotated[bool, typer.Option("--fhir", help=FHIR)] = False,
    pdf: Annotated[bool, typer.Option("--pdf/--no-pdf", help="Add the summary on paper, A4 and Letter.")] = True,
    encrypt: Annotated[
        bool, typer.Option("--encrypt", help="One AES zip; the passphrase is asked for or in SHOEING_PASSPHRASE.")
    ] = False,
    listed: Annotated[bool, typer.Option("--list", help="Show the summaries made so far.")] = False,
    verify: Annotated[
        Path | None,
        typer.Option("--verify", metavar="DIR", help="Tell whether each summary there, or a zip, is as handed over."),
    ] = None,
    earlier: Earlier = None,
) -> int:
    """Write what one vet practice may see of its own horses, where their owners agree, and nothing else."""
    _refuse_blanks({"--vet": vet, "--since": since, "--horse": horse, "--contact": contact})
    if verify is not None:
        return _verify(verify, store)
    if store is None:
        raise Problem("Missing option '--store': name the store that the records were published into")
    if listed:
        return _list(store)
    if to is None:
        raise Problem("Missing option '--to': name a new folder for the summary")
    from pipelines.sharing.share import How
    from pipelines.sharing.share import share as write

    how = How(datetime.now(UTC), fhir=fhir, pdf=pdf, encrypt=encrypt, ask=_ask, earlier=earlier, tell=_line)
    first = day(since, "--since") if since is not None else None
    made = write(store, vet, to, how, since=first, horse=horse, all_vets=all_vets, contact=contact, asks=asks)
    for one in made:
        _tell(one)
    _tell_of_all(made)
    if encrypt:
        sys.stdout.write(
            "The zip is opened by a program that opens AES-encrypted zip files (plain unzip can't) with the "
            "passphrase: tell the vet that by telephone, never in the message that brings the zip.\n"
        )
    if not contact:
        sys.stdout.write('The cover says to ask the sender: --contact "name, telephone" puts yours there.\n')
    return DONE


def _refuse_blanks(options: dict[str, str | None]) -> None:
    """An option left blank by mistake would share more than was meant, never less."""
    for option, text in options.items():
        if text is not None and not text.strip():
            raise Problem(f"{option} is blank: write what you mean after it, or leave {option} out")


def _line(text: str) -> None:
    sys.stdout.write(f"{text}\n")


def _tell(one: Any) -> None:
    if one.summary is None:
        sys.stdout.write(f"{one.vet}: nothing can be shared\n")
    else:
        horses = "1 horse" if one.horses == 1 else f"{one.horses} horses"
        sys.stdout.write(f"{one.vet}: {horses}, {one.folder} (summary {one.summary})\n")
    if one.also:
        sys.stdout.write(f"  {one.vet}: also written {', '.join(one.also)}; taken for one vet practice\n")
    for horse in dict.fromkeys(gone.horse_name for gone in one.withdrawn):
        was_in = [f"{gone.summary} of {gone.shared_on}" for gone in one.withdrawn if gone.horse_name == horse]
        count = "summary" if len(was_in) == 1 else "summaries"
        sys.stdout.write(
            f"  Call back: {horse} may no longer be shared with {one.vet}; it was in {count} {', '.join(was_in)}\n"
        )
    for horse in (*one.held, *one.returned):
        sys.stdout.write(f"  {horse.line}\n")


def _tell_of_all(made: list[Any]) -> None:
    for gone in sorted({(one.vet, one.shared_on, one.summary) for each in made for one in each.fallen}):
        sys.stdout.write(
            f"Call back: the groups in summary {gone[2]} of {gone[1]}, made for {gone[0]}, rest on too "
            "few as the record now stands; groups like these are no longer told\n"
        )
    if made[0].first:
        sys.stdout.write(
            "Do not send it yet if summaries were made from another store: make it again with --earlier OLD.duckdb, "
            "into a new folder, so that those can be called back and this one is held against them.\n"
        )
    if missed := made[0].not_asked:
        questions = "1 question" if len(missed) == 1 else f"{len(missed)} questions"
        horses = ", ".join(dict.fromkeys(missed))
        sys.stdout.write(f"Not asked: {questions} about horses that stand in no summary made here: {horses}\n")


def _list(store: Path) -> int:
    from pipelines.sharing.share import shares

    made = shares(store)
    if made.is_empty():
        sys.stdout.write("No summary was made yet.\n")
    for row in made.iter_rows(named=True):
        sys.stdout.write(
            f"{row['shared_at']:%Y-%m-%d %H:%M} UTC  {row['vet_practice']}  {row['summary']}  "
            f"{row['horses']} horses  as of {row['as_of']}  manifest sha256 {row['sha256']}\n"
        )
    return DONE


def _verify(folder: Path, store: Path | None) -> int:
    from pipelines.sharing.verifying import besides, summaries_in, verify

    summaries = summaries_in(folder)
    if summaries == [folder]:
        return DONE if _judged(folder, verify(folder, store_path=store, ask=_ask)) else NOT_GOOD
    ask, good = cache(_ask), True
    for other in besides(folder, summaries):
        sys.stdout.write(f"{folder / other} is no summary\n")
        good = False
    for one in summaries:
        try:
            good &= _judged(one, verify(one, store_path=store, ask=ask), f"{one}: ")
        except Problem as problem:
            sys.stdout.write(f"{one}: {problem}\n")
            good = False
    return DONE if good else NOT_GOOD


def _judged(folder: Path, verdict: Any, where: str = "") -> bool:
    for fault in verdict.faults:
        sys.stdout.write(f"{where}{fault}\n")
    if verdict.recorded is False:
        sys.stdout.write(
            f"{where}the store never recorded this summary: it was not made from it, or was altered since\n"
        )
    if verdict.good:
        known = " and stands in the store's ledger" if verdict.recorded else ""
        sys.stdout.write(f"{folder} is as it was handed over{known}.\n")
    return verdict.good


def _ask() -> str:
    """What is typed unseen; blank where nothing can be asked, since what is typed would be seen there."""
    from getpass import GetPassWarning, getpass

    with warnings.catch_warnings():
        warnings.simplefilter("error", GetPassWarning)
        try:
            return getpass("Passphrase: ")
        except (GetPassWarning, EOFError):
            return ""
