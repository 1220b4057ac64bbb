"""Analysis of variance: the library's own table, empty cells, blocks, whitening."""

import numpy as np
import pytest

from jointlab.compare.variance_table import Factor, terms_of, variance_table


@pytest.fixture
def unbalanced() -> tuple[np.ndarray, list[Factor]]:
    rng = np.random.default_rng(3)
    glue = rng.integers(0, 3, 60)
    wood = rng.integers(0, 4, 60)
    y = 0.3 * glue + 0.1 * wood + 0.2 * (glue == 1) * (wood == 2) + 0.2 * rng.standard_normal(60)
    return y, [Factor("glue", tuple(map(str, glue))), Factor("substrate", tuple(map(str, wood)))]


def test_type_two_sums_of_squares_are_those_of_statsmodels(unbalanced) -> None:
    import pandas as pd
    from statsmodels.formula.api import ols
    from statsmodels.stats.anova import anova_lm

    y, factors = unbalanced
    frame = pd.DataFrame({"y": y, "glue": factors[0].levels, "wood": factors[1].levels})
    printed = anova_lm(ols("y ~ C(glue) * C(wood)", frame).fit(), typ=2)
    got = variance_table(y, factors=factors)
    assert [line.term for line in got.lines] == ["glue", "substrate", "glue x substrate"]
    for line, (_, row) in zip(got.lines, printed.iterrows(), strict=False):
        assert line.degrees == row["df"]
        assert line.sum_of_squares == pytest.approx(row["sum_sq"], rel=1e-9)
        assert line.f == pytest.approx(row["F"], rel=1e-9)
        assert line.p_value == pytest.approx(row["PR(>F)"], rel=1e-7)
    assert got.error_sum_of_squares == pytest.approx(printed.loc["Residual", "sum_sq"], rel=1e-9)
    assert "type II" in got.kind
    assert got.empty_cells == 0


def test_empty_cells_take_their_degrees_of_freedom_from_the_interaction(unbalanced) -> None:
    y, factors = unbalanced
    kept = [
        place
        for place in range(60)
        if (factors[0].levels[place], factors[1].levels[place]) not in {("0", "0"), ("2", "3")}
    ]
    fewer = [Factor(factor.name, tuple(factor.levels[place] for place in kept)) for factor in factors]
    got = variance_table(y[kept], factors=fewer)
    assert got.empty_cells == 2
    assert [line.degrees for line in got.lines] == [2, 3, 4]
    assert got.error_degrees == len(kept) - 10


def test_a_term_that_cannot_be_told_from_another_has_no_f() -> None:
    y = np.array([1.0, 1.1, 2.0, 2.2, 3.0, 3.1])
    same = ("a", "a", "b", "b", "c", "c")
    got = variance_table(y, factors=[Factor("glue", same), Factor("substrate", same)])
    assert [(line.degrees, line.f) for line in got.lines] == [(0, None)] * 3


def test_blocks_take_their_share_out_of_the_error() -> None:
    rng = np.random.default_rng(4)
    glue = np.tile([0, 1, 2], 6)
    block = np.repeat(np.arange(6), 3)
    y = 0.2 * glue + 1.0 * rng.standard_normal(6)[block] + 0.1 * rng.standard_normal(18)
    factor, blocks = Factor("glue", tuple(map(str, glue))), Factor("glue-up", tuple(map(str, block)))
    plain = variance_table(y, factors=[factor])
    blocked = variance_table(y, factors=[factor], blocks=blocks)
    assert blocked.lines[0].f > 10 * plain.lines[0].f
    assert (blocked.lines[1].term, blocked.lines[1].degrees, blocked.error_degrees) == ("glue-up", 5, 10)
    assert blocked.lines[0].sum_of_squares == pytest.approx(plain.lines[0].sum_of_squares, rel=1e-10)


def test_a_common_size_costs_no_digits_of_f(unbalanced) -> None:
    y, factors = unbalanced
    near, far = variance_table(y, factors=factors), variance_table(y + 1e6, factors=factors)
    for one, other in zip(near.lines, far.lines, strict=True):
        assert other.f == pytest.approx(one.f, rel=1e-7)  # a float near 1e6 knows 1e-10 of a spread of 0.2


def test_terms_are_every_effect_up_to_the_order() -> None:
    factors = [Factor(name, ()) for name in ("a", "b", "c")]
    assert terms_of(factors, order=2) == (("a",), ("b",), ("c",), ("a", "b"), ("a", "c"), ("b", "c"))
    assert terms_of(factors, order=3)[-1] == ("a", "b", "c")
