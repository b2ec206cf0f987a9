import numpy as np
import pytest

from pipelines.stats.piecewise_poisson import MANY, Design, piecewise_poisson

YES_NO = np.array([[0.0], [1.0]])


def fit(rows, tables=(YES_NO,), bands=1):
    """rows: (horse, code of each factor …, losses, days)."""
    columns = np.array(rows, dtype=float).T
    codes = [column.astype(int) for column in columns[1:-2]]
    return piecewise_poisson(
        columns[-2][:, None], columns[-1][:, None], np.eye(bands), Design(codes, tables), columns[0].astype(int)
    )


def test_one_yes_no_factor_gives_the_ratio_of_the_two_rates():
    found = fit([(0, 0, 2, 1000), (1, 0, 4, 1000), (2, 1, 5, 500), (3, 1, 4, 1000)])
    assert np.exp(found.coef) == pytest.approx([6 / 2000, (9 / 1500) / (6 / 2000)])
    assert found.naive[1] == pytest.approx(np.sqrt(1 / 6 + 1 / 9))


def test_rows_may_be_cut_as_finely_as_you_like():
    whole = fit([(0, 0, 2, 1000), (1, 0, 4, 1000), (2, 1, 5, 500), (3, 1, 4, 1000)])
    cut = fit([(0, 0, 2, 400), (0, 0, 0, 600), (1, 0, 1, 500), (1, 0, 3, 500), (2, 1, 5, 500), (3, 1, 4, 1000)])
    assert cut.coef == pytest.approx(whole.coef)
    assert cut.error == pytest.approx(whole.error)


def test_a_factor_that_only_repeats_another_is_left_blank():
    found = fit([(0, 0, 0, 2, 900), (1, 0, 0, 4, 900), (2, 1, 1, 5, 500), (3, 1, 1, 4, 900)], (YES_NO, YES_NO))
    assert np.isfinite(found.coef[1])
    assert np.isnan(found.coef[2])


def test_a_level_without_losses_is_said_not_to_converge():
    found = fit([(0, 0, 2, 1000), (1, 0, 4, 1000), (2, 1, 0, 500), (3, 1, 0, 1000)])
    assert not found.converged
    assert np.isnan(found.coef).all()


def test_a_loss_in_a_band_in_which_hardly_a_shoe_was_followed_takes_nothing_from_the_other_ratios():
    """Half a day and one loss beside 80,000 days and 20: from the rate of all, the first step to that band is 4,000."""
    days = np.array([[20_000.0, 0.0], [20_000.0, 0.0], [20_000.0, 0.0], [20_000.0, 0.5]])
    losses = np.array([[2.0, 0.0], [4.0, 0.0], [7.0, 0.0], [7.0, 1.0]])
    codes, horse = np.array([0, 0, 1, 1]), np.arange(4)
    found = piecewise_poisson(losses, days, np.eye(2), Design([codes], [YES_NO]), horse)
    assert found.converged
    # The top in closed form: with b the ratio of code 1, band 0 has 20 losses over (1 + b) 40,000 days, band 1 has one
    # over b / 2, and code 1 has 15 of the 21; so 20 b / (1 + b) + 1 = 15.
    ratio = 14 / 6
    assert np.exp(found.coef) == pytest.approx([20 / (40_000 * (1 + ratio)), 2 / ratio, ratio])


@pytest.mark.parametrize("rows", [[], [(0, 0, 2, 1000), (0, 1, 3, 1000)]], ids=["no rows", "one horse"])
def test_without_two_horses_there_is_no_fit(rows):
    found = (
        fit(rows)
        if rows
        else piecewise_poisson(
            np.zeros((0, 1)),
            np.zeros((0, 1)),
            np.eye(1),
            Design([np.array([], dtype=int)], [YES_NO]),
            np.array([], dtype=int),
        )
    )
    assert not found.converged


def test_the_short_start_for_many_rows_ends_at_the_same_top():
    few = [(0, 0, 2, 1000), (1, 0, 4, 1000), (2, 1, 5, 500), (3, 1, 4, 1000)]
    copies = MANY // 4 + 1
    many = np.tile(np.array(few, dtype=float), (copies, 1)).T
    found = piecewise_poisson(
        many[2][:, None], many[3][:, None], np.eye(1), Design([many[1].astype(int)], [YES_NO]), many[0].astype(int)
    )
    assert found.coef == pytest.approx(fit(few).coef, rel=1e-7)
    assert found.error == pytest.approx(fit(few).error, rel=1e-6)


def test_neighbouring_factors_made_one_give_the_same_columns(monkeypatch):
    """Of 3, 1, 4, 50 and 2 codes: the first three become one of 12, the fourth stands alone, the last joins it."""
    draw = np.random.default_rng(2)
    sizes, rows = (3, 1, 4, 50, 2), 300
    codes = [draw.integers(0, size, rows) for size in sizes]
    design = Design(codes, [draw.normal(size=(size, 1 + size % 3)) for size in sizes])
    monkeypatch.setattr("pipelines.stats.piecewise_poisson.JOINT", 100)
    joined = design.joined()
    assert [len(table) for table in joined.tables] == [12, 100]
    assert joined.columns == design.columns
    assert joined.block(slice(0, rows)) == pytest.approx(design.block(slice(0, rows)))
    coef, weight = draw.normal(size=design.columns), draw.uniform(size=rows)
    assert joined.linear(coef, rows) == pytest.approx(design.linear(coef, rows))
    assert joined.sums(weight) == pytest.approx(design.sums(weight))
    plain = design.products(weight, codes[0][:, None])
    for many in (rows + 1, rows):
        monkeypatch.setattr("pipelines.stats.piecewise_poisson.MANY", many)
        monkeypatch.setattr("pipelines.stats.piecewise_poisson.CHUNK", 40)
        for one, other in zip(joined.products(weight, codes[0][:, None]), plain, strict=True):
            assert one == pytest.approx(other)
    assert Design([], []).joined().columns == 0


def test_a_level_that_the_short_start_never_sees_is_found_all_the_same(monkeypatch):
    """Level 2 stands in no sixteenth row, from which the start is taken."""
    draw = np.random.default_rng(7)
    rows = 16 * 400
    codes = draw.integers(0, 2, rows)
    codes[np.arange(rows) % 16 == 3] = 2
    time = draw.uniform(5, 60, rows)
    events = draw.poisson(time * 0.002 * np.array([1.0, 1.5, 4.0])[codes])
    columns = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]])
    asked = (events[:, None], time[:, None], np.eye(1), Design([codes], [columns]), np.arange(rows) // 8)
    plain = piecewise_poisson(*asked)
    monkeypatch.setattr("pipelines.stats.piecewise_poisson.MANY", 1000)
    found = piecewise_poisson(*asked)
    assert found.converged
    assert found.coef == pytest.approx(plain.coef, abs=1e-8)
    assert found.error == pytest.approx(plain.error, rel=1e-6)
    assert found.naive == pytest.approx(plain.naive, rel=1e-6)
