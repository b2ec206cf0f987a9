"""Reading and checking one flat sheet in a person's words beside the same facts in canonical tables, in one run.

Each in a process of its own, in turn, several rounds, best round kept. Usage:
python tests/bench/flat.py [--rows 250000] [--rounds 3]
"""

import argparse
import json
import subprocess
import sys
import tempfile
from multiprocessing import Process
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from pipelines.simulate import simulate  # noqa: E402
from tests.intake.telling import Teller, as_flat, write  # noqa: E402

FEET_A_HORSE_YEAR = 33
READ = """
import json, resource, sys, time
from datetime import UTC, datetime
from pathlib import Path
from pipelines.intake import read_export
from schemas.records import Known
start = time.perf_counter(), time.process_time()
records = read_export([Path(sys.argv[1])], Known(), None, datetime.now(UTC).date())
wall, cpu = time.perf_counter() - start[0], time.process_time() - start[1]
rows = {name: table.height for name, table in records.tables.items()}
memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
print(json.dumps({"wall": wall, "cpu": cpu, "memory_mb": round(memory), "rows": rows}))
"""


def read(folder: Path) -> dict:
    """What one reading took, and what it accepted."""
    done = subprocess.run([sys.executable, "-c", READ, folder], capture_output=True, text=True, cwd=ROOT)
    if done.returncode:
        sys.exit(done.stderr)
    return json.loads(done.stdout)


def tell(rows: int, plain: Path, flat: Path) -> None:
    """One made-up practice as four canonical tables and as one flat sheet in a person's words."""
    years = 2.5
    made = simulate(max(1, round(rows / FEET_A_HORSE_YEAR / years)), years, 1)
    tables = {**made.tables, "visits": made.tables["visits"].drop("notes")}
    plain.mkdir()
    for name, table in tables.items():
        table.write_csv(plain / f"{name}.csv")
    write(as_flat(Teller(4), tables), flat, "utf-8", ",", title=False)


def main() -> None:
    """Make the two tellings, read each in turn, print the best of each and their ratio."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=250_000)
    parser.add_argument("--rounds", type=int, default=3)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as place:
        plain, flat = Path(place) / "canonical", Path(place) / "flat"
        # In a process of its own: a child's peak memory starts at its parent's.
        making = Process(target=tell, args=(asked.rows, plain, flat))
        making.start()
        making.join()
        rounds = [(read(plain), read(flat)) for _ in range(asked.rounds)]
    assert all(one["rows"] == other["rows"] for one, other in rounds), rounds[0]
    for what in ("wall", "cpu"):
        one, other = (min(part[at][what] for part in rounds) for at in (0, 1))
        print(f"{what}: canonical {one:.2f} s, flat {other:.2f} s = {other / one:.2f} x")
    print(f"{rounds[0][1]['rows']['feet']:,} foot rows; flat needs {rounds[0][1]['memory_mb']:,} MB at most")


if __name__ == "__main__":
    main()
