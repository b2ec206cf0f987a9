"""Count one source by many dimensions at once, and put the levels of a result in order."""

from collections.abc import Iterable, Mapping

import polars as pl

NOT_RECORDED = "not recorded"
# With fewer horses as the units, limits rest on too few to hold what they say.
FEWEST_HORSES = 5
NO_RANGE = f"fewer than {FEWEST_HORSES} horses, or one has most of the losses: no range"

EVERYTHING = {"all": "'all'"}


def split(dimensions: Mapping[str, str], counted: str, source: str) -> str:
    """SQL that counts `source` once for each dimension: columns dimension, level, then those of `counted`.

    dimensions: name → SQL of its level, a blank level being `not recorded`. counted: a select list; what is not an
    aggregate in it is grouped by. source: what follows `from`.
    """
    return "\nunion all\n".join(
        f"select '{name}' as dimension, coalesce({level}, '{NOT_RECORDED}') as level, {counted}"
        f"\nfrom {source} group by all"
        for name, level in dimensions.items()
    )


def named(*columns: str) -> dict[str, str]:
    """Dimensions that are text columns of their own name, after `all`."""
    return EVERYTHING | {column: f'"{column}"' for column in columns}


def yes_or_no(column: str) -> str:
    """SQL of the level of a yes/no column."""
    return f"case when {column} then 'yes' when not {column} then 'no' end"


def in_order(frame: pl.DataFrame, dimensions: Iterable[str], *also_by: str) -> pl.DataFrame:
    """Rows by dimension as declared, then level by name with `not recorded` last, then the other columns named."""
    rank = {name: place for place, name in enumerate(dimensions)}
    return frame.sort(
        pl.col("dimension").replace_strict(rank, return_dtype=pl.Int64),
        pl.col("level") == NOT_RECORDED,
        "level",
        *also_by,
    )
