"""Every tolerance bound of a sample, each by its own method, beside each other."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from jointlab.strength import hanson_koopmans, weibull_pivot
from jointlab.strength.hanson_koopmans import extremes_of
from jointlab.strength.likelihood_ratio import REPLICATES, calibrated_bound
from jointlab.strength.noncentral_t import percentile_bound
from jointlab.strength.order_statistic import order_statistic_bound, success_run_bound
from jointlab.strength.sample import StrengthSample
from jointlab.strength.signed_root import Model
from jointlab.strength.values import Family, LowerBound, Method, WorkingBound
from jointlab.strength.weibull_pivot import weibull_bound

_Line = tuple[Method, Family | None, float | None, str | None, float | None]

NEEDS_COMPLETE = "needs every strength to be seen exactly"
NEEDS_COMPLETE_OR_STOPPED = "needs two different breaks, and every held pull stopped at a load at which another broke"
NEEDS_SPREAD = "needs at least two different strengths"
NEEDS_TWO_LOW_BREAKS = "needs two breaks below the lowest load held"
NEEDS_MORE = "needs more pulls at this coverage and confidence"
NEEDS_NO_BREAK = "needs every joint to have held, and enough of them"
NEEDS_A_BREAK = "needs breaks that put a limit to it"
EXACT_INSTEAD = "not needed: an exact bound of this family is given"
NOT_CARRIED = "these pulls cannot carry it; the findings say why"


def every_bound(
    sample: StrengthSample,
    working: WorkingBound,
    *,
    coverage: float,
    confidence: float,
    replicates: int = REPLICATES,
) -> tuple[LowerBound, ...]:
    """One line a method and family [MPa], None with its reason where the method does not apply to these pulls.

    ``replicates`` simulated samples calibrate the bounds of censored pulls.

    Examples
    --------
    >>> sample = StrengthSample.of_values([3.1, 4.0, 4.4, 5.2])
    >>> working = WorkingBound(None, None, "working", 0.95, 0.95)
    >>> line = every_bound(sample, working, coverage=0.95, confidence=0.95)[0]
    >>> line.method.value, round(line.bound_mpa, 3)
    ('noncentral_t', -0.317)
    """
    lines = [
        *_noncentral_t(sample, coverage, confidence),
        *_weibull_pivot(sample, coverage, confidence),
        *_likelihood_ratio(sample, coverage, confidence, replicates),
        _hanson_koopmans(sample, coverage, confidence),
        _line(Method.KNOWN_RATIO, working.known_ratio_mpa, NOT_CARRIED, error=working.known_ratio_error),
        _line(
            Method.ORDER_STATISTIC, order_statistic_bound(sample, coverage=coverage, confidence=confidence), NEEDS_MORE
        ),
        _line(Method.SUCCESS_RUN, success_run_bound(sample, coverage=coverage, confidence=confidence), NEEDS_NO_BREAK),
        _line(Method.WORKING, working.bound_mpa, NOT_CARRIED, error=working.monte_carlo_error),
    ]
    return tuple(
        LowerBound(method, family, coverage, confidence, bound, why, error)
        for method, family, bound, why, error in lines
    )


def _line(
    method: Method, bound: float | None, why: str, family: Family | None = None, error: float | None = None
) -> _Line:
    return method, family, bound, why if bound is None else None, error


def _noncentral_t(sample: StrengthSample, coverage: float, confidence: float) -> Iterator[_Line]:
    varied = sample.n > 1 and np.ptp(sample.lower_mpa) > 0.0
    for family in (Family.NORMAL, Family.LOGNORMAL):
        if not sample.complete:
            yield Method.NONCENTRAL_T, family, None, NEEDS_COMPLETE, None
        elif not varied or (family is Family.LOGNORMAL and sample.lower_mpa.min() <= 0.0):
            yield Method.NONCENTRAL_T, family, None, NEEDS_SPREAD, None
        elif family is Family.NORMAL:
            bound = percentile_bound(np.sort(sample.lower_mpa), coverage=coverage, confidence=confidence)
            yield Method.NONCENTRAL_T, family, bound, None, None
        else:
            bound = percentile_bound(np.log(np.sort(sample.lower_mpa)), coverage=coverage, confidence=confidence)
            yield Method.NONCENTRAL_T, family, math.exp(bound), None, None


def _weibull_pivot(sample: StrengthSample, coverage: float, confidence: float) -> Iterator[_Line]:
    pivotal = weibull_pivot.applies_to(sample)
    for family in (Family.WEIBULL, Family.GUMBEL_MIN):
        if pivotal:
            bound = weibull_bound(sample, family=family, coverage=coverage, confidence=confidence)
            yield Method.WEIBULL_PIVOT, family, bound, None, None
        else:
            yield Method.WEIBULL_PIVOT, family, None, NEEDS_COMPLETE_OR_STOPPED, None


def _likelihood_ratio(sample: StrengthSample, coverage: float, confidence: float, replicates: int) -> Iterator[_Line]:
    exact = {Family.WEIBULL, Family.GUMBEL_MIN} if weibull_pivot.applies_to(sample) else set()
    for family in Family:
        if sample.complete or family in exact:
            yield Method.LIKELIHOOD_RATIO, family, None, EXACT_INSTEAD if sample.n > 1 else NEEDS_SPREAD, None
            continue
        model = Model.of(family)
        bound = calibrated_bound(sample, model, coverage=coverage, confidence=confidence, replicates=replicates)
        if bound is None:
            yield _line(Method.LIKELIHOOD_RATIO, None, NEEDS_A_BREAK, family)
        else:
            yield _line(Method.LIKELIHOOD_RATIO, bound.bound_mpa, NEEDS_A_BREAK, family, bound.monte_carlo_error)


def _hanson_koopmans(sample: StrengthSample, coverage: float, confidence: float) -> _Line:
    extremes = extremes_of(sample)
    if extremes is None:
        return _line(Method.HANSON_KOOPMANS, None, NEEDS_TWO_LOW_BREAKS)
    bound = hanson_koopmans.bound_from(extremes, coverage=coverage, confidence=confidence)
    return _line(Method.HANSON_KOOPMANS, bound, NEEDS_TWO_LOW_BREAKS)
