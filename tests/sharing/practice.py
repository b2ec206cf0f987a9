"""A made-up practice whose private fields hold markers that must not be found in what is handed over."""

from datetime import date
from pathlib import Path

import polars as pl

from pipelines.simulate import simulate
from pipelines.store import open_store
from tests.store.drawn import load

VET, OTHER = "Vet One", "MARKvetother"
OURS = 3  # horses that may be shared with VET
MARKED_NUMBERS = {"fee": 7919.37, "minutes": 411.25, "travel_km": 913.75}
MARKED_TEXTS = {
    "horses": ["breed", "yard", "owner_ref", "owner_name", "owner_contact"],
    "visits": ["farrier", "notes"],
}


def tables(*, horses: int = 14, years: float = 0.8, seed: int = 5) -> dict[str, pl.DataFrame]:
    """An export of 14 horses. The first three consent to VET; two of VET's don't; the others see another vet."""
    made = simulate(horses, years, seed).tables
    number = pl.int_range(pl.len())
    others = pl.concat_str(pl.lit("MARKhorse"), number.cast(pl.String))
    made["horses"] = made["horses"].with_columns(
        horse_name=pl.when(number < OURS).then(pl.concat_str(pl.lit("Plain Horse "), number + 1)).otherwise(others),
        microchip=pl.concat_str(pl.lit("9980000000"), (number + 10_000).cast(pl.String)),
        ueln=pl.concat_str(pl.lit("999ABC0000"), (number + 10_000).cast(pl.String)),
        vet_practice=pl.when(number < OURS + 2).then(pl.lit(VET)).otherwise(pl.lit(OTHER)),
        share_with_vet=pl.when(number == OURS).then(pl.lit(None)).otherwise(number != OURS + 1),
    )
    for name, columns in MARKED_TEXTS.items():
        made[name] = made[name].with_columns(pl.concat_str(pl.lit(f"MARK{c}"), number).alias(c) for c in columns)
    made["visits"] = made["visits"].with_columns(pl.lit(value).alias(c) for c, value in MARKED_NUMBERS.items())
    return _with_marked_keys(made)


def _with_marked_keys(made: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    keys = ("horse_id", "visit_id", "loss_id")
    return {
        name: frame.with_columns(
            pl.concat_str(pl.lit(f"MARK{key}"), pl.col(key)).alias(key) for key in keys if key in frame.columns
        )
        for name, frame in made.items()
    }


def store_of(path: Path, made: dict[str, pl.DataFrame]) -> date:
    """A store that holds the export; returns its as-of date."""
    as_of = max(made["visits"]["visit_date"].max(), made["losses"]["found_off"].max() or date.min)
    with open_store(path) as store:
        load(store, made, as_of)
        store.derive(as_of)
        store.commit()
    return as_of


def markers(made: dict[str, pl.DataFrame]) -> set[str]:
    """Every string that may stand in no file: private texts, keys, and all that tells of the other horses."""
    horses = made["horses"].filter(pl.int_range(pl.len()) >= OURS)
    numbers = {str(value) for value in MARKED_NUMBERS.values()}
    return {"MARK", *numbers, *horses["microchip"], *horses["ueln"]}
