import math

import numpy as np
import pytest

from jointlab.record.finding import FindingCode, Severity
from jointlab.strength import Family, StrengthSample, lower_bound
from jointlab.strength.hanson_koopmans import factor
from jointlab.strength.known_ratio import known_ratio_bound, known_ratio_upper
from jointlab.strength.weibull_pivot import weibull_bound

WIDE = np.array([2.0, 2.8, 3.5, 4.1, 5.0, 5.2, 3.9, 4.4, 4.0, 4.8])
TWO_BATCHES = [0, 0, 0, 0, 0, 1, 1, 1, 1, 1]


def codes(sample: StrengthSample) -> list[FindingCode]:
    return [finding.code for finding in lower_bound(sample).findings]


def test_complete_pulls_take_the_least_of_both_parts() -> None:
    k = factor(10, 10, coverage=0.95, confidence=0.95)
    for values in (WIDE, np.array([2.0, 4.1, 4.0, 4.1, 4.2, 4.1, 4.0, 4.2, 4.1, 4.0])):
        sample = StrengthSample.of_values(values, batch=TWO_BATCHES)
        extremes = values.min() ** k * values.max() ** (1 - k)
        ratio = known_ratio_bound(values, sample.batch, coverage=0.95, confidence=0.95)
        assert lower_bound(sample).bound_mpa == pytest.approx(min(extremes, ratio), rel=1e-12)


def test_the_upper_bound_is_the_largest_over_batches_and_of_the_weibull_without() -> None:
    for values, batch in ((WIDE, TWO_BATCHES), (WIDE[:4], [0, 1, 2, 3])):
        sample = StrengthSample.of_values(values, batch=batch)
        over_batches = known_ratio_upper(values, sample.batch, coverage=0.95, confidence=0.95)
        alone = weibull_bound(sample, family=Family.WEIBULL, coverage=0.95, confidence=0.05)
        assert lower_bound(sample).upper_mpa == pytest.approx(max(over_batches, alone), rel=1e-12)


def test_more_than_half_held_gives_no_bound_and_half_held_gives_one() -> None:
    half = StrengthSample.of_intervals([2.0, 3.0, 4.0, 4.0], [2.0, 3.0, math.inf, math.inf])
    assert lower_bound(half).bound_mpa == pytest.approx(3.0 * (2 / 3) ** factor(4, 2, coverage=0.95, confidence=0.95))
    more = StrengthSample.of_intervals([2.0, 3.0, 4.0, 4.0, 4.0], [2.0, 3.0, *[math.inf] * 3])
    assert lower_bound(more).bound_mpa is None
    assert codes(more) == [FindingCode.HELD_MOSTLY]


def test_censored_pulls_say_that_batches_are_not_counted_and_block() -> None:
    bound = lower_bound(StrengthSample.of_intervals([2.0, 3.0, 4.0], [2.0, 3.0, math.inf]))
    assert [(finding.code, finding.severity) for finding in bound.findings] == [
        (FindingCode.BATCHES_NOT_COUNTED, Severity.BLOCKING)
    ]
    assert bound.upper_mpa is None


def test_fewer_than_two_breaks_below_the_lowest_load_held_give_no_bound() -> None:
    sample = StrengthSample.of_intervals([2.0, 3.0, 2.5], [2.0, 3.0, math.inf])
    assert lower_bound(sample).bound_mpa is None
    assert codes(sample) == [FindingCode.FEW_LOW_BREAKS]


def test_a_handled_joint_without_a_rig_makes_the_bound_zero_and_says_so() -> None:
    sample = StrengthSample.of_intervals([0.0, 3.0, 4.0], [0.5, 3.0, 4.0])
    assert lower_bound(sample).bound_mpa == 0.0
    assert FindingCode.FIRST_BREAK_UNRESOLVED in codes(sample)


def test_no_pulls_and_one_pull_give_no_bound_with_a_reason() -> None:
    assert codes(StrengthSample.of_values([])) == [FindingCode.NO_USABLE_PULLS]
    assert codes(StrengthSample.of_values([3.0])) == [FindingCode.FEW_LOW_BREAKS]


def test_the_rule_carries_its_name_and_version_and_what_was_asked() -> None:
    bound = lower_bound(StrengthSample.of_values(WIDE), coverage=0.9, confidence=0.75)
    assert (bound.method, bound.coverage, bound.confidence) == ("working 1", 0.9, 0.75)
