"""Laws that every comparison obeys: order, unit, names, censoring, confidence."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jointlab.compare import Analysis, CombinationSample, Comparison, compare_combinations
from jointlab.record.joint import Combination
from jointlab.strength import StrengthSample

LAW = settings(derandomize=True, max_examples=12, deadline=None, database=None)
ANALYSES = st.sampled_from(
    [Analysis.OWN_SPREADS, Analysis.BLOCKS, Analysis.ONE_SPREAD, Analysis.RANKS, Analysis.CENSORED_LOGNORMAL]
)


@st.composite
def joint_tests(draw: st.DrawFn) -> list[CombinationSample]:
    """Three combinations, three to six joints each, in glue-ups shared or their own."""
    rng = np.random.default_rng(draw(st.integers(0, 10_000)))
    shared = draw(st.booleans())
    parts = []
    for place in range(3):
        n = draw(st.integers(4, 6))
        strengths = np.exp(0.3 * place + 0.2 * rng.standard_normal(n))
        names = tuple(f"day {k}" if shared else f"{place}-{k}" for k in range(n))
        sample = replace(StrengthSample.of_values(strengths, batch=range(n)), batch_names=names)
        parts.append(CombinationSample(Combination("yellow", f"wood {place}"), sample))
    return parts


def ratios(comparison: Comparison) -> dict[tuple[str, str], tuple[float | None, ...]]:
    found = {}
    for effect in comparison.effects:
        ends = (effect.ratio.lower, effect.ratio.value, effect.ratio.upper)
        found[effect.combination.substrate, effect.against.substrate] = ends
    return found


def scaled(part: CombinationSample, factor: float) -> CombinationSample:
    sample = part.sample
    return replace(
        part, sample=replace(sample, lower_mpa=sample.lower_mpa * factor, upper_mpa=sample.upper_mpa * factor)
    )


@LAW
@given(joint_tests(), ANALYSES)
def test_a_change_of_unit_leaves_every_ratio(parts: list[CombinationSample], analysis: Analysis) -> None:
    one = ratios(compare_combinations(parts, analysis=analysis))
    other = ratios(compare_combinations([scaled(part, 145.0) for part in parts], analysis=analysis))
    assert one.keys() == other.keys()
    for pair, ends in one.items():
        for before, after in zip(ends, other[pair], strict=True):
            assert after == (None if before is None else pytest.approx(before, rel=1e-5))


@LAW
@given(joint_tests(), ANALYSES)
def test_the_order_of_pulls_within_a_combination_does_not_matter(
    parts: list[CombinationSample], analysis: Analysis
) -> None:
    turned = []
    for part in parts:
        sample, order = part.sample, np.arange(part.sample.n)[::-1]
        turned.append(
            replace(
                part,
                sample=replace(
                    sample,
                    lower_mpa=sample.lower_mpa[order],
                    upper_mpa=sample.upper_mpa[order],
                    batch=sample.batch[order],
                ),
            )
        )
    one, other = (compare_combinations(given, analysis=analysis).effects for given in (parts, turned))
    for before, after in zip(one, other, strict=True):
        assert after.ratio.value == pytest.approx(before.ratio.value, rel=1e-6)


@LAW
@given(joint_tests(), ANALYSES)
def test_more_confidence_never_narrows_an_interval(parts: list[CombinationSample], analysis: Analysis) -> None:
    less, more = (ratios(compare_combinations(parts, analysis=analysis, confidence=c)) for c in (0.8, 0.99))
    for pair, (lower, _, upper) in less.items():
        wide_lower, _, wide_upper = more[pair]
        assert wide_lower is None or lower is None or wide_lower <= lower * (1 + 1e-9)
        assert wide_upper is None or upper is None or wide_upper >= upper * (1 - 1e-9)


@LAW
@given(joint_tests())
def test_strengthening_one_combination_moves_its_ratios_by_just_that(parts: list[CombinationSample]) -> None:
    one = compare_combinations(parts, control=parts[0].combination)
    other = compare_combinations([parts[0], *(scaled(part, 2.0) for part in parts[1:])], control=parts[0].combination)
    for before, after in zip(one.effects, other.effects, strict=True):
        assert after.ratio.value == pytest.approx(2.0 * before.ratio.value, rel=1e-9)
        assert after.ratio.lower == pytest.approx(2.0 * before.ratio.lower, rel=1e-9)


@LAW
@given(joint_tests(), st.integers(0, 3))
def test_censoring_the_strongest_break_never_lowers_the_median(parts: list[CombinationSample], place: int) -> None:
    sample = parts[0].sample
    strongest = int(np.argsort(sample.lower_mpa)[-1])
    upper = sample.upper_mpa.copy()
    upper[strongest] = math.inf
    held = [replace(parts[0], sample=replace(sample, upper_mpa=upper)), *parts[1:]]
    asked = {"analysis": Analysis.CENSORED_LOGNORMAL}
    before, after = compare_combinations(parts, **asked), compare_combinations(held, **asked)

    def median(comparison: Comparison) -> float:
        return next(s.median_mpa for s in comparison.summaries if s.combination == parts[0].combination)

    assert median(after) >= median(before) * (1 - 1e-9)


@LAW
@given(joint_tests())
def test_intervals_and_p_values_agree_on_what_is_shown(parts: list[CombinationSample]) -> None:
    for effect in compare_combinations(parts).effects:
        inside = effect.ratio.lower <= 1.0 <= effect.ratio.upper
        assert inside == (effect.p_value > 0.05 - 1e-4)
