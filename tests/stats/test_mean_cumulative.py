import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as some

from pipelines.stats.mean_cumulative import Events, Followed, mean_cumulative

DAYS = np.arange(6)


def worked_out(followed, events, days, cluster):
    """The definition, day by day and unit by unit."""
    units = sorted({unit for unit, _, _ in followed})
    mean, residual, rows = 0.0, dict.fromkeys(cluster.values(), 0.0), []
    for day in days:
        watched = [unit for unit, start, stop in followed if start < day <= stop]
        own = {unit: sum(event == (unit, day) for event in events) for unit in units}
        step = sum(own.values()) / len(watched) if sum(own.values()) else 0.0
        mean += step
        for unit in watched:
            residual[cluster[unit]] += (own[unit] - step) / len(watched)
        rows.append((len(watched), mean, sum(value**2 for value in residual.values()) ** 0.5))
    return rows


def estimate(followed, events, days=DAYS, clusters=None):
    columns = [np.array(part, dtype=int) for part in zip(*followed, strict=True)]
    happened = [np.array(part, dtype=int) for part in zip(*events, strict=True)] if events else [np.array([], int)] * 2
    return mean_cumulative(Followed(*columns), Events(*happened), days, clusters)


def test_the_mean_rises_by_the_events_of_a_day_over_the_units_followed_on_it():
    #                  unit 0 is followed to day 4, unit 1 to day 2 and unit 2 to day 5, all from day 1 on
    burden = estimate([(0, 0, 4), (1, 0, 2), (2, 0, 5)], [(0, 1), (1, 2), (0, 4), (0, 4)])
    assert list(burden.followed) == [0, 3, 3, 2, 2, 1]
    assert list(burden.mean) == pytest.approx([0, 1 / 3, 2 / 3, 2 / 3, 5 / 3, 5 / 3])
    assert burden.error[1] == pytest.approx((2 / 27) ** 0.5), "(2/9)² + (1/9)² + (1/9)²"


def test_limits_are_on_the_log_and_missing_before_the_first_event():
    burden = estimate([(0, 0, 5), (1, 0, 5)], [(0, 2)])
    assert np.isnan(burden.low[:2]).all()
    assert np.isnan(burden.high[:2]).all()
    spread = np.exp(1.959963984540054 * burden.error[5] / 0.5)
    assert (burden.low[5], burden.high[5]) == pytest.approx((0.5 / spread, 0.5 * spread))


def test_units_that_all_do_the_same_leave_no_error_and_no_limits():
    burden = estimate([(0, 0, 5), (1, 0, 5)], [(0, 2), (1, 2)])
    assert (burden.mean[5], burden.error[5]) == (1, 0)
    assert np.isnan(burden.low[5])


def test_two_units_of_one_cluster_weigh_as_one_that_has_both_their_events():
    followed, events = [(unit, 0, 5) for unit in range(4)], [(0, 1), (1, 1), (2, 3)]
    apart = estimate(followed, events)
    together = estimate(followed, events, clusters=np.array([0, 0, 1, 2]))
    assert list(together.mean) == list(apart.mean)
    assert together.error[1] == pytest.approx(((2 * 0.5) ** 2 + 2 * 0.5**2) ** 0.5 / 4)
    assert together.error[1] > apart.error[1]


@pytest.mark.parametrize(
    "event",
    [
        pytest.param((0, 4), id="after the last stretch"),
        pytest.param((0, 2), id="in a gap"),
        pytest.param((1, 0), id="before the first stretch, whose first day comes after its start"),
        pytest.param((2, 1), id="of a unit that is never followed"),
    ],
)
def test_an_event_is_refused(event):
    with pytest.raises(ValueError, match="1 events fall where their unit is not followed"):
        estimate([(0, 0, 1), (0, 2, 3), (1, 0, 5)], [(0, 3), event])


@some.composite
def worlds(draw):
    """Up to five units in three clusters, each with one or two stretches in a world of six days."""
    followed, events, cluster = [], [], {}
    for unit in range(draw(some.integers(1, 5))):
        cuts = sorted(draw(some.lists(some.integers(-1, 5), min_size=2, max_size=4, unique=True)))
        stretches = [(unit, *cuts[place : place + 2]) for place in range(0, len(cuts) - 1, 2)]
        watched = [day for _, start, stop in stretches for day in range(start + 1, stop + 1)]
        followed += stretches
        events += [(unit, day) for day in draw(some.lists(some.sampled_from(watched), max_size=4))]
        cluster[unit] = draw(some.integers(0, 2))
    return followed, events, cluster


@given(worlds())
def test_in_any_small_world_it_is_what_the_definition_gives(world):
    followed, events, cluster = world
    burden = estimate(followed, events, clusters=np.array([cluster[unit] for unit in sorted(cluster)]))
    rows = worked_out(followed, events, DAYS, cluster)
    assert list(burden.followed) == [row[0] for row in rows]
    assert list(burden.mean) == pytest.approx([row[1] for row in rows])
    assert list(burden.error) == pytest.approx([row[2] for row in rows], abs=1e-7)
