"""Rate ratios of many factors at once, the rate being free to change with age: piecewise-exponential Poisson model.

Losses of a row in age cell c ~ Poisson(time · exp(cell part + factor part)). The factor part is the same in all cells
of a row, so a row is one pattern of factors and no row need be split by age.
"""

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import NamedTuple

import numpy as np
from scipy.special import ndtr

TOLERANCE = 1e-15
"""The fit ends with the step that would move no estimate by a ten-millionth of its naive error."""
SLOW = 0.3
"""The information is counted anew unless the last step cut the rise still to come to this share: it is dear."""
CLOSE = 1e-12
"""A rise still to come this small: no estimate is a millionth of its error off, so with many rows it is the top."""
CHUNK = 1 << 12
"""Rows written out at a time: few enough to stay in the processor's cache (half the time of 65,536)."""
MANY = 200_000
JOINT = 1 << 12
"""Codes of neighbouring factors are made one while they are no more than this: each is a pass over all rows."""
WIDE = 32
"""More codes than this are summed a column at a time: a cell for each code and group would be many cells."""
ROUNDS = 100
FAR = 50.0
"""A step, or an error, of a log ratio beyond this is no estimate: some level has no losses."""
ALIASED = 1e-9
"""A column is taken as given by those before it where less than this share of its information is its own."""


class Design(NamedTuple):
    """What differs between rows, kept as codes. A factor: one code a row, and the values its columns take for a code.

    codes: an integer array (rows) for each factor; tables: an array (codes, columns) for each factor. A word with
    three levels has a table of two columns of 0 and 1; a measure has one column with its distinct values.
    """

    codes: Sequence[np.ndarray]
    tables: Sequence[np.ndarray]

    @property
    def columns(self) -> int:
        """Number of columns of all factors together."""
        return sum(table.shape[1] for table in self.tables)

    def joined(self) -> "Design":
        """The same columns from fewer factors: neighbours with few codes become one that has a code for each pair."""
        codes, tables = list(self.codes[:1]), list(self.tables[:1])
        for own, table in zip(self.codes[1:], self.tables[1:], strict=True):
            before, size = tables[-1], len(table)
            if len(before) * size > JOINT:
                codes.append(own)
                tables.append(table)
                continue
            codes[-1] = codes[-1] * size + own
            tables[-1] = np.hstack([np.repeat(before, size, axis=0), np.tile(table, (len(before), 1))])
        return Design(codes, tables)

    def linear(self, coef: np.ndarray, rows: int) -> np.ndarray:
        """The factor part of each row."""
        total, start = np.zeros(rows), 0
        for codes, table in zip(self.codes, self.tables, strict=True):
            total += (table @ coef[start : start + table.shape[1]])[codes]
            start += table.shape[1]
        return total

    def sums(self, value: np.ndarray, group: np.ndarray | None = None, groups: int = 1) -> np.ndarray:
        """Sum of value times each column, within each group of rows: array (groups, columns)."""
        parts = [np.zeros((groups, 0))]
        for codes, table in zip(self.codes, self.tables, strict=True):
            if group is None:
                parts.append(np.bincount(codes, value, len(table))[None] @ table)
            elif len(table) <= WIDE:
                sums = np.bincount(group * len(table) + codes, value, groups * len(table))
                parts.append(sums.reshape(groups, len(table)) @ table)
            else:
                columns = [np.bincount(group, value * column[codes], groups) for column in table.T]
                parts.append(np.stack(columns, axis=1) if columns else np.zeros((groups, 0)))
        return np.hstack(parts)

    def products(
        self, weight: np.ndarray, others: np.ndarray, kind: type = np.float64
    ) -> tuple[np.ndarray, np.ndarray]:
        """Sums of weight · column · column, and of column times each column of `others`; a piece of rows at a time.

        kind: of the numbers within a piece; float32 takes half the time and gives seven digits. The first half of many
        rows is summed beside the second, and the two are added in that order, so the digits never change.
        """
        weight, others = np.sqrt(weight).astype(kind)[:, None], others.astype(kind)
        cast = Design(self.codes, [table.astype(kind) for table in self.tables])
        rows = len(weight) if self.columns else 0
        if rows < MANY:
            return cast._summed(weight, others, 0, rows)
        with ThreadPoolExecutor(1) as beside:
            later = beside.submit(cast._summed, weight, others, rows // 2, rows)
            first = cast._summed(weight, others, 0, rows // 2)
            second = later.result()
        return first[0] + second[0], first[1] + second[1]

    def _summed(self, weight: np.ndarray, others: np.ndarray, start: int, stop: int) -> tuple[np.ndarray, np.ndarray]:
        square, cross = np.zeros((self.columns, self.columns)), np.zeros((self.columns, others.shape[1]))
        for at in range(start, stop, CHUNK):
            piece = slice(at, min(at + CHUNK, stop))
            block = self.block(piece)
            cross += block.T @ others[piece]
            block *= weight[piece]
            square += block.T @ block
        return square, cross

    def block(self, piece: slice) -> np.ndarray:
        """The columns written out for a piece of the rows, as numbers of the tables' kind."""
        codes = [part[piece] for part in self.codes]
        block, start = np.empty((len(codes[0]), self.columns), self.tables[0].dtype), 0
        for part, table in zip(codes, self.tables, strict=True):
            block[:, start : start + table.shape[1]] = table.take(part, axis=0)
            start += table.shape[1]
        return block


class Fit(NamedTuple):
    """Coefficients on the log scale: cells' first, then the factors', in the order of their columns.

    error: standard error with clusters as sampling units (sandwich, G/(G − 1)); naive: as if rows were independent.
    NaN for a column that the columns before it give already, or that no data bear on, and everywhere if the fit does
    not converge (as when a level has no losses at all).
    """

    coef: np.ndarray
    error: np.ndarray
    naive: np.ndarray
    log_likelihood: float
    clusters: int
    converged: bool

    def p_values(self) -> np.ndarray:
        """Two-sided p-value of each coefficient, from its clustered error (normal)."""
        with np.errstate(divide="ignore", invalid="ignore"):
            return 2 * ndtr(-np.abs(self.coef / self.error))


def piecewise_poisson(
    events: np.ndarray,
    time: np.ndarray,
    cells: np.ndarray,
    design: Design,
    cluster: np.ndarray,
    begin: np.ndarray | None = None,
) -> Fit:
    """Maximum-likelihood rate ratios with errors clustered by horse.

    events, time: arrays (rows, cells), losses and days; a cell with events must have time. cells: array (cells,
    parameters), how a cell's log rate is made up: the identity gives each age band a rate of its own; each parameter
    needs events. cluster: integer code of each row's horse, from 0. begin: coefficients to start from, if any are
    known (NaN counting as 0); the end is the same, sooner.
    log_likelihood is Σ(d·log rate − mean), constants left out.
    Source: Holford 1980, Biometrics 36:299; Liang & Zeger 1986, Biometrika 73:13 (sandwich); G/(G − 1) as `vcovCL`.
    """
    model = Rows(np.asarray(events, dtype=float), np.asarray(time, dtype=float), np.asarray(cells, float), design)
    return climb(model, np.asarray(cluster), begin)


class Rows:
    """Likelihood, gradient and information of the model, from the rows."""

    def __init__(self, events: np.ndarray, time: np.ndarray, cells: np.ndarray, design: Design) -> None:
        self.time, self.cells, self.design = time, cells, design
        self.row_events, self.cell_events = events.sum(axis=1), events.sum(axis=0)
        self.events = events
        # of many rows every pass counts; of few, the tables of joint codes would be longer than the rows
        self.passes = design.joined() if len(time) >= MANY else design
        self.found = np.concatenate([self.cell_events @ cells, self.passes.sums(self.row_events)[0]])

    def start(self) -> tuple[np.ndarray, np.ndarray | None]:
        """Where to begin, and what the information is there, if it is known.

        Where rows are many: the best fit to every sixteenth row, and sixteen times its information.
        """
        if len(self.time) < MANY:
            return self.one_rate(), None
        few = Design([codes[::16] for codes in self.design.codes], self.design.tables)
        part = Rows(self.events[::16], self.time[::16], self.cells, few)
        top = _top(part, part.one_rate())
        return (top.coef, 16 * top.information) if np.abs(top.coef).max() < FAR else (self.one_rate(), None)

    def one_rate(self) -> np.ndarray:
        """Coefficients that give every row and cell the rate of all together."""
        rate = np.log(max(self.cell_events.sum(), 0.5) / max(self.time.sum(), 1e-300))
        parameters = np.linalg.lstsq(self.cells, np.full(len(self.cells), rate), rcond=None)[0]
        return np.concatenate([parameters, np.zeros(self.design.columns)])

    def value(self, coef: np.ndarray) -> float:
        """Log-likelihood; keeps the expected losses of each row and cell for what is asked next."""
        own = self.cells.shape[1]
        with np.errstate(over="ignore"):
            self.row_rate = np.exp(self.passes.linear(coef[own:], len(self.time)))
            self.cell_rate = np.exp(self.cells @ coef[:own])
            self.row_mean = self.row_rate * (self.time @ self.cell_rate)
            return float(self.found @ coef - self.row_mean.sum())

    def gradient(self) -> np.ndarray:
        """Losses found minus expected, for each coefficient."""
        cell_mean = (self.row_rate @ self.time) * self.cell_rate
        return self.found - np.concatenate([cell_mean @ self.cells, self.passes.sums(self.row_mean)[0]])

    def information(self, kind: type = np.float64) -> np.ndarray:
        """Expected information of the coefficients. kind: as in `Design.products`."""
        cell_mean = self.time * (self.row_rate[:, None] * self.cell_rate)
        square, cross = self.passes.products(self.row_mean, cell_mean, kind)
        mixed = cross @ self.cells
        own = (self.cells * cell_mean.sum(axis=0)[:, None]).T @ self.cells
        return np.block([[own, mixed.T], [mixed, square]])

    def scores(self, cluster: np.ndarray, clusters: int) -> np.ndarray:
        """Each cluster's share of the gradient: array (clusters, coefficients)."""
        rest = self.events - self.time * (self.row_rate[:, None] * self.cell_rate)
        by_cell = np.column_stack([np.bincount(cluster, rest[:, c], clusters) for c in range(rest.shape[1])])
        return np.hstack([by_cell @ self.cells, self.design.sums(rest.sum(axis=1), cluster, clusters)])


def climb(model: Rows, cluster: np.ndarray, begin: np.ndarray | None = None) -> Fit:
    """The fit at the top of `model`'s likelihood, with errors clustered by `cluster`."""
    clusters = int(cluster.max(initial=-1)) + 1
    top = _top(model, *(model.start() if begin is None else (np.nan_to_num(begin), None)))
    fit = _fit(model, top, cluster, clusters) if top.reached and clusters > 1 else None
    if fit is None or np.nanmax(fit.naive) > FAR:
        blank = np.full(top.coef.size, np.nan)
        return Fit(blank, blank, blank, np.nan, clusters, False)
    return fit


class _Top(NamedTuple):
    """Where the climb ended. kept: the columns that can be known; information: of all of them, close to the top."""

    coef: np.ndarray
    kept: np.ndarray
    reached: bool
    information: np.ndarray


def _top(model: Rows, coef: np.ndarray, information: np.ndarray | None = None) -> _Top:
    """Newton's method; the information, which is dear, is counted where it must be, the last time close to the top.

    information: about what it is at `coef`; where it is not told it is counted. A level without events walks off to
    minus infinity by a whole step a round, which is not taken for the top.
    """
    coef = coef.copy()
    value = model.value(coef)
    information = model.information() if information is None else information
    kept, last, close = independent_columns(information), np.inf, False
    inverse = _inverse(information, kept)
    for _ in range(ROUNDS if kept.size else 0):
        gradient = model.gradient()
        move = inverse @ gradient[kept]
        if gradient[kept] @ move > SLOW * last or (gradient[kept] @ move <= CLOSE and not close):
            before, rough = kept, len(model.time) >= MANY and bool(gradient[kept] @ move > CLOSE)
            information = model.information(np.float32 if rough else np.float64)
            kept = kept if rough else independent_columns(information)
            close = not rough and np.array_equal(kept, before)
            inverse = _inverse(information, kept)
            move = inverse @ gradient[kept]
        last, longest = gradient[kept] @ move, np.abs(move).max()
        if last <= TOLERANCE:
            coef[kept] += move
            return _Top(coef, kept, bool(longest < 0.1), information)
        # A loss in a band in which hardly a shoe was followed: from far below, the step to its rate is thousands.
        coef, value = _uphill(model, coef, kept, move * min(1.0, FAR / longest), value)
    return _Top(coef, kept, False, information)


def _inverse(information: np.ndarray, kept: np.ndarray) -> np.ndarray:
    return np.linalg.pinv(information[np.ix_(kept, kept)], hermitian=True)


def independent_columns(information: np.ndarray) -> np.ndarray:
    """Positions of the columns that carry information of their own beside the columns before them."""
    kept: list[int] = []
    left = information.copy()
    for column in range(len(information)):
        own = information[column, column]
        if own > 0 and left[column, column] > ALIASED * own:
            kept.append(column)
            left = left - np.outer(left[:, column], left[column]) / left[column, column]
    return np.array(kept, dtype=int)


def _uphill(
    model: Rows, coef: np.ndarray, kept: np.ndarray, move: np.ndarray, value: float
) -> tuple[np.ndarray, float]:
    for halvings in range(40):
        there = coef.copy()
        there[kept] += 0.5**halvings * move
        new = model.value(there)
        if np.isfinite(new) and new >= value - 1e-12 * abs(value):
            return there, new
    return coef, model.value(coef)


def _fit(model: Rows, top: _Top, cluster: np.ndarray, clusters: int) -> Fit:
    coef, kept, value = top.coef, top.kept, model.value(top.coef)
    information = top.information if len(model.time) >= MANY else model.information()
    # A level that walked off has nothing left to say of its own at the top: it is not known, the others are.
    kept = kept[independent_columns(information[np.ix_(kept, kept)])]
    bread = np.linalg.inv(information[np.ix_(kept, kept)])
    scores = model.scores(cluster, clusters)[:, kept]
    sandwich = bread @ (scores.T @ scores) @ bread * clusters / (clusters - 1)
    fit = Fit(*(np.full(coef.size, np.nan) for _ in range(3)), value, clusters, True)
    fit.coef[kept], fit.error[kept], fit.naive[kept] = coef[kept], np.sqrt(np.diag(sandwich)), np.sqrt(np.diag(bread))
    return fit
