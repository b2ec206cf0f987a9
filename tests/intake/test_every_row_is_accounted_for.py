"""Each row of any export is accepted, collapsed or set aside, and a damaged cell is named where it stands."""

import tempfile
from datetime import date
from pathlib import Path

import pandera.polars as pa
import polars as pl
from hypothesis import given, settings
from hypothesis import strategies as st

from pipelines.intake import read_export
from pipelines.intake.rules import rules_of
from schemas.exports import EXPORT_TABLES
from schemas.records import Known

TODAY = date(2025, 1, 5)
ROWS = {
    "horses": st.tuples(st.sampled_from("AB"), st.just("Made Up"), st.sampled_from(["polo", "polo", "trail", ""])),
    "visits": st.tuples(
        st.sampled_from("123"), st.sampled_from("ABC"),
        st.sampled_from(["2025-01-03", "2025-01-04", "2025-01-06", "soon"]), st.just("routine"),
    ),
    "feet": st.tuples(
        st.sampled_from("1234"), st.sampled_from(["LF", "RF", "XX"]), st.just("bare"),
        st.sampled_from(["trim", "none"]),
    ),
    "losses": st.tuples(
        st.sampled_from("78"), st.sampled_from("ABC"), st.just("LF"), st.sampled_from(["2025-01-03", "2025-01-06"]),
    ),
}  # fmt: skip
WORLD = st.fixed_dictionaries({table: st.lists(rows, max_size=5) for table, rows in ROWS.items()})
PARENT = {"visits": ("horses", 1), "feet": ("visits", 0), "losses": ("horses", 1)}
SLOW_READ = settings(deadline=None, max_examples=40)
KEY = {"horses": 1, "visits": 1, "feet": 2, "losses": 1}


def read_world(*worlds: dict[str, list[tuple]]):
    with tempfile.TemporaryDirectory() as folder:
        paths = [Path(folder) / str(number) for number in range(len(worlds))]
        for path, world in zip(paths, worlds, strict=True):
            path.mkdir()
            for table, rows in world.items():
                lines = [EXPORT_TABLES[table].required(), *rows]
                text = "".join(",".join(line) + "\n" for line in lines)
                (path / f"{table}.csv").write_text(text, encoding="utf-8")
        return read_export(paths, Known(), None, TODAY)


def faulty(table: str, row: tuple) -> bool:
    day = {"visits": 2, "losses": 3}.get(table)
    wrong_day = day is not None and (row[day] == "soon" or date.fromisoformat(row[day]) > TODAY)
    return "" in row or "XX" in row or wrong_day


def accepted_plainly(world: dict[str, list[tuple]]) -> dict[str, set[tuple]]:
    """The rules once more, in loops: no fault of its own, no other row of its key that differs, and a parent."""
    accepted: dict[str, set[tuple]] = {}
    for table in ROWS:
        good = set()
        for row in world[table]:
            others = [other for other in world[table] if other[: KEY[table]] == row[: KEY[table]]]
            if not faulty(table, row) and all(other == row for other in others):
                good.add(row)
        if table in PARENT:
            parent, at = PARENT[table]
            ids = {row[0] for row in accepted[parent]}
            good = {row for row in good if row[at] in ids}
        accepted[table] = good
    return accepted


def accepted_rows(records, table: str) -> set[tuple]:
    required = EXPORT_TABLES[table].required()
    return set(records.tables[table].select(pl.col(required).cast(pl.String)).rows())


@SLOW_READ
@given(WORLD)
def test_the_rows_accepted_are_those_of_a_plain_second_version(world):
    records = read_world(world)
    assert {table: accepted_rows(records, table) for table in world} == accepted_plainly(world)


@SLOW_READ
@given(WORLD, WORLD)
def test_rows_read_are_accepted_collapsed_or_set_aside(earlier, later):
    records = read_world(earlier, later)
    for table in ROWS:
        aside = set(records.set_aside.filter(table_name=table)["source_file", "source_row"].rows())
        kept = records.tables[table]["source_file", "source_row"].rows()
        read = len(earlier[table]) + len(later[table])
        assert records.rows_read[table] == read == len(kept) + records.collapsed[table] + len(aside)
        assert not aside & set(kept)
        assert records.tables[table].select(EXPORT_TABLES[table].key()).is_unique().all()


WHOLE = {
    "horses": {
        "horse_id": "H1", "horse_name": "Made Up", "discipline": "polo", "foaled_year": "2012", "sex": "mare",
        "height_hands": "15.2", "mass_kg": "480", "turnout": "part_day", "work_days_per_week": "5",
        "microchip": "985102001234567", "ueln": "276431234567890", "share_with_vet": "yes",
    },
    "visits": {
        "visit_id": "V1", "horse_id": "H1", "visit_date": "2025-01-03", "visit_kind": "routine", "minutes": "60",
        "fee": "90", "travel_km": "12.5", "planned_weeks": "6", "handling": "2",
    },
    "feet": {
        "visit_id": "V1", "foot": "LF", "arrival": "on", "work": "fit_new", "shoe_style": "plain",
        "shoe_material": "steel", "web_mm": "20", "thickness_mm": "8", "branch_past_heel_mm": "4",
        "expansion_mm": "2", "nails_medial": "3", "nails_lateral": "3", "heel_nails": "1", "nail_line": "rising",
        "clips": "toe", "pad": "none", "fitting": "hot", "edges_dressed": "yes", "sole_relief": "no",
        "wall_state": "cracked", "wall_side": "toe", "bruise_grade": "1", "bruise_site": "toe",
        "angle_arrival_deg": "50", "angle_leaving_deg": "52", "toe_arrival_mm": "85", "toe_leaving_mm": "80",
    },
    "losses": {
        "loss_id": "L1", "horse_id": "H1", "foot": "LF", "found_off": "2025-01-04", "last_seen_on": "2025-01-04",
        "cause": "caught", "activity": "ridden", "ground": "deep",
    },
}  # fmt: skip
DAMAGEABLE = [
    (table, column)
    for table, row in WHOLE.items()
    for column in row
    if (meaning := EXPORT_TABLES[table].columns()[column]).kind != "text" or meaning.pattern
]


def read_whole(damaged: tuple[str, str] | None = None, cell: str = ""):
    with tempfile.TemporaryDirectory() as folder:
        for table, row in WHOLE.items():
            cells = [cell if (table, column) == damaged else value for column, value in row.items()]
            lines = [",".join(row), ",".join(cells)]
            (Path(folder) / f"{table}.csv").write_text("\n".join(lines), encoding="utf-8")
        return read_export([Path(folder)], Known(), None, TODAY)


def test_the_whole_rows_hold_no_fault_and_no_doubt():
    records = read_whole()
    assert (records.set_aside.height, records.warnings.height) == (0, 0)
    assert all(table.height == 1 for table in records.tables.values())


@SLOW_READ
@given(st.sampled_from(DAMAGEABLE), st.text("#¿§~", min_size=1, max_size=5))
def test_a_damaged_cell_is_named_by_file_row_column_and_what_was_found(damaged, cell):
    table, column = damaged
    records = read_whole(damaged, cell)
    found = pl.concat([records.set_aside, records.warnings])
    named = found.filter(table_name=table, column_name=column)["source_file", "source_row", "value"].rows()
    assert named == [(f"{table}.csv", 2, cell)]
    assert (records.tables[table].height == 0) == (column != "discipline")


NEAR_LIMITS = {
    "foaled_year": st.integers(1978, 1982), "mass_kg": st.floats(75, 1305), "work_days_per_week": st.integers(-1, 8),
    "height_hands": st.sampled_from(["15.2", "15.4", "3", "4", "22.3", "23", "15.", "tall"]),
    "ueln": st.sampled_from(["276431234567890", "27643123456789", "27a431234567890", "276abc234567890"]),
    "horse_id": st.sampled_from(["H", "H" * 64, "H" * 65]), "horse_name": st.just("Made Up"),
    "discipline": st.just("polo"),
}  # fmt: skip
HORSES = st.lists(
    st.fixed_dictionaries(
        {name: st.one_of(st.none(), values) for name, values in NEAR_LIMITS.items()}
    ),
    min_size=1, max_size=6,
)  # fmt: skip


@settings(deadline=None)
@given(HORSES)
def test_the_rules_are_those_of_the_declared_table(drawn):
    """The compiled rules find, row by row and column by column, what the declaration's own validation finds."""
    table = EXPORT_TABLES["horses"]
    typed = pl.DataFrame(drawn, schema_overrides=table.dtypes()).select(
        pl.col(name) if name in NEAR_LIMITS else pl.lit(None, kind).alias(name) for name, kind in table.dtypes().items()
    )
    ours = {
        (at, rule.column)
        for rule in rules_of("horses")
        for at in typed.select(rule.bad.fill_null(False)).to_series().arg_true()
    }
    assert ours == declared_failures(table, typed)


def declared_failures(table, typed: pl.DataFrame) -> set[tuple[int, str]]:
    try:
        table.validate(typed, lazy=True)
    except pa.errors.SchemaErrors as errors:
        cases = errors.failure_cases.filter(pl.col("index").is_not_null(), pl.col("column").is_in(list(NEAR_LIMITS)))
        return set(cases.select("index", "column").rows())
    return set()
