"""Why do shoes come off: what differs between the shoes that are lost and those that are kept, all taken together?"""

from typing import NamedTuple

import numpy as np
import polars as pl

from pipelines.analyses.factor_design import Part, coded, design_part, left_out
from pipelines.analyses.fit_by_pace import fit_by_pace
from pipelines.analyses.shoe_patterns import BAND_ENDS, FACTORS, PACES, PATTERNS, Shoes
from pipelines.stats.leave_one_out import leave_one_out_error
from pipelines.stats.median_unbiased import ratio_shift
from pipelines.stats.piecewise_poisson import Design, Fit, piecewise_poisson
from pipelines.stats.poisson import Z95
from pipelines.stats.within_unit import within_unit
from schemas.results import FitByPace, LossFactors

ENOUGH_WITHIN = 10
FEW_WITHIN = "within horses: too few losses of horses that had both"
LOSSES_A_COLUMN = 3
"""With fewer losses for each column the limits grow too narrow; 5 would be safer and leave half the factors out."""

COUNTS = {"patterns": PATTERNS}


class Fits(NamedTuple):
    """The fit over all shoes and the fit within horses.

    left_out: errors of the first from leaving each horse out in turn. shift: how far its middle lies below the truth.
    """

    fit: Fit
    within: Fit
    left_out: np.ndarray
    shift: np.ndarray


def loss_factors(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """Loss-rate ratios of all factors in one model → `loss_factors`; branch by pace as found → `fit_by_pace`.

    Poisson on shoe-days by age band, all factors together, limits with horses as sampling units: low and high from the
    sandwich. ratio_median_unbiased is the ratio set to fall above the truth as often as below, since that of greatest
    likelihood is mostly off where horses are few; low_left_out and high_left_out lie around it, from leaving each horse
    out in turn, and hold the truth more often. within_horse_*: each horse compared with itself only. `days_late` sets
    the days past the planned date against those before it. `branch_by_pace` comes from a second model in which each
    pace has its own ratio for the branch. What is sparse or missing is treated as in `factor_design.design_part`, and
    each row says so. These are associations.
    Sources: `pipelines.stats.piecewise_poisson`, `median_unbiased`, `leave_one_out` and `within_unit`.
    """
    # One order however the store hands the patterns over, so that the last digits do not depend on how it was filled.
    patterns = counts["patterns"].sort(pl.struct(pl.all()).hash(seed=0))
    shoes = Shoes(patterns)
    parts, late = _parts(shoes)
    horse = coded(patterns["horse_id"])[0]
    fits = _fits(shoes, parts, late, horse, None)
    rows = _all_rows(parts, late, fits)
    if any(part.factor == "branch_past_heel_mm" and part.table.shape[1] for part in parts):
        by_pace = [_branch_by_pace(shoes, part) for part in parts]
        begin = [_begin(parts, by_pace, late, fit.coef, fits[0].coef) for fit in fits[:2]]
        rows += _rows(by_pace, late, _fits(shoes, by_pace, late, horse, begin), only="branch_by_pace")
    else:
        rows += _shown(left_out("branch_by_pace", "left out with the branch itself"), None, 0)
    table = pl.DataFrame(rows, schema=LossFactors.dtypes())
    return {"loss_factors": LossFactors.check(table), "fit_by_pace": FitByPace.check(fit_by_pace(shoes))}


def _parts(shoes: Shoes) -> tuple[list[Part], "_Late"]:
    """All factors in their order, as many as the losses bear; the rest are left out and say so."""
    late = _Late(shoes)
    spare = shoes.losses.sum() / LOSSES_A_COLUMN - len(late.cells_used)
    parts = []
    for factor in FACTORS:
        part = design_part(factor, shoes.patterns[factor.name], shoes.applies(factor.name), shoes.tally)
        spare -= part.table.shape[1]
        if spare < 0 and part.table.shape[1]:
            spare += part.table.shape[1]
            part = left_out(
                factor.name, f"left out: too few losses for so many factors (it takes {LOSSES_A_COLUMN} for each ratio)"
            )
        parts.append(part)
    return [*parts, *late.unplanned()], late


class _Late:
    """How age and the planned date make up the rate of a cell: a rate a band, and one ratio for the days past it."""

    def __init__(self, shoes: Shoes) -> None:
        bands = len(BAND_ENDS) + 1
        self.shoes, self.note = shoes, None
        self.reached = shoes.shoes @ (shoes.time[:, bands:].sum(axis=1) > 0)
        self.losses = shoes.events[:, bands:].sum()
        expected = shoes.time[:, bands:].sum(axis=0) @ shoes.rate
        planned = shoes.shoes @ shoes.has_plan / max(shoes.shoes.sum(), 1.0)
        if planned < 0.5:
            self.note = f"left out: a plan is filled in for {100 * planned:.0f} % of shoes"
        elif expected < 10 or not self.losses:
            self.note = f"left out: {expected:.1f} losses expected past the planned date"
        joined = _join_bands(shoes.by_band[1].sum(axis=0))
        past = np.repeat([0.0, 1.0], bands)[:, None] if self.note is None else np.zeros((2 * bands, 0))
        self.cells_used = sorted(set(joined))
        self.cells = np.hstack([np.tile(np.eye(len(self.cells_used))[joined], (2, 1)), past])

    def unplanned(self) -> list[Part]:
        """A column for shoes without a plan, where they are enough, so that they do not count as being in time."""
        if self.note or self.shoes.tally.expected[~self.shoes.has_plan].sum() < 10:
            return []
        if not self.shoes.losses[~self.shoes.has_plan].sum():
            return []
        codes = (~self.shoes.has_plan).astype(int)
        sums = {"shoes": int(self.shoes.shoes @ codes), "losses": int(self.shoes.losses @ codes)}
        row = {"level": "not recorded", "reference": "before the planned date", "note": None} | sums
        return [Part("days_late", codes, np.array([[0.0], [1.0]]), [row], [0])]

    def rows(self, fits: Fits) -> list[dict[str, object]]:
        """The row of the days past the planned date."""
        row = {"level": "past the planned date", "shoes": int(self.reached), "losses": int(self.losses)}
        if self.note:
            return _shown(left_out("days_late", self.note), None, 0)
        part = Part("days_late", np.array([]), np.zeros((1, 1)), [row | {"reference": "before it", "note": None}], [0])
        return _shown(part, fits, self.cells.shape[1] - 1)


def _join_bands(losses: np.ndarray) -> list[int]:
    """Number of the rate each band has: a band without losses shares that of the band before it (or after it)."""
    numbers = np.maximum(np.cumsum(losses > 0) - 1, 0)
    return [int(number) for number in numbers]


def _branch_by_pace(shoes: Shoes, part: Part) -> Part:
    """The branch with a ratio of its own for each pace that has enough losses; any other part as it is."""
    if part.factor != "branch_past_heel_mm":
        return part
    pace = np.array([PACES.index(name) for name in shoes.patterns["pace"]], dtype=int)
    expected, losses = (np.bincount(pace, value, len(PACES)) for value in (shoes.tally.expected, shoes.losses))
    used = [place for place in range(len(PACES)) if expected[place] >= 10 and losses[place] > 0]
    size, width = part.table.shape
    table = np.zeros((size * len(PACES), len(used) + width - 1))
    rows, columns = [], []
    for at, place in enumerate(used):
        table[place * size : (place + 1) * size, at] = part.table[:, 0]
        chosen = (pace == place) & (part.codes < size - 2)
        sums = {"shoes": int(shoes.shoes @ chosen), "losses": int(shoes.losses @ chosen)}
        rows.append({"level": PACES[place], "reference": "5 mm less, same pace", "note": None} | sums)
        columns.append(at)
    table[:, len(used) :] = np.tile(part.table[:, 1:], (len(PACES), 1))
    return Part("branch_by_pace", pace * size + part.codes, table, rows, columns)


def _fits(shoes: Shoes, parts: list[Part], late: _Late, horse: np.ndarray, begin: list[np.ndarray] | None) -> Fits:
    """The model over all shoes, the one within horses, and the first one's errors and shift."""
    used = [part for part in parts if part.table.shape[1]]
    data = (shoes.events, shoes.time, late.cells, Design([p.codes for p in used], [p.table for p in used]), horse)
    fit = piecewise_poisson(*data, begin[0] if begin else None)
    within = _with_enough(within_unit(*data, begin[1] if begin else fit.coef), used, shoes.losses, late, horse)
    left_out_error = leave_one_out_error(fit, *data)
    return Fits(fit, within, left_out_error, ratio_shift(fit, left_out_error, *data))


def _with_enough(within: Fit, used: list[Part], losses: np.ndarray, late: _Late, horse: np.ndarray) -> Fit:
    """The fit within horses without the ratios that rest on too few losses of horses that had both: they run high."""
    error, at = within.error.copy(), late.cells.shape[1]
    for part in used:
        for column in part.table.T:
            if not _tells_within(column, part.codes, losses, horse):
                error[at] = np.nan
            at += 1
    return within._replace(error=error)


def _tells_within(column: np.ndarray, codes: np.ndarray, losses: np.ndarray, horse: np.ndarray) -> bool:
    """Whether horses at which the column varies lost enough shoes, on both sides of its middle."""
    values = column[codes]
    shoes, total, squares = (np.bincount(horse, part) for part in (np.ones(len(values)), values, values**2))
    varies = squares - total**2 / np.maximum(shoes, 1) > 1e-9
    told = losses * varies[horse]
    high = values > (0.5 if set(np.unique(column)) <= {0.0, 1.0} else np.average(values, weights=told + 1e-12))
    return min(told[high].sum(), told[~high].sum()) >= ENOUGH_WITHIN


def _begin(parts: list[Part], by_pace: list[Part], late: _Late, coef: np.ndarray, held: np.ndarray) -> np.ndarray:
    """Where the second model starts: at the first, every pace with one ratio. held: what unknown ones were at."""
    coef = np.where(np.isnan(coef), held, coef)
    start, pieces = late.cells.shape[1], [coef[: late.cells.shape[1]]]
    for old, new in zip(parts, by_pace, strict=True):
        own = coef[start : start + old.table.shape[1]]
        start += old.table.shape[1]
        more = new.table.shape[1] - own.size
        pieces.append(np.concatenate([np.repeat(own[:1], 1 + more), own[1:]]) if more else own)
    return np.concatenate(pieces)


def _all_rows(parts: list[Part], late: _Late, fits: Fits) -> list[dict]:
    ground = "the ground is recorded for losses only, not for days without one, so it has no rate"
    ground_row = _shown(left_out("ground", f"left out: {ground}"), fits, 0)
    return [*_rows(parts, late, fits), *late.rows(fits), *ground_row]


def _rows(parts: list[Part], late: _Late, fits: Fits, only: str | None = None) -> list[dict]:
    rows, start = [], late.cells.shape[1]
    for part in parts:
        if only in (None, part.factor):
            rows += _shown(part, fits, start)
        start += part.table.shape[1]
    return rows


def _shown(part: Part, fits: Fits | None, start: int) -> list[dict[str, object]]:
    shown = []
    for row, column in zip(part.rows, part.column, strict=True):
        estimate = {} if column < 0 else _estimate(fits, start + column)
        if row["note"] == "reference" and fits is not None and fits[0].converged:
            estimate = {"rate_ratio": 1.0}
        told = {name: value for name, value in estimate.items() if value is not None}
        if row["note"] is None and _own_is_sparse(fits, start + column if column >= 0 else None):
            told["note"] = FEW_WITHIN
        shown.append({"factor": part.factor, **row, **told})
    return shown


def _own_is_sparse(fits: Fits | None, column: int | None) -> bool:
    """Whether a ratio within horses was found and not kept."""
    if fits is None or column is None or not fits[0].converged or not np.isfinite(fits[0].coef[column]):
        return False
    return bool(np.isfinite(fits[1].coef[column]) and np.isnan(fits[1].error[column]))


def _estimate(fits: Fits, column: int) -> dict[str, object]:
    fit, within, left_out_error, shift = fits
    ratio, low, high = _ratio(fit.coef, fit.error, column)
    own, own_low, own_high = _ratio(within.coef, within.error, column)
    unbiased, low_left_out, high_left_out = _ratio(fit.coef + np.nan_to_num(shift), left_out_error, column)
    p_value = float(fit.p_values()[column]) if ratio is not None else None
    note = None if ratio is not None else (
        "cannot be told apart from the factors above it"
        if fit.converged
        else "the sums came to no answer on this record"
    )  # fmt: skip
    return {
        "rate_ratio": ratio, "low": low, "high": high, "p_value": p_value,
        "ratio_median_unbiased": unbiased if np.isfinite(shift[column]) else None,
        "low_left_out": low_left_out, "high_left_out": high_left_out,
        "within_horse_ratio": own, "within_low": own_low, "within_high": own_high, "note": note,
    }  # fmt: skip


def _ratio(coefs: np.ndarray, errors: np.ndarray, column: int) -> tuple[float | None, float | None, float | None]:
    coef, error = coefs[column], errors[column]
    if not (np.isfinite(coef) and np.isfinite(error) and error > 0):
        return None, None, None
    return tuple(float(np.exp(coef + z * error)) for z in (0, -Z95, Z95))
