from dataclasses import dataclass
from pathlib import Path

import pytest

from pipelines.cli import run

PRACTICE = {
    "horses": """
        horse_id,horse_name,discipline,yard,owner_name,owner_contact
        H1,Made Up Ash,eventing,North,Private Person,secret@example.org
        H2,Made Up Bay,dressage,South,Private Person,secret@example.org
    """,
    "visits": """
        visit_id,horse_id,visit_date,farrier,visit_kind,minutes,planned_weeks,notes
        V1,H1,2025-01-01,A,routine,60,6,very private note
        V2,H1,2025-02-12,A,routine,60,6,
        V3,H2,2025-01-02,B,routine,60,6,
        V4,H2,2025-02-20,B,lost_shoe,30,6,
    """,
    "feet": """
        visit_id,foot,arrival,work,bruise_grade,angle_arrival_deg,angle_leaving_deg
        V1,LF,bare,fit_new,1,49,51
        V1,RF,bare,fit_new,0,49,51
        V2,LF,on,reset,2,48,51
        V2,RF,on,reset,0,48.5,51
        V3,LF,bare,fit_new,0,50,52
        V4,LF,off,fit_new,0,49,52
    """,
    "losses": """
        loss_id,horse_id,foot,found_off,last_seen_on,cause
        L1,H1,LF,2025-02-14,,stepped_on
    """,
}


def lines(text: str) -> str:
    return "\n".join(line.strip() for line in text.strip().splitlines()) + "\n"


@pytest.fixture
def export(tmp_path) -> Path:
    """A small made-up practice as CSV files, free to be damaged."""
    folder = tmp_path / "export"
    folder.mkdir()
    for table, text in PRACTICE.items():
        (folder / f"{table}.csv").write_text(lines(text), encoding="utf-8")
    return folder


@dataclass(frozen=True)
class Said:
    code: int
    out: str
    err: str


@pytest.fixture
def shoeing(capfd):
    """Run one command line; its exit code and all that it printed."""

    def command(*arguments) -> Said:
        code = run([str(argument) for argument in arguments])
        out, err = capfd.readouterr()
        return Said(code, out, err)

    return command
