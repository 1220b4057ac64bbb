"""Bounds with glue-ups estimated: coverage, and what they refuse."""

import numpy as np
import pytest

from jointlab.compare.batch_bound import BatchMoments, anova_bound, generalised_bound
from jointlab.errors import AnalysisError


def test_both_bounds_lie_below_the_percentile_as_often_as_they_say() -> None:
    rng = np.random.default_rng(27)
    batch = np.repeat(np.arange(5), 5)
    truth = -1.6448536 * 2**0.5
    below = np.zeros(2)
    for _ in range(300):
        y = rng.standard_normal(5)[batch] + rng.standard_normal(25)
        moments = BatchMoments.of(y, batch)
        asked = {"coverage": 0.95, "confidence": 0.95}
        below += [
            anova_bound(moments, **asked) <= truth,
            generalised_bound(moments, rng=rng, draws=2000, **asked) <= truth,
        ]
    assert below / 300 == pytest.approx([0.95, 0.95], abs=0.04)


def test_two_glue_ups_or_single_pulls_are_refused() -> None:
    with pytest.raises(AnalysisError, match="2 glue-ups with 4 pulls"):
        BatchMoments.of(np.arange(4.0), np.array([0, 0, 1, 1]))
    with pytest.raises(AnalysisError, match="some with several pulls"):
        BatchMoments.of(np.arange(4.0), np.arange(4))
