"""Dunnett: one other is Student's t; unequal numbers agree with simulation and with the general library."""

import numpy as np
import pytest

from jointlab.compare.many_to_one import ManyToOne, dunnett


@pytest.mark.parametrize("degrees", [3, 8, 40])
def test_with_one_other_the_factor_is_students(degrees: int) -> None:
    from scipy import stats

    got = ManyToOne.of_sizes(4, [6], degrees=degrees).factor(0.95)
    assert got == pytest.approx(stats.t.ppf(0.975, degrees), rel=1e-6)


def test_unequal_numbers_agree_with_simulation() -> None:
    family = ManyToOne.of_sizes(3, [4, 8, 15], degrees=26)
    rng = np.random.default_rng(15)
    sizes = np.array([3, 4, 8, 15])
    means = rng.standard_normal((200_000, 4)) / np.sqrt(sizes)
    spread = np.sqrt(rng.chisquare(26, 200_000) / 26)
    t = np.abs(means[:, 1:] - means[:, :1]) / np.sqrt(1 / sizes[1:] + 1 / 3) / spread[:, None]
    assert family.reached(2.3) == pytest.approx((t.max(axis=1) <= 2.3).mean(), abs=0.003)


def test_p_values_agree_with_scipy() -> None:
    from scipy import stats

    rng = np.random.default_rng(16)
    control, others = rng.standard_normal(5), [rng.standard_normal(5) + shift for shift in (0.0, 1.0, 2.5)]
    library = stats.dunnett(*others, control=control, rng=np.random.default_rng(1))
    got = dunnett(control, others, confidence=0.95)
    assert [pair.p_value for pair in got] == pytest.approx(library.pvalue, abs=2e-3)  # the library integrates by chance
    assert [pair.difference for pair in got] == pytest.approx([group.mean() - control.mean() for group in others])
