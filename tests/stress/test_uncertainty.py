"""Standard uncertainties of what the bench reads, by hand from the limits beside each constant."""

from __future__ import annotations

import math

import pytest

from jointlab.stress.uncertainty import (
    combined,
    of_limits,
    of_resolution,
    scale_uncertainty_n,
    torque_uncertainty_nm,
)

KGF_N = 9.80665


def test_limits_and_steps_become_standard_uncertainties():
    # GUM: half-width / sqrt 3, step / sqrt 12, and the root of the sum of squares
    assert of_limits(3.0) == pytest.approx(1.7320508)
    assert of_resolution(6.0) == pytest.approx(1.7320508)
    assert combined(3.0, 4.0) == 5.0


@pytest.mark.parametrize("force_n", [50.0, 400.0])
def test_a_scale_is_as_uncertain_as_its_accuracy_step_and_zero(force_n):
    # half a percent of the reading and 0.2 kgf of zero either way, shown in steps of 0.1 kgf
    parts = (0.005 * force_n / math.sqrt(3), 0.2 * KGF_N / math.sqrt(3), 0.1 * KGF_N / math.sqrt(12))
    assert scale_uncertainty_n(force_n) == pytest.approx(math.sqrt(sum(part**2 for part in parts)))


def test_a_torque_wrench_is_known_to_four_percent_either_way():
    assert torque_uncertainty_nm(50.0) == pytest.approx(2.0 / math.sqrt(3))
