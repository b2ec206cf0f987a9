"""The funnel about an expected number: its edges, and where a count stands in it."""

import numpy as np
from scipy.special import pdtr, pdtrik

WARN_TAIL = 0.025
ALARM_TAIL = 0.001


def funnel_place(found: np.ndarray, expected: np.ndarray) -> np.ndarray:
    """`inside`, `above_95`, `above_998`, `below_95` or `below_998` for each count found beside its expected number.

    A count is above when it is over the upper exact point of Poisson(expected), below when under the lower one; a
    count on a point is inside. expected must be above 0.
    Source: Spiegelhalter 2005, Stat Med 24:1185, exact points without interpolation.
    """
    found = np.asarray(found, dtype=float)
    expected = np.asarray(expected, dtype=float)
    up_to = pdtr(found, expected)
    under = np.where(found > 0, pdtr(np.maximum(found - 1, 0), expected), 0.0)
    places = np.full(found.shape, "inside", dtype=object)
    places[under >= 1 - WARN_TAIL] = "above_95"
    places[under >= 1 - ALARM_TAIL] = "above_998"
    places[up_to < WARN_TAIL] = "below_95"
    places[up_to < ALARM_TAIL] = "below_998"
    return places


def poisson_point(expected: np.ndarray, share: float) -> np.ndarray:
    """The smallest count of which Poisson(expected) stays at or below with probability `share` or more."""
    expected = np.asarray(expected, dtype=float)
    # pdtrik solves for a real count and is blank where even 0 has more than that share; the checks make it exact.
    count = np.nan_to_num(np.floor(pdtrik(share, expected)))
    count = np.where(pdtr(count, expected) < share, count + 1, count)
    return np.where((count > 0) & (pdtr(np.maximum(count - 1, 0), expected) >= share), count - 1, count)


def funnel_edges(expected: np.ndarray) -> dict[str, np.ndarray]:
    """low_95, high_95, low_998, high_998 as ratios to expected: a ratio beyond an edge is outside, on it inside."""
    shares = {"low_95": WARN_TAIL, "high_95": 1 - WARN_TAIL, "low_998": ALARM_TAIL, "high_998": 1 - ALARM_TAIL}
    return {name: poisson_point(expected, share) / expected for name, share in shares.items()}
