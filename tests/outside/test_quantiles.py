"""Quantiles of two open sets against R 4.2.2, `quantile(x, type = 7)`, and DuckDB's own `quantile_cont`.

coal_gaps: days between colliery explosions, Jarrett 1979, Biometrika 66:191. aircondit7: hours between failures of air
conditioning, Proschan 1963, Technometrics 5:375. Ours come from counts by length, as intervals do.
"""

from pathlib import Path

import duckdb
import polars as pl
import pytest

from pipelines.analyses import interval_lengths
from pipelines.stats.quantiles import quantile_of_counts
from schemas.derived import VisitIntervals
from tests.analyses.drawing import fill
from tests.analyses.recorded import results_of

DATA = Path(__file__).parent / "data"
SHARES = (0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95)
R = {
    ("coal_gaps", "days"): (6.45, 15.9, 37.75, 113.5, 270, 462.5, 778.55),
    ("aircondit7", "hours"): (5, 7.4, 20.25, 41.5, 90.25, 173.3, 195.65),
}


def values(name, column):
    return pl.read_csv(DATA / f"{name}.csv")[column]


@pytest.mark.parametrize(("which", "theirs"), R.items(), ids=lambda part: part[0] if isinstance(part[0], str) else "")
def test_quantiles_from_counts_are_those_of_r_and_of_duckdb(which, theirs):
    counts = values(*which).value_counts().sort(which[1])
    ours = [quantile_of_counts(counts[which[1]].to_numpy(), counts["count"].to_numpy(), share) for share in SHARES]
    assert ours == pytest.approx(theirs, rel=1e-9)
    lengths = values(*which).to_frame("length")
    with duckdb.connect() as con:
        con.register("lengths", lengths)
        (duck,) = con.execute(f"select quantile_cont(length, {list(SHARES)}) from lengths").fetchone()
    assert ours == pytest.approx(duck, rel=1e-9)


def test_days_between_explosions_as_intervals_between_visits_have_them_too():
    intervals = [{"days": days} for days in values("coal_gaps", "days")]
    table = results_of(interval_lengths, visit_intervals=fill(VisitIntervals, intervals))["interval_lengths"]
    row = table.filter(dimension="all").row(0, named=True)
    found = [row[name] for name in ("p10_days", "p25_days", "median_days", "p75_days", "p90_days")]
    assert (row["intervals"], found) == (190, pytest.approx([15.9, 37.75, 113.5, 270, 462.5]))
