"""The chance that a joint is weaker than the catch it meets."""

from __future__ import annotations

import numpy as np
import pytest

from jointlab.strength import normal
from jointlab.verdict.overlap import chance_of_interference


def test_normal_stress_against_normal_strength():
    # stress (20, 6) against strength (40, 7): 1.50298 %, a published figure of the interference method
    chance = chance_of_interference(lambda load: normal.cdf((load - 40.0) / 7.0), lambda z: 20.0 + 6.0 * z)
    assert chance == pytest.approx(0.0150298, abs=5e-8)


def test_two_weibull_loads_of_one_shape():
    # R = eS^b / (eS^b + eL^b), b 3, strength 100, load 60: .8223684211
    def load(z):
        return 60.0 * (-np.log(normal.cdf(-z))) ** (1.0 / 3.0)

    chance = chance_of_interference(lambda x: -np.expm1(-((x / 100.0) ** 3)), load)
    assert 1.0 - chance == pytest.approx(0.8223684211, abs=1e-9)
