import math

import numpy as np
import pytest

from jointlab.strength import Family
from jointlab.strength.kernels import STANDARD_NORMAL
from jointlab.strength.likelihood import Samples
from jointlab.strength.signed_root import Model, coarsened, signed_roots, tops_of

ALONE = np.zeros(4, dtype=np.int64)


def root_of(lower: list[float], upper: list[float], *, point: float, family: Family = Family.NORMAL) -> float:
    samples = Samples(np.array([lower]), np.array([upper]), np.ones((1, len(lower))))
    model = Model.of(family)
    share = model.percentile(0.95)
    batch = ALONE[: len(lower)]
    tops = tops_of(samples, batch, model, share=share)
    return float(signed_roots(samples, batch, model, tops, point=point, share=share).root[0])


def test_the_root_of_a_complete_normal_sample_is_a_function_of_its_t() -> None:
    # At percentile q: minimise n ln s + sum (x - q - z s)^2 / 2 s^2 over s, in closed form a quadratic equation.
    x, q, z = np.array([-1.1, -0.2, 0.4, 1.3]), -2.0, 1.6448536269514722
    n, away = x.size, x - q
    u = (z * away.sum() + math.sqrt(z * z * away.sum() ** 2 + 4 * n * (away**2).sum())) / (2 * (away**2).sum())
    held = n * math.log(u) - 0.5 * ((u * away - z) ** 2).sum()
    free = -n * math.log(x.std()) - n / 2
    expected = math.sqrt(2 * (free - held))
    assert root_of(x.tolist(), x.tolist(), point=q) == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize("family", Family)
def test_the_root_falls_as_the_percentile_asked_rises(family: Family) -> None:
    lower, upper = [-1.0, -0.3, 0.5, 1.0], [-1.0, 0.1, 0.5, math.inf]
    roots = [root_of(lower, upper, point=point, family=family) for point in (-6.0, -3.0, -1.5, 0.0, 0.8)]
    assert roots == sorted(roots, reverse=True)
    assert roots[0] > 0.0 > roots[-1]


def test_samples_without_maximum_have_the_root_of_their_supremum() -> None:
    # Nothing broke: the likeliest percentile is beyond all measure; held there, n times ln coverage at endless spread.
    assert root_of([0.0] * 4, [math.inf] * 4, point=1.0) == pytest.approx(0.0, abs=2e-3)
    assert root_of([0.0] * 4, [math.inf] * 4, point=-1.0) == pytest.approx(math.sqrt(-8 * math.log(0.95)), rel=1e-4)
    # One step: inside it nothing speaks against the percentile; far below it, much does.
    assert root_of([0.0] * 4, [1.0] * 4, point=0.5) == 0.0
    assert root_of([0.0] * 4, [1.0] * 4, point=-1.0) > 1.0
    # Two adjacent steps, two in each: supremum 4 ln 1/2.
    far = root_of([0.0, 0.0, 1.0, 1.0], [1.0, 1.0, 2.0, 2.0], point=1.0)
    assert far == 0.0


@pytest.mark.parametrize("power", [0.0, 0.5, 1.0])
def test_a_scale_and_its_strengths_undo_each_other(power: float) -> None:
    model = Model(STANDARD_NORMAL, power)
    strengths = np.array([0.3, 1.0, 7.0])
    assert model.strength(model.scaled(strengths)) == pytest.approx(strengths, rel=1e-14)


def test_the_percentile_of_a_shop_counts_batches() -> None:
    assert Model(STANDARD_NORMAL, 0.0, ratio=1.0).percentile(0.95) == pytest.approx(-1.6448536269514722 * math.sqrt(2))
    draws = Model(STANDARD_NORMAL, 0.0, ratio=1.0).draws(np.random.default_rng(1), np.array([0, 0, 1]), 20_000)
    assert np.corrcoef(draws.T) == pytest.approx(np.array([[1, 0.5, 0], [0.5, 1, 0], [0, 0, 1]]), abs=0.03)


def test_an_exact_break_inside_the_step_of_all_others_counts_as_read_in_that_step() -> None:
    inside = coarsened(Samples(np.array([[0.0, 0.0, 0.4]]), np.array([[1.0, 1.0, 0.4]]), np.ones((1, 3))))
    assert inside.lower.tolist() == [[0.0] * 3]
    assert inside.upper.tolist() == [[1.0] * 3]


def test_breaks_that_show_a_spread_stay_as_they_were_read() -> None:
    lower, upper = (
        [[0.0, 0.0, 1.2], [0.0, 0.2, 0.4], [0.0, 1.0, 0.4]],
        [[1.0, 1.0, 1.2], [1.0, 0.2, 0.4], [1.0, 2, 0.4]],
    )
    seen = Samples(np.array(lower), np.array(upper), np.ones((3, 3)))
    assert coarsened(seen) is seen


def test_an_exact_break_a_hair_beside_a_step_has_a_maximum_all_the_same() -> None:
    # The spread is a thousandth of the step: exponents then leave the floats at the step's other end.
    lower, upper = np.array([[-0.6986, 0.2784, -0.6986, 0.2784]]), np.array([[0.2773, 0.2784, 0.2773, 1.2]])
    model = Model.of(Family.WEIBULL)
    tops = tops_of(Samples(lower, upper, np.ones((1, 4))), ALONE, model, share=model.percentile(0.95))
    assert np.isfinite(tops.height).all()


def test_breaks_in_two_neighbouring_steps_are_as_likely_as_their_shares() -> None:
    # no spread at the meeting point: three of five below it and two above, at most (3/5)^3 (2/5)^2
    lower, upper = np.array([[1.0, 1.0, 1.0, 2.0, 2.0]]), np.array([[2.0, 2.0, 2.0, 3.0, 3.0]])
    tops = tops_of(Samples(lower, upper, np.ones((1, 5))), ALONE[:1].repeat(5), Model.of(Family.NORMAL), share=-1.64)
    assert tops.height[0] == pytest.approx(3 * math.log(0.6) + 2 * math.log(0.4), rel=1e-12)
    assert (tops.low[0], tops.high[0]) == (2.0, 2.0)
    heavy = Samples(lower[:, [0, 3]], upper[:, [0, 3]], np.array([[3.0, 2.0]]))
    again = tops_of(heavy, ALONE[:2], Model.of(Family.NORMAL), share=-1.64)
    assert again.height[0] == pytest.approx(tops.height[0], rel=1e-12)
