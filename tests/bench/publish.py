"""Publish's time and peak memory, split by step, beside two yardsticks, in one run.

(a) DuckDB merely reading the same CSV files into tables; (b) plain_pandas.py. Each in a process of its own, in turn,
several rounds, best round kept. Usage: python tests/bench/publish.py [--rows 250000] [--rounds 3]
"""

import argparse
import json
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

HERE = Path(__file__).parent
FEET_A_HORSE_YEAR = 33
INTAKE = ("read and check", "take in")
OURS = """
import json, resource, sys, time
began = time.perf_counter()
from pathlib import Path
from pipelines import build
seconds = {}
def step(name, work, *args, **options):
    start = time.perf_counter()
    result = work(*args, **options)
    seconds[name] = round(time.perf_counter() - start, 3)
    return result
folder, place = Path(sys.argv[1]), Path(sys.argv[2])
outcome = build.publish([folder], place / "s.duckdb", place / "site", build.Settings(), step)
seconds["whole, with imports"] = round(time.perf_counter() - began, 3)
memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
sys.path.insert(0, ".")
import duckdb
con = duckdb.connect(str(place / "s.duckdb"), read_only=True)
row = con.sql("select shoes, losses, shoe_days, low from results.loss_rates where dimension = 'all'").fetchall()[0]
kept = con.sql(
    "select kept from results.retention where dimension = 'all' and day in (14, 28, 42, 56) order by day"
).fetchall()
figures = dict(zip(["shoes", "losses", "shoe_days", "low"], row)) | {"kept": [round(k, 9) for k, in kept]}
print(json.dumps({"seconds": seconds, "memory_mb": round(memory), "as_of": str(outcome.as_of), "figures": figures}))
"""


def run(*command):
    done = subprocess.run(command, capture_output=True, text=True, cwd=HERE.parents[1], env=environment())
    if done.returncode:
        sys.exit(done.stderr)
    return done.stdout.strip().splitlines()[-1]


def environment():
    """Byte code is kept, as on a machine in daily use."""
    return {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}


def one_round(folder):
    with tempfile.TemporaryDirectory() as place:
        ours = json.loads(run(sys.executable, "-c", OURS, folder, place))
    read = float(run(sys.executable, HERE / "duckdb_read.py", folder))
    pandas = json.loads(run(sys.executable, HERE / "plain_pandas.py", folder, ours["as_of"]))
    return ours, read, pandas


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=250_000)
    parser.add_argument("--rounds", type=int, default=3)
    asked = parser.parse_args()
    folder = Path(tempfile.mkdtemp()) / "export"
    years = 2.5
    horses = max(1, round(asked.rows / FEET_A_HORSE_YEAR / years))
    shoeing = Path(sys.executable).with_name("shoeing")
    print(run(shoeing, "simulate", "--horses", str(horses), "--years", str(years), "--seed", "1", "--to", folder))
    rounds = [one_round(folder) for _ in range(asked.rounds)]
    shutil.rmtree(folder.parent)
    ours = min((r[0] for r in rounds), key=lambda o: o["seconds"]["whole, with imports"])
    read, pandas = min(r[1] for r in rounds), min((r[2] for r in rounds), key=lambda p: p["seconds"]["whole"])
    intake = sum(ours["seconds"][name] for name in INTAKE)
    print(json.dumps({"ours": ours, "duckdb_read": read, "pandas": pandas}, indent=1))
    print(f"intake {intake:.2f} s = {intake / read:.1f} x DuckDB's reading ({read:.2f} s)")
    whole, script = ours["seconds"]["whole, with imports"], pandas["seconds"]["whole"]
    print(f"whole {whole:.2f} s; the script {script:.1f} s = {script / whole:.1f} x")
    drift = pandas["seconds"]["drift (statsmodels)"]
    print(f"without its mixed models the script takes {(script - drift) / whole:.1f} x ours")


if __name__ == "__main__":
    main()
