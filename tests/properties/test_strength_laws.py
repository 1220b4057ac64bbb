"""Laws that every sample obeys: order, unit, confidence, coverage, censoring."""

import math

import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from jointlab.strength import Family, StrengthSample, fit, lower_bound
from jointlab.strength.kernels import SMALLEST_EXTREME_VALUE
from jointlab.strength.likelihood import Likelihood, Samples
from jointlab.strength.likelihood_ratio import calibrated_bound
from jointlab.strength.signed_root import Model
from jointlab.strength.tolerance import every_bound
from jointlab.strength.working import ON_LOGS

LAW = settings(derandomize=True, max_examples=50, deadline=None, database=None)

# Strengths on a grid: ties occur, and a scaling by 2 is exact in floats.
GRID = st.integers(4, 64).map(lambda eighths: eighths / 8)
KINDS = st.sampled_from(["exact", "exact", "exact", "held", "step", "handled"])


@st.composite
def samples(draw: st.DrawFn, *, complete: bool = False) -> StrengthSample:
    n = draw(st.integers(2, 10))
    ends = [draw(GRID) for _ in range(n)]
    kinds = ["exact" if complete else draw(KINDS) for _ in range(n)]
    lower = [0.0 if kind == "handled" else end for end, kind in zip(ends, kinds, strict=True)]
    width = {"exact": 0.0, "held": math.inf, "step": 0.5, "handled": 0.0}
    upper = [end + width[kind] for end, kind in zip(ends, kinds, strict=True)]
    return StrengthSample.of_intervals(lower, upper, batch=[draw(st.integers(0, 2)) for _ in range(n)])


def rearranged(sample: StrengthSample, order: list[int], factor: float = 1.0) -> StrengthSample:
    return StrengthSample.of_intervals(
        sample.lower_mpa[order] * factor, sample.upper_mpa[order] * factor, batch=sample.batch[order]
    )


def all_bounds(sample: StrengthSample, *, coverage: float = 0.95, confidence: float = 0.95) -> list[float | None]:
    asked = {"coverage": coverage, "confidence": confidence, "replicates": 40}
    lines = every_bound(sample, lower_bound(sample, **asked), **asked)
    return [line.bound_mpa for line in lines]


@LAW
@given(samples(), st.randoms(use_true_random=False))
def test_the_order_of_pulls_does_not_matter(sample: StrengthSample, random) -> None:
    order = list(range(sample.n))
    random.shuffle(order)
    other = rearranged(sample, order)
    for family in Family:
        assert fit(sample, family=family) == fit(other, family=family)


@LAW
@given(samples(complete=True), st.randoms(use_true_random=False))
def test_the_order_of_pulls_does_not_matter_to_a_bound(sample: StrengthSample, random) -> None:
    order = list(range(sample.n))
    random.shuffle(order)
    other = rearranged(sample, order)
    for one, two in zip(all_bounds(sample), all_bounds(other), strict=True):
        assert two == (None if one is None else pytest.approx(one, rel=1e-12, abs=1e-12))


@LAW
@given(samples())
def test_a_change_of_unit_scales_strengths_and_leaves_shape(sample: StrengthSample) -> None:
    scaled = rearranged(sample, list(range(sample.n)), factor=2.0)
    one, two = (dict(fit(each, family=Family.WEIBULL).parameters) for each in (sample, scaled))
    assert one.keys() == two.keys()
    if one:
        assert two["shape"] == pytest.approx(one["shape"], rel=1e-9)
        assert two["scale_mpa"] == pytest.approx(2.0 * one["scale_mpa"], rel=1e-9)


@LAW
@given(samples(complete=True))
def test_a_change_of_unit_scales_every_bound(sample: StrengthSample) -> None:
    scaled = rearranged(sample, list(range(sample.n)), factor=2.0)
    for before, after in zip(all_bounds(sample), all_bounds(scaled), strict=True):
        assert after == (None if before is None else pytest.approx(2.0 * before, rel=1e-9, abs=1e-12))


@LAW
@given(samples(complete=True), st.sampled_from([(0.8, 0.9), (0.9, 0.95), (0.95, 0.99)]))
def test_more_confidence_or_coverage_never_raises_a_lower_bound(
    sample: StrengthSample, levels: tuple[float, float]
) -> None:
    less, more = levels
    for low, high in (
        (all_bounds(sample, confidence=less), all_bounds(sample, confidence=more)),
        (all_bounds(sample, coverage=less), all_bounds(sample, coverage=more)),
    ):
        for weaker, stronger in zip(low, high, strict=True):
            if stronger is not None:
                assert weaker is not None
                assert stronger <= weaker * (1 + 1e-12) + 1e-12


CENSORED = settings(LAW, max_examples=8, phases=[Phase.explicit, Phase.generate])  # each takes a while: none is shrunk
CONFIDENCES = st.floats(0.6, 0.995)
COVERAGES = st.sampled_from([(0.75, 0.9), (0.9, 0.95), (0.95, 0.99)])


@st.composite
def rigged(draw: st.DrawFn) -> StrengthSample:
    """Pulls of two glue-ups on a rig with a limit, load steps, or every other pull in steps."""
    n = draw(st.integers(5, 8))
    x = np.array([draw(GRID) for _ in range(n)]) + np.arange(n) / 64
    cap = draw(st.sampled_from([math.inf, float(np.sort(x)[-2])]))
    stepped = {"exact": np.zeros(n, bool), "steps": np.ones(n, bool), "mixed": np.arange(n) % 2 == 0}[
        draw(st.sampled_from(["exact", "steps", "mixed"]))
    ]
    lower = np.where(stepped, np.floor(x), x)
    upper = np.where(stepped, lower + 1.0, x)
    held = x > cap
    return StrengthSample.of_intervals(
        np.where(held, cap, lower), np.where(held, math.inf, upper), batch=np.arange(n) % 2
    )


def calibrated(sample: StrengthSample, model: Model, **levels: float) -> float | None:
    found = calibrated_bound(sample, model, **({"coverage": 0.95, "confidence": 0.95} | levels), replicates=200)
    return None if found is None else found.bound_mpa


@CENSORED
@given(rigged(), st.sampled_from([*Family, None]), CONFIDENCES, st.floats(0.0, 0.05))
def test_more_confidence_never_raises_a_simulated_bound(
    sample: StrengthSample, family: Family | None, confidence: float, more: float
) -> None:
    model = ON_LOGS if family is None else Model.of(family)
    weaker = calibrated(sample, model, confidence=confidence)
    stronger = calibrated(sample, model, confidence=min(confidence + more, 0.995))
    if stronger is not None and weaker is not None:
        assert stronger <= weaker + 1e-9 * abs(weaker)


@CENSORED
@given(rigged(), st.sampled_from([*Family, None]), COVERAGES)
def test_more_coverage_never_raises_a_simulated_bound(
    sample: StrengthSample, family: Family | None, coverages: tuple[float, float]
) -> None:
    model = ON_LOGS if family is None else Model.of(family)
    weaker, stronger = (calibrated(sample, model, coverage=coverage) for coverage in coverages)
    if stronger is not None and weaker is not None:
        assert stronger <= weaker


@LAW
@given(samples(complete=True))
def test_the_upper_bound_is_never_below_the_working_bound(sample: StrengthSample) -> None:
    bound = lower_bound(sample)
    assert bound.bound_mpa is not None
    assert bound.upper_mpa is not None
    assert bound.bound_mpa <= bound.upper_mpa * (1 + 1e-12)


@LAW
@given(samples(complete=True), st.integers(0, 9), st.floats(0.5, 8.0))
def test_censoring_a_break_at_its_own_load_never_lowers_the_fitted_strength_at_fixed_shape(
    sample: StrengthSample, which: int, shape: float
) -> None:
    # At fixed shape the likeliest scale solves d L / d b = 0; where it was zero, the slope must not fall.
    held = np.array(sample.upper_mpa)
    held[which % sample.n] = math.inf
    x = np.log(sample.lower_mpa)
    scale = (np.mean(sample.lower_mpa**shape)) ** (1 / shape)
    a, b = np.array([shape]), np.array([shape * math.log(scale)])
    before = Likelihood.of(Samples(x[None], x[None], np.ones((1, x.size))), SMALLEST_EXTREME_VALUE).sums(a, b)
    after = Likelihood.of(Samples(x[None], np.log(held)[None], np.ones((1, x.size))), SMALLEST_EXTREME_VALUE).sums(a, b)
    assert before.b[0] == pytest.approx(0.0, abs=1e-9)
    assert after.b[0] > 0.5  # uphill towards a larger scale, by the break's own weight of one
