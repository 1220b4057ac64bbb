import math

import numpy as np
import pytest

from jointlab.record.finding import FindingCode
from jointlab.strength import Family, StrengthSample, lower_bound
from jointlab.strength.hanson_koopmans import extremes_of, factor, steadied_bound_from
from jointlab.strength.known_ratio import known_ratio_bounds, known_ratio_upper
from jointlab.strength.likelihood_ratio import PREVIEW_REPLICATES, calibrated_bound
from jointlab.strength.weibull_pivot import weibull_bound
from jointlab.strength.working import ON_LOGS, ON_STRENGTH, stretch_of

WIDE = np.array([2.0, 2.8, 3.5, 4.1, 5.0, 5.2, 3.9, 4.4, 4.0, 4.8])
TWO_BATCHES = [0, 0, 0, 0, 0, 1, 1, 1, 1, 1]


def codes(sample: StrengthSample) -> list[FindingCode]:
    return [finding.code for finding in lower_bound(sample, replicates=60).findings]


def test_complete_pulls_take_the_least_of_both_parts() -> None:
    lower_part = set()
    for values in (WIDE, np.tile([4.0, 4.1, 6.1, 6.0], 5)):
        n = values.size
        sample = StrengthSample.of_values(values, batch=np.arange(n) % 2)
        logs, stretch = np.sort(np.log(values)), stretch_of(sample.batch)
        each = []
        for j in (n, n - 1):
            k = stretch * factor(n, j, coverage=0.95, confidence=0.95)
            each.append(k * logs[0] + (1 - k) * logs[j - 1])
        extremes = math.exp(0.75 * each[0] + 0.25 * each[1])
        ratio = known_ratio_bounds(values[None], sample.batch, coverage=0.95, confidence=0.95)[0]
        lower_part.add(bool(extremes < ratio))
        assert lower_bound(sample).bound_mpa == pytest.approx(min(extremes, ratio), rel=1e-12)
    assert lower_part == {True, False}


@pytest.mark.parametrize(
    ("sizes", "stretch"),
    [((5, 5), 1.0), ((10, 10), 1.06), ((15, 15), 1.08), ((10, 10, 10), 1.03), ((10,), 1.12), ((2, 2, 2), 1.0)],
)
def test_the_extremes_are_stretched_where_many_pulls_share_few_glue_ups(sizes: tuple[int, ...], stretch: float) -> None:
    batch = np.repeat(np.arange(len(sizes)), sizes)
    assert stretch_of(batch) == pytest.approx(stretch, rel=1e-12)


def test_the_upper_bound_is_the_largest_over_batches_and_of_the_weibull_without() -> None:
    for values, batch in ((WIDE, TWO_BATCHES), (WIDE[:4], [0, 1, 2, 3])):
        sample = StrengthSample.of_values(values, batch=batch)
        over_batches = known_ratio_upper(values, sample.batch, coverage=0.95, confidence=0.95)
        alone = weibull_bound(sample, family=Family.WEIBULL, coverage=0.95, confidence=0.05)
        assert lower_bound(sample).upper_mpa == pytest.approx(max(over_batches, alone), rel=1e-12)


def test_more_than_half_held_gives_no_bound_and_half_held_gives_one() -> None:
    half = StrengthSample.of_intervals([2.0, 3.0, 4.0, 4.0], [2.0, 3.0, math.inf, math.inf])
    bound = lower_bound(half, replicates=60).bound_mpa
    assert bound is not None
    assert bound <= 3.0 * (2 / 3) ** factor(4, 2, coverage=0.95, confidence=0.95)
    more = StrengthSample.of_intervals([2.0, 3.0, 4.0, 4.0, 4.0], [2.0, 3.0, *[math.inf] * 3])
    assert lower_bound(more).bound_mpa is None
    assert codes(more) == [FindingCode.HELD_MOSTLY]


def test_censored_pulls_take_the_least_of_both_parts_and_block_nothing() -> None:
    held_at = 4.6
    lower, upper = np.minimum(WIDE, held_at), np.where(held_at < WIDE, math.inf, WIDE)
    sample = StrengthSample.of_intervals(lower, upper, batch=TWO_BATCHES)
    got = lower_bound(sample, replicates=1000)
    ratio = calibrated_bound(sample, ON_LOGS, coverage=0.95, confidence=0.95, replicates=1000)
    extremes = extremes_of(sample)
    assert ratio is not None
    assert extremes is not None
    assert got.bound_mpa == min(ratio.bound_mpa, steadied_bound_from(extremes, coverage=0.95, confidence=0.95))
    assert got.findings == ()
    assert got.upper_mpa is not None
    assert got.upper_mpa > got.bound_mpa


def test_a_quick_look_is_marked_and_has_no_upper_bound() -> None:
    sample = StrengthSample.of_intervals([*WIDE[:-1], 9.0], [*WIDE[:-1], math.inf], batch=TWO_BATCHES)
    quick, thorough = lower_bound(sample, replicates=PREVIEW_REPLICATES), lower_bound(sample)
    assert [finding.code for finding in quick.findings] == [FindingCode.PREVIEW]
    assert quick.upper_mpa is None
    assert thorough.findings == ()
    assert quick.known_ratio_mpa == pytest.approx(thorough.known_ratio_mpa, rel=0.1)
    assert thorough.known_ratio_error is not None


def test_the_error_is_that_of_the_part_that_decides() -> None:
    sample = StrengthSample.of_intervals([*WIDE[:-1], 9.0], [*WIDE[:-1], math.inf], batch=TWO_BATCHES)
    got = lower_bound(sample)
    assert got.bound_mpa is not None
    decided_by_simulation = got.bound_mpa == got.known_ratio_mpa
    assert (got.monte_carlo_error is not None) == decided_by_simulation


def test_fewer_than_two_breaks_below_the_lowest_load_held_give_no_bound() -> None:
    sample = StrengthSample.of_intervals([2.0, 3.0, 2.5], [2.0, 3.0, math.inf])
    assert lower_bound(sample, replicates=60).bound_mpa is None
    assert codes(sample) == [FindingCode.FEW_LOW_BREAKS]


def test_a_handled_joint_without_a_rig_makes_the_bound_zero_and_says_so() -> None:
    sample = StrengthSample.of_intervals([0.0, 3.0, 4.0], [0.5, 3.0, 4.0])
    assert lower_bound(sample, replicates=60).bound_mpa == 0.0
    assert FindingCode.FIRST_BREAK_UNRESOLVED in codes(sample)


def test_no_pulls_and_one_pull_give_no_bound_with_a_reason() -> None:
    assert codes(StrengthSample.of_values([])) == [FindingCode.NO_USABLE_PULLS]
    assert codes(StrengthSample.of_values([3.0])) == [FindingCode.FEW_LOW_BREAKS]


def test_the_rule_carries_its_name_and_version_and_what_was_asked() -> None:
    bound = lower_bound(StrengthSample.of_values(WIDE), coverage=0.9, confidence=0.75)
    assert (bound.method, bound.coverage, bound.confidence) == ("working 3", 0.9, 0.75)


def test_capped_pulls_have_an_upper_bound_near_that_of_the_breaks_they_hide_and_an_error_that_is_told() -> None:
    values = np.tile([4.0, 4.1, 6.1, 6.0], 5)
    batch = np.arange(20) % 2
    capped = StrengthSample.of_intervals(
        np.minimum(values, 6.05), np.where(values > 6.05, math.inf, values), batch=batch
    )
    got, complete = lower_bound(capped, replicates=1200), lower_bound(StrengthSample.of_values(values, batch=batch))
    assert got.bound_mpa == got.known_ratio_mpa
    assert got.monte_carlo_error == got.known_ratio_error
    assert 0.0 < got.monte_carlo_error < 0.03
    assert got.upper_mpa == pytest.approx(complete.upper_mpa, rel=0.15)
    assert got.upper_mpa > got.bound_mpa
    assert complete.monte_carlo_error is None


def test_strength_itself_is_the_scale_of_one_of_them() -> None:
    strengths = np.array([0.5, 3.0])
    assert ON_STRENGTH.scaled(strengths).tolist() == strengths.tolist()
    assert ON_STRENGTH.strength(strengths).tolist() == strengths.tolist()
    assert ON_LOGS.scaled(strengths) == pytest.approx([math.log(0.5), math.log(3.0)])
