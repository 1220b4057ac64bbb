"""The working bound of many samples is that of each."""

from __future__ import annotations

import numpy as np
import pytest

from jointlab.strength.sample import StrengthSample
from jointlab.strength.working import lower_bound
from jointlab.verdict.simulated import working_bounds


@pytest.mark.parametrize("batch", [[0, 0, 0, 1, 1], [0, 1, 2, 0, 1, 2, 0, 0, 1, 1, 2, 2], [0] * 8, [0, 0, 1, 3, 3, 3]])
@pytest.mark.parametrize(("coverage", "confidence"), [(0.95, 0.95), (0.9, 0.75)])
def test_each_row_has_the_bound_of_its_own_sample(batch, coverage, confidence):
    rng = np.random.default_rng(11)
    strengths = np.exp(0.3 * rng.standard_normal((25, len(batch))) + 0.4 * rng.standard_normal((25, 1)))
    found = working_bounds(strengths, np.array(batch), coverage=coverage, confidence=confidence)
    each = [
        lower_bound(StrengthSample.of_values(row, batch=batch), coverage=coverage, confidence=confidence).bound_mpa
        for row in strengths
    ]
    assert found == pytest.approx(each, rel=1e-10, abs=1e-12)
