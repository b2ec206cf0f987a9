"""Limits of how much more often two things are found together than chance brings, by a slow second version."""

import numpy as np
import pytest
from scipy.stats import t

from pipelines.stats.together import times_chance

DRAW = np.random.default_rng(11)
LOOKS = DRAW.integers(2, 15, 12)
LEFT, RIGHT = DRAW.binomial(LOOKS, 0.4), DRAW.binomial(LOOKS, 0.4)
BOTH = np.minimum(np.minimum(LEFT, RIGHT), DRAW.binomial(LOOKS, 0.2))
GROUP = np.array([0] * 7 + [1] * 5)


@pytest.mark.parametrize("which", [0, 1])
def test_the_limits_are_those_of_leaving_each_cluster_out_in_turn(which):
    parts = np.column_stack([BOTH, LEFT, RIGHT, LOOKS])[which == GROUP].astype(float)
    n = len(parts)

    def ratio(rows):
        both, left, right, looks = rows.sum(axis=0)
        return (both / looks) / (left / looks * right / looks)

    logs = np.log([ratio(np.delete(parts, out, axis=0)) for out in range(n)])
    spread = (n - 1) / n * ((logs - np.log(ratio(parts))) ** 2).sum()
    half = t.ppf(0.975, n - 1) * np.sqrt(spread)
    found = [part[which] for part in times_chance(BOTH, LEFT, RIGHT, LOOKS, GROUP, 2)]
    assert found == pytest.approx([ratio(parts), ratio(parts) * np.exp(-half), ratio(parts) * np.exp(half)])


def test_one_cluster_or_nothing_without_it_gives_no_limits():
    ratio, low, high = times_chance([1, 2, 0], [2, 2, 0], [1, 2, 0], [4, 4, 4], np.array([0, 1, 1]), 2)
    assert ratio == pytest.approx([2, 4])
    assert np.isnan([low, high]).all()
