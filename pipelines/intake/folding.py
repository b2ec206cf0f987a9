"""Visits and horses told again on each foot's row: each once, blanks filled from the rows of the same key."""

import polars as pl

from pipelines.intake.sheet import BEYOND, FOLDED, HIDDEN, META, RAGGED, ROW, TOLD_ON

OWN_KEY = {"horses": "horse_id", "visits": "visit_id", "feet": "visit_id", "losses": "loss_id", "changes": "horse_id"}


def folded(piece: pl.DataFrame, table: str) -> pl.DataFrame:
    """The visits or horses told again on each foot's row, once each: blanks filled from a row of the same key.

    Rows that then say the same are one row, the first; rows that differ stay, to be judged. A line whose cells do not
    fit the header, and a row that says nothing of the table, tell nothing here: they are named where they belong.
    """
    told = [name for name in piece.columns if name not in (*META, BEYOND, TOLD_ON)]
    if RAGGED in piece.columns:
        piece = piece.filter(pl.col(RAGGED).is_null()).drop(RAGGED, BEYOND, strict=False)
    key = [name for name in _keys_there(piece, table) if name in told]
    piece = _without_repeats(piece, [name for name in piece.columns if name in (*told, TOLD_ON)])
    piece = piece.drop(TOLD_ON, strict=False)
    once = bool(key) and piece.select(pl.struct(key).hash().n_unique() == pl.len()).item()
    piece = piece if once else _once_a_wording(piece, told, key, table)
    piece = piece.with_columns(
        pl.when(pl.col(name).str.strip_chars() != "").then(pl.col(name)).alias(name) for name in told
    ).filter(pl.any_horizontal(pl.col(told).is_not_null()))
    if once:
        return piece
    holes = [name for name in told if name not in key and 0 < piece[name].null_count() < piece.height]
    if key and holes:
        # The row that tells most comes first: where a cell of it is faulty, that is the row to be named and mended.
        piece = piece.sort(pl.sum_horizontal(pl.col(told).is_null()), maintain_order=True)
        piece = piece.with_columns(
            pl.col(name).fill_null(
                pl.when(pl.col(name).drop_nulls().n_unique() == 1).then(pl.col(name).drop_nulls().first()).over(key)
            )
            for name in holes
        )
    return _once_a_wording(piece, told, key, table)


def _once_a_wording(piece: pl.DataFrame, told: list[str], key: list[str], table: str) -> pl.DataFrame:
    """Rows that say the same as one row; a horse told in several ways keeps a row a visit, since the last may hold."""
    one = _together(piece, told)
    if table != "horses" or not key:
        return one
    several = one.filter(pl.len().over(key) > 1).select(key).unique()
    if several.is_empty():
        return one
    alike = one.join(several, on=key, how="anti", nulls_equal=True)
    return pl.concat([alike, piece.join(several, on=key, how="semi", nulls_equal=True)]).sort(ROW)


def _together(piece: pl.DataFrame, told: list[str]) -> pl.DataFrame:
    """Rows that say the same as one row, the first, wherever they stand."""
    others = [name for name in piece.columns if name not in told and name != FOLDED]
    one = piece.group_by(told, maintain_order=True).agg(pl.col(others).first(), pl.col(FOLDED).sum())
    return one.select(piece.columns).sort(ROW)


def _without_repeats(piece: pl.DataFrame, told: list[str]) -> pl.DataFrame:
    """The rows that say something else than the row before, with the number of rows that say it (FOLDED): the feet of
    one visit mostly stand together.
    """
    changed = pl.any_horizontal(pl.col(name).ne_missing(pl.col(name).shift(1)) for name in told)
    at = pl.int_range(pl.len(), dtype=pl.Int64)
    first = piece.with_columns(at.alias(FOLDED)).filter(changed | (at == 0))
    return first.with_columns(pl.col(FOLDED).shift(-1, fill_value=piece.height) - pl.col(FOLDED))


def _keys_there(piece: pl.DataFrame, table: str) -> list[str]:
    key = OWN_KEY[table]
    own = piece[key].str.strip_chars().fill_null("") if key in piece.columns else None
    if own is not None and (own != "").all():
        return [key]
    named = ["horse_name", "yard"]
    if table != "horses":
        named = ["horse_id", *(HIDDEN + name for name in named), "visit_date", "farrier"]
    return named if own is None else [key, *named]
