import numpy as np
import pytest

from pipelines.stats.logrank import clustered_logrank, logrank


def test_two_groups_worked_by_hand():
    # day 1: one of A's 2 and none of B's 2 lost; day 2: A's last and B's first lost; day 3: B's last leaves unlost.
    found = logrank([[1, 0], [1, 1], [0, 0]], [[0, 0], [0, 0], [0, 1]])
    expected = 1 * 2 / 4 + 2 * 1 / 3
    variance = 1 / 4 + 2 * (1 / 3) * (2 / 3) * (1 / 2)
    assert found.expected[0] == pytest.approx(expected)
    assert found.chi2 == pytest.approx((2 - expected) ** 2 / variance)
    assert found.df == 1


def test_groups_alike_give_no_difference():
    found = logrank([[3, 3], [2, 2]], [[0, 0], [5, 5]])
    assert found.chi2 == pytest.approx(0, abs=1e-12)
    assert found.p_value == pytest.approx(1)


def test_a_group_of_which_none_was_ever_due_takes_no_degree_of_freedom():
    with_an_early_leaver = logrank([[0, 0, 0], [1, 0, 0], [1, 1, 0]], [[0, 0, 4], [0, 0, 0], [0, 1, 0]])
    without = logrank([[1, 0], [1, 1]], [[0, 0], [0, 1]])
    assert with_an_early_leaver.df == 1
    assert with_an_early_leaver.chi2 == pytest.approx(without.chi2)


@pytest.mark.parametrize("groups", [0, 1], ids=["no group", "one group"])
def test_nothing_to_compare_gives_no_test(groups):
    found = logrank(np.ones((2, groups)), np.ones((2, groups)))
    assert found.df == 0
    assert np.isnan(found.chi2)


def test_no_losses_give_no_test():
    assert np.isnan(logrank([[0, 0]], [[3, 4]]).p_value)


def shoes_of_horses(rng, horses, shoes, level_of):
    """Days, whether lost, level and horse of made-up shoes; horses differ much in how often they pull one."""
    horse = np.repeat(np.arange(horses), shoes)
    rate = rng.gamma(0.5, 2.0, horses)[horse] / 150
    off, on = rng.exponential(1 / rate).astype(int), rng.integers(20, 60, horse.size)
    return np.minimum(off, on), (off <= on).astype(int), level_of[horse], horse


def score_by_definition(day, lost, level, horse, levels):
    """Lin & Wei's score of each horse: the integral of (own level − share at risk) over found − expected."""
    shares = {t: np.bincount(level[day >= t], minlength=levels) / (day >= t).sum() for t in np.unique(day[lost == 1])}
    rates = {t: lost[day == t].sum() / (day >= t).sum() for t in shares}
    score = np.zeros((horse.max() + 1, levels))
    for t, was_lost, own, h in zip(day, lost, level, horse, strict=True):
        mine = np.eye(levels)[own]
        score[h] += was_lost * (mine - shares[t]) if was_lost else 0
        score[h] -= sum(((mine - shares[s]) * rates[s] for s in shares if s <= t), np.zeros(levels))
    return score


def test_the_clustered_test_is_the_robust_score_test_by_its_definition():
    rng = np.random.default_rng(5)
    day, lost, level, horse = shoes_of_horses(rng, 20, 8, rng.integers(0, 3, 20))
    found = clustered_logrank(day, lost, 1 - lost, level, horse)
    score = score_by_definition(day, lost, level, horse, 3)[:, 1:]
    gap = score.sum(axis=0)
    assert found.chi2 == pytest.approx(gap @ np.linalg.solve(score.T @ score, gap))
    assert found.df == 2
    by_shoe = np.zeros((day.max() + 1, 3))
    np.add.at(by_shoe, (day, level), lost)
    left = np.zeros_like(by_shoe)
    np.add.at(left, (day, level), 1 - lost)
    assert found.found - found.expected == pytest.approx(logrank(by_shoe, left).found - logrank(by_shoe, left).expected)


def test_where_horses_differ_but_levels_do_not_the_clustered_test_keeps_its_promise():
    """Of 300 records in which the level means nothing, about 5 % may fall below 0.05; by shoe far more do."""
    rng = np.random.default_rng(6)
    by_horse, by_shoe = 0, 0
    for _ in range(300):
        day, lost, level, horse = shoes_of_horses(rng, 40, 20, rng.permutation(np.arange(40) % 2))
        by_horse += clustered_logrank(day, lost, 1 - lost, level, horse).p_value < 0.05
        by_shoe += clustered_logrank(day, lost, 1 - lost, level, np.arange(day.size)).p_value < 0.05
    assert by_horse <= 24  # 15 expected, standard deviation 3.8
    assert by_shoe > 60


def test_one_cluster_gives_no_clustered_test_of_nothing():
    assert np.isnan(clustered_logrank([3], [1], [0], [0], [0]).chi2)
