"""An attacker with linear programming: what a reader can work out of the figures shown."""

from collections.abc import Iterable, Sequence

import numpy as np
from scipy.optimize import linprog

from pipelines.sharing.disclosure import Part


def feasible_width(parts: Sequence[Part], told: Iterable[str], hidden: str) -> float:
    """How wide the range of a hidden figure is, given every figure told; infinite where nothing bounds it.

    The attacker knows which figures each kind of record stands in, that counts are not negative, and the records that
    are known; not how many records there are of each kind.
    """
    unknown = [part for part in parts if not part.known]
    wanted = np.array([hidden in part.cells for part in unknown], dtype=float)
    sums = [np.array([cell in part.cells for part in unknown], dtype=float) for cell in told]
    values = [float(row @ [part.count for part in unknown]) for row in sums]
    ends = [_extreme(sign * wanted, sums, values) for sign in (1, -1)]
    return -ends[1] - ends[0]


def _extreme(goal: np.ndarray, sums: list[np.ndarray], values: list[float]) -> float:
    equations = {"A_eq": np.array(sums), "b_eq": values} if sums else {}
    found = linprog(goal, bounds=(0, None), method="highs", **equations)
    if found.status == 3:
        return -np.inf
    assert found.status == 0, found.message
    return found.fun
