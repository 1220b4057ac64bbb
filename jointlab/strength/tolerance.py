"""Every tolerance bound of a sample, each by its own method, beside each other."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from jointlab.strength import hanson_koopmans, weibull_pivot
from jointlab.strength.hanson_koopmans import extremes_of
from jointlab.strength.known_ratio import known_ratio_bound
from jointlab.strength.noncentral_t import percentile_bound
from jointlab.strength.order_statistic import order_statistic_bound, success_run_bound
from jointlab.strength.sample import StrengthSample
from jointlab.strength.values import Family, LowerBound, Method, WorkingBound
from jointlab.strength.weibull_pivot import weibull_bound

_Line = tuple[Method, Family | None, float | None, str | None]

NEEDS_COMPLETE = "needs every strength to be seen exactly"
NEEDS_COMPLETE_OR_STOPPED = "needs two different breaks, and every held pull stopped at a load at which another broke"
NEEDS_SPREAD = "needs at least two different strengths"
NOT_AVAILABLE = "not available for these pulls"
NEEDS_TWO_LOW_BREAKS = "needs two breaks below the lowest load held"
NEEDS_MORE = "needs more pulls at this coverage and confidence"
NEEDS_NO_BREAK = "needs every joint to have held, and enough of them"


def every_bound(
    sample: StrengthSample, working: WorkingBound, *, coverage: float, confidence: float
) -> tuple[LowerBound, ...]:
    """One line a method and family [MPa], None with its reason where the method does not apply to these pulls.

    Examples
    --------
    >>> sample = StrengthSample.of_values([3.1, 4.0, 4.4, 5.2])
    >>> working = WorkingBound(None, None, "working 1", 0.95, 0.95)
    >>> line = every_bound(sample, working, coverage=0.95, confidence=0.95)[0]
    >>> line.method.value, round(line.bound_mpa, 3)
    ('noncentral_t', -0.317)
    """
    lines = [
        *_parametric(sample, coverage, confidence),
        _hanson_koopmans(sample, coverage, confidence),
        _known_ratio(sample, coverage, confidence),
        _order_statistic(sample, coverage, confidence),
        _success_run(sample, coverage, confidence),
        (Method.WORKING, None, working.bound_mpa, None if working.bound_mpa is not None else NOT_AVAILABLE),
    ]
    return tuple(LowerBound(method, family, coverage, confidence, bound, why) for method, family, bound, why in lines)


def _parametric(sample: StrengthSample, coverage: float, confidence: float) -> Iterator[_Line]:
    varied = sample.n > 1 and np.ptp(sample.lower_mpa) > 0.0
    for family in (Family.NORMAL, Family.LOGNORMAL):
        if not sample.complete:
            yield Method.NONCENTRAL_T, family, None, NEEDS_COMPLETE
        elif not varied or (family is Family.LOGNORMAL and sample.lower_mpa.min() <= 0.0):
            yield Method.NONCENTRAL_T, family, None, NEEDS_SPREAD
        elif family is Family.NORMAL:
            bound = percentile_bound(np.sort(sample.lower_mpa), coverage=coverage, confidence=confidence)
            yield Method.NONCENTRAL_T, family, bound, None
        else:
            bound = percentile_bound(np.log(np.sort(sample.lower_mpa)), coverage=coverage, confidence=confidence)
            yield Method.NONCENTRAL_T, family, math.exp(bound), None
    pivotal = weibull_pivot.applies_to(sample)
    for family in (Family.WEIBULL, Family.GUMBEL_MIN):
        if pivotal:
            bound = weibull_bound(sample, family=family, coverage=coverage, confidence=confidence)
            yield Method.WEIBULL_PIVOT, family, bound, None
        else:
            yield Method.WEIBULL_PIVOT, family, None, NEEDS_COMPLETE_OR_STOPPED
    for family in Family:
        yield Method.LIKELIHOOD_RATIO, family, None, NOT_AVAILABLE


def _hanson_koopmans(sample: StrengthSample, coverage: float, confidence: float) -> _Line:
    extremes = extremes_of(sample)
    if extremes is None:
        return Method.HANSON_KOOPMANS, None, None, NEEDS_TWO_LOW_BREAKS
    bound = hanson_koopmans.bound_from(extremes, coverage=coverage, confidence=confidence)
    return Method.HANSON_KOOPMANS, None, bound, None


def _known_ratio(sample: StrengthSample, coverage: float, confidence: float) -> _Line:
    if not sample.complete:
        return Method.KNOWN_RATIO, None, None, NEEDS_COMPLETE
    if sample.n < 2:
        return Method.KNOWN_RATIO, None, None, NEEDS_SPREAD
    bound = known_ratio_bound(sample.lower_mpa, sample.batch, coverage=coverage, confidence=confidence)
    return Method.KNOWN_RATIO, None, bound, None


def _order_statistic(sample: StrengthSample, coverage: float, confidence: float) -> _Line:
    bound = order_statistic_bound(sample, coverage=coverage, confidence=confidence)
    return Method.ORDER_STATISTIC, None, bound, NEEDS_MORE if bound is None else None


def _success_run(sample: StrengthSample, coverage: float, confidence: float) -> _Line:
    bound = success_run_bound(sample, coverage=coverage, confidence=confidence)
    return Method.SUCCESS_RUN, None, bound, NEEDS_NO_BREAK if bound is None else None
