"""The funnel about an expected number: its edges, and where a count stands in it."""

import numpy as np
from scipy.special import betainc, pdtr, pdtrc, pdtrik

WARN_TAIL = 0.025
ALARM_TAIL = 0.001
WINSORISED = 0.6787
FARTHEST = 12
"""Standard deviations: no point of the spread lies so far out."""


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


def spread_edges(expected: np.ndarray, shape: float, rate: float) -> dict[str, np.ndarray]:
    """low_95_spread, high_95_spread as ratios: the 2.5 % and 97.5 % points where true ratios ~ Gamma(shape, rate).

    Between them lie 95 % of units that differ beyond chance as those do. shape inf: no such spread, the Poisson points.
    Source: negative-binomial margin of the gamma-Poisson; a random-effects funnel, Spiegelhalter 2005, Stat Med
    24:1185, section 4.
    """
    tails = {"low_95_spread": WARN_TAIL, "high_95_spread": 1 - WARN_TAIL}
    if np.isinf(shape):
        return {name: poisson_point(expected, share) / expected for name, share in tails.items()}
    spread = shape / rate * expected * (1 + expected / rate)
    counts = np.arange(np.ceil(np.max(shape / rate * expected + FARTHEST * np.sqrt(spread), initial=0)) + 1)
    up_to = betainc(shape, counts + 1, (rate / (rate + np.asarray(expected)))[:, None])
    return {name: np.argmax(up_to >= share, axis=1) / expected for name, share in tails.items()}


def chance_above(expected: np.ndarray) -> tuple[float, float]:
    """How many of units with these expected counts chance alone would put above the inner and the outer edge.

    The points are whole counts, so it is fewer than 2.5 % and 0.1 %.
    """
    points = (poisson_point(expected, 1 - tail) for tail in (WARN_TAIL, ALARM_TAIL))
    inner, outer = (float(pdtrc(point, expected).sum()) for point in points)
    return inner, outer


def dispersion(found: np.ndarray, expected: np.ndarray) -> float:
    """Mean of the squared Pearson residuals (found − expected)/√expected: about 1 where chance alone is at work.

    The largest and smallest tenth of the residuals are set to the edge of the rest, so that a few units far out do not
    make it; a standard normal's mean square is then 0.6787, and by that it is divided.
    Source: over-dispersion factor with winsorised scores, Spiegelhalter 2005, Stat Med 24:1185, section 4.
    """
    score = (np.asarray(found, dtype=float) - expected) / np.sqrt(expected)
    low, high = np.quantile(score, (0.1, 0.9))
    return float(np.mean(np.clip(score, low, high) ** 2)) / WINSORISED
