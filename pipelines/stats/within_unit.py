"""Rate ratios from comparing each horse's shoes with that horse's own only: conditional Poisson model.

Given how many shoes a horse lost in all, only how its losses fall on its own shoes and ages counts; whatever is
always the same about the horse drops out. The same as a Poisson model with a rate of its own for every horse.
"""

import numpy as np

from pipelines.stats.piecewise_poisson import ALIASED, Design, Fit, Rows, climb


def within_unit(
    events: np.ndarray,
    time: np.ndarray,
    cells: np.ndarray,
    design: Design,
    unit: np.ndarray,
    begin: np.ndarray | None = None,
) -> Fit:
    """Conditional maximum-likelihood rate ratios with errors clustered by horse.

    Arguments as for `piecewise_poisson`; unit: integer code of each row's horse, from 0. Horses without losses say
    nothing here and are left out (also of the G in G/(G − 1)). The level of the rate is not known: of cells' parameters
    only differences can be read. What never changes within a horse is NaN.
    Source: Hausman, Hall & Griliches 1984, Econometrica 52:909; robust variance Wooldridge 1999, J Econom 90:77.
    """
    events, time = np.asarray(events, dtype=float), np.asarray(time, dtype=float)
    lost = np.bincount(unit, events.sum(axis=1))
    rows = np.flatnonzero(lost[unit] > 0)
    unit = (np.cumsum(lost > 0) - 1)[np.asarray(unit)[rows]]
    design = Design([np.asarray(codes)[rows] for codes in design.codes], design.tables)
    model = _WithinUnit(events[rows], time[rows], np.asarray(cells, dtype=float), design, unit)
    return climb(model, unit, begin)


class _WithinUnit(Rows):
    """The likelihood of how a unit's events fall, given their number."""

    def __init__(
        self, events: np.ndarray, time: np.ndarray, cells: np.ndarray, design: Design, unit: np.ndarray
    ) -> None:
        super().__init__(events, time, cells, design)
        self.unit = unit
        self.units = int(unit.max(initial=-1)) + 1
        self.total = np.bincount(unit, self.row_events, self.units)

    def value(self, coef: np.ndarray) -> float:
        """Log-likelihood given the totals; each unit's rate is then set to bring exactly its total."""
        super().value(coef)
        due = np.bincount(self.unit, self.row_mean, self.units)
        scale = (self.total / due)[self.unit]
        self.row_rate, self.row_mean = self.row_rate * scale, self.row_mean * scale
        return float(self.found @ coef - self.total @ np.log(due))

    def start(self) -> tuple[np.ndarray, None]:
        """Where the model without units begins; what it knows there is not what is known within units."""
        return super().start()[0], None

    def information(self, kind: type = np.float64) -> np.ndarray:
        """Information within units: what is left of it once each unit's own mean is taken out."""
        cell_mean = self.time * (self.row_rate[:, None] * self.cell_rate)
        by_cell = np.column_stack([np.bincount(self.unit, cell_mean[:, c], self.units) for c in range(len(self.cells))])
        mean = np.hstack([by_cell @ self.cells, self.design.sums(self.row_mean, self.unit, self.units)])
        mean /= np.sqrt(self.total)[:, None]
        whole = super().information(kind)
        within = whole - mean.T @ mean
        flat = np.diag(within) <= ALIASED * np.diag(whole)
        within[flat], within[:, flat] = 0.0, 0.0
        return within
