"""How long comparisons take."""

import time
from dataclasses import replace

import numpy as np
import pytest

from jointlab.compare import Analysis, CombinationSample, compare_combinations
from jointlab.record.joint import Combination
from jointlab.strength import StrengthSample

pytestmark = pytest.mark.performance


@pytest.mark.parametrize("analysis", [None, Analysis.ONE_SPREAD])
def test_a_thousand_combinations_of_ten_pulls_meet_their_control_within_five_seconds(analysis) -> None:
    rng = np.random.default_rng(1)
    parts = []
    for place in range(1001):
        sample = StrengthSample.of_values(np.exp(0.2 * rng.standard_normal(10)), batch=range(10))
        sample = replace(sample, batch_names=tuple(f"{place}-{k}" for k in range(10)))
        parts.append(CombinationSample(Combination("glue", str(place)), sample))
    start = time.perf_counter()
    got = compare_combinations(parts, control=parts[0].combination, analysis=analysis)
    took = time.perf_counter() - start
    print(f"\n1,000 combinations, {got.analysis}: {took:.2f} s")
    assert len(got.effects) == 1000
    assert took < 5.0
