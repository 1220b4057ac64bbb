"""The working bound: the strength the verdict relies on, which neither a wrong family nor an odd batch is to fool."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from jointlab.record.finding import Finding, FindingCode, Severity
from jointlab.strength import hanson_koopmans, weibull_pivot
from jointlab.strength.hanson_koopmans import SECOND, extremes_of
from jointlab.strength.kernels import STANDARD_NORMAL
from jointlab.strength.known_ratio import RATIO, batch_sizes, known_ratio_bounds, known_ratio_upper
from jointlab.strength.likelihood_ratio import PREVIEW_REPLICATES, REPLICATES, SEARCH_REPLICATES, calibrated_bound
from jointlab.strength.sample import StrengthSample
from jointlab.strength.signed_root import Model
from jointlab.strength.values import Family, WorkingBound
from jointlab.strength.weibull_pivot import weibull_bound

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

SOURCE = "battery"

RULE = "working 3"
"""Name and version of the rule; a change of the rule is a new version."""

MOST_HELD = 0.5
"""Largest share of held pulls for which a lower bound is given (source key judgement)."""

STRETCH = 0.12
"""How much longer the Hanson-Koopmans factor is where very many pulls share two glue-ups (source key battery)."""

PULLS_A_BATCH = 5.0
"""Pulls in a glue-up up to which the factor is as published (source key battery)."""

ON_LOGS = Model(STANDARD_NORMAL, power=0.0, ratio=RATIO)
ON_STRENGTH = Model(STANDARD_NORMAL, power=1.0, ratio=RATIO)


@dataclass(frozen=True, slots=True)
class _Lower:
    bound_mpa: float | None
    findings: tuple[Finding, ...] = ()
    known_ratio_mpa: float | None = None
    known_ratio_error: float | None = None

    @property
    def error(self) -> float | None:
        """Monte Carlo error of the bound, where the simulated part of the rule decides."""
        return self.known_ratio_error if self.bound_mpa == self.known_ratio_mpa else None


def lower_bound(
    sample: StrengthSample, *, coverage: float = 0.95, confidence: float = 0.95, replicates: int = REPLICATES
) -> WorkingBound:
    """Strength that at least ``coverage`` of such joints exceed, said with ``confidence``: the bound to work with.

    Parameters
    ----------
    sample
        Usable strengths of one combination under one action [MPa].
    coverage, confidence
        Both between 0 and 1.
    replicates
        Most simulated samples where the pulls are censored. ``PREVIEW_REPLICATES`` make a quick look: it has no upper
        bound for censored pulls, and a finding marks it.

    Returns
    -------
    WorkingBound
        ``bound_mpa``: the least of the Hanson-Koopmans bound on logarithms, steadied by the second largest strength,
        and the known-ratio bound over batches, the latter in closed form for complete data and calibrated by simulation
        for censored data. None where the pulls cannot carry a bound; a finding says why. ``upper_mpa``: below it a fail
        is honest; None where there is none.
        Source keys ``hanson_koopmans``, ``constrained_bootstrap``, ``battery``.

    Examples
    --------
    >>> strengths = StrengthSample.of_values([3.1, 4.0, 4.4, 5.2, 3.7, 4.9], batch=[1, 1, 1, 2, 2, 2])
    >>> round(lower_bound(strengths).bound_mpa, 3)
    0.802
    """
    lower = _lower(sample, coverage, confidence, replicates)
    upper = _upper(sample, coverage, confidence, replicates)
    return WorkingBound(
        bound_mpa=lower.bound_mpa,
        upper_mpa=upper,
        method=RULE,
        coverage=coverage,
        confidence=confidence,
        findings=lower.findings,
        known_ratio_mpa=lower.known_ratio_mpa,
        known_ratio_error=lower.known_ratio_error,
        monte_carlo_error=lower.error,
    )


def complete_bounds(
    strength_mpa: FloatArray, batch: IntArray, *, coverage: float, confidence: float
) -> tuple[FloatArray, FloatArray]:
    """Both parts of the rule [MPa] for complete samples of shape (samples, n): Hanson-Koopmans, and known ratio."""
    n, stretch = batch.size, stretch_of(batch)
    logs = np.sort(np.log(strength_mpa), axis=1)

    def on(j: int) -> FloatArray:
        k = stretch * hanson_koopmans.factor(n, j, coverage=coverage, confidence=confidence)
        return np.asarray(logs[:, j - 1] + k * (logs[:, 0] - logs[:, j - 1]))

    steadied = on(n) if n < 3 else (1.0 - SECOND) * on(n) + SECOND * on(n - 1)
    return np.exp(steadied), known_ratio_bounds(strength_mpa, batch, coverage=coverage, confidence=confidence)


def stretch_of(batch: IntArray) -> float:
    """Stretch of the Hanson-Koopmans factor: pulls that share a glue-up have nearer extremes than their number says.

    1 + 0.12 (1 - 5 / g) / (b - 1), with g the pulls in an average pull's glue-up, b = n / g, and b - 1 >= 1/2.
    """
    sizes = batch_sizes(batch)
    mates = float((sizes * sizes).sum()) / batch.size
    return 1.0 + STRETCH * max(0.0, 1.0 - PULLS_A_BATCH / mates) / max(batch.size / mates - 1.0, 0.5)


def _lower(sample: StrengthSample, coverage: float, confidence: float, replicates: int) -> _Lower:
    if not sample.n:
        return _no(FindingCode.NO_USABLE_PULLS, "None of the pulls says anything of the strength.")
    held = int(sample.held.sum())
    if held > MOST_HELD * sample.n:
        text = f"{held} of {sample.n} usable pulls held: more than half, so no lower bound is given."
        return _no(FindingCode.HELD_MOSTLY, f"{text} Pull on a stronger rig or with a smaller bond.")
    extremes = extremes_of(sample)
    if extremes is None:
        text = "Fewer than two joints broke below the lowest load that one held: no lower bound is given."
        return _no(FindingCode.FEW_LOW_BREAKS, text)
    findings = (_unresolved(),) if extremes.unresolved else ()
    if extremes.unresolved:
        return _Lower(0.0, findings)
    if sample.complete:
        alone, ratio = complete_bounds(sample.lower_mpa[None], sample.batch, coverage=coverage, confidence=confidence)
        return _Lower(float(min(alone[0], ratio[0])), findings, float(ratio[0]))
    stretch = stretch_of(sample.batch)
    bound = hanson_koopmans.steadied_bound_from(extremes, coverage=coverage, confidence=confidence, stretch=stretch)
    calibrated = calibrated_bound(sample, ON_LOGS, coverage=coverage, confidence=confidence, replicates=replicates)
    if calibrated is None:
        return _Lower(bound, (*findings, _not_counted()))
    if replicates <= PREVIEW_REPLICATES:
        findings = (*findings, _preview(replicates))
    least = min(bound, calibrated.bound_mpa)
    return _Lower(least, findings, calibrated.bound_mpa, calibrated.monte_carlo_error)


def _upper(sample: StrengthSample, coverage: float, confidence: float, replicates: int) -> float | None:
    """The largest of the upper bounds on the percentile: over batches on strength and logarithm, Weibull without.

    Fewer draws than for the lower bound serve here: their number moves a calibrated bound about, but does not change
    how often it holds.
    """
    if sample.n < 2 or sample.held.sum() > MOST_HELD * sample.n:
        return None
    beyond = 1.0 - confidence
    if not sample.complete and replicates <= PREVIEW_REPLICATES:
        return None
    if not sample.complete:
        models = (ON_STRENGTH, ON_LOGS, Model.of(Family.WEIBULL))
        each = [
            calibrated_bound(
                sample, model, coverage=coverage, confidence=beyond, replicates=min(replicates, SEARCH_REPLICATES)
            )
            for model in models
        ]
        return None if None in each else max(bound.bound_mpa for bound in each if bound is not None)
    if sample.lower_mpa.min() <= 0.0:
        return None
    upper = known_ratio_upper(sample.lower_mpa, sample.batch, coverage=coverage, confidence=confidence)
    if not weibull_pivot.applies_to(sample):
        return upper
    return max(upper, weibull_bound(sample, family=Family.WEIBULL, coverage=coverage, confidence=beyond))


def _no(code: FindingCode, text: str) -> _Lower:
    return _Lower(None, (Finding(code, Severity.WARNING, text),))


def _unresolved() -> Finding:
    text = "A joint broke when handled and neither rig nor load step says what could have been read: the bound is zero."
    return Finding(FindingCode.FIRST_BREAK_UNRESOLVED, Severity.WARNING, text)


def _preview(replicates: int) -> Finding:
    text = f"A quick look: bounds rest on at most {replicates} simulated samples, none is an upper one. No pass on it."
    return Finding(FindingCode.PREVIEW, Severity.BLOCKING, text)


def _not_counted() -> Finding:
    text = "The bound does not count differences between glue-ups, which these censored pulls cannot show: no pass."
    return Finding(FindingCode.BATCHES_NOT_COUNTED, Severity.BLOCKING, text)
