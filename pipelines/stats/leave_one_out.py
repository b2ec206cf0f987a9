"""How far each estimate moves when each horse is left out in turn: limits that hold where horses are few."""

from contextlib import suppress
from itertools import pairwise

import numpy as np

from pipelines.stats.piecewise_poisson import Design, Fit, Rows

MOST_CLUSTERS = 1000
"""With more the sandwich is as wide, and nothing is gained for the time."""
RCOND = 1e-10
WILD = 10.0
"""No estimate moves so far, on the log scale, but where the refit has nothing left to tell it by."""


def leave_one_out_error(
    fit: Fit, events: np.ndarray, time: np.ndarray, cells: np.ndarray, design: Design, cluster: np.ndarray
) -> np.ndarray:
    """Standard error of each coefficient of `piecewise_poisson`'s fit, from leaving each cluster out in turn.

    Arguments as for `piecewise_poisson`, and its fit. Each refit is one step of Newton's method from the fit to all:
    (A − A of the cluster)⁻¹ times the cluster's share of the score; the error is √((G − 1)/G · Σ move²). NaN where the
    fit has none, and everywhere with fewer than 2 clusters or more than MOST_CLUSTERS.
    The sandwich takes each cluster's residuals for its errors, and those are too small where a cluster weighs much.
    Source: one-step jackknife, Lipsitz, Laird & Harrington 1990, Commun Stat Theory 19:821; for linear models it is
    the estimator CR3 of Bell & McCaffrey 2002, Survey Methodology 28:169.
    """
    error = np.full(fit.coef.size, np.nan)
    known = np.flatnonzero(np.isfinite(fit.coef))
    if not fit.converged or not 2 <= fit.clusters <= MOST_CLUSTERS or not known.size:
        return error
    parts = [_part(own, fit.coef, known) for own in _apart(events, time, cells, design, cluster, fit.clusters)]
    left, scores = np.array([part[0] for part in parts]), np.array([part[1] for part in parts])
    moves = _moves(left.sum(axis=0) - left, scores)
    error[known] = np.sqrt((fit.clusters - 1) / fit.clusters * (moves**2).sum(axis=0))
    return error


def _apart(
    events: np.ndarray, time: np.ndarray, cells: np.ndarray, design: Design, cluster: np.ndarray, clusters: int
) -> list[Rows]:
    """The rows of each cluster."""
    order = np.argsort(cluster, kind="stable")
    starts = np.searchsorted(cluster[order], np.arange(clusters + 1))
    events, time, codes = events[order], time[order], [part[order] for part in design.codes]
    return [
        Rows(events[a:b], time[a:b], cells, Design([part[a:b] for part in codes], design.tables))
        for a, b in pairwise(starts)
    ]


def _part(own: Rows, coef: np.ndarray, known: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """A cluster's share of the information and of the score."""
    own.value(np.nan_to_num(coef))
    return own.information()[np.ix_(known, known)], own.gradient()[known]


def _moves(information: np.ndarray, scores: np.ndarray) -> np.ndarray:
    """The step of each refit; where a cluster alone bears on a level, the rest moves without it."""
    with suppress(np.linalg.LinAlgError):
        moves = np.linalg.solve(information, scores[:, :, None])[:, :, 0]
        wild = ~(np.abs(moves) < WILD).all(axis=1)
        moves[wild] = _without(information[wild], scores[wild])
        return moves
    return np.array([_one_move(*one) for one in zip(information, scores, strict=True)])


def _one_move(information: np.ndarray, score: np.ndarray) -> np.ndarray:
    with suppress(np.linalg.LinAlgError):
        move = np.linalg.solve(information, score)
        if (np.abs(move) < WILD).all():
            return move
    return _without(information[None], score[None])[0]


def _without(information: np.ndarray, scores: np.ndarray) -> np.ndarray:
    """The steps along what can still be told, the least of those that fit: slow, and wanted by few clusters."""
    steps = [np.linalg.lstsq(a, b, rcond=RCOND)[0] for a, b in zip(information, scores, strict=True)]
    return np.array(steps).reshape(scores.shape)
