"""All that the pulls of one combination under one action say of its strength."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from jointlab.record.finding import Finding, FindingCode, Severity
from jointlab.record.joint import Combination
from jointlab.record.vocabulary import Action, SubstrateKind
from jointlab.strength.fitting import fit
from jointlab.strength.goodness import with_goodness
from jointlab.strength.likelihood_ratio import PREVIEW_REPLICATES, REPLICATES
from jointlab.strength.outlier import outlier_of
from jointlab.strength.sample import StrengthSample
from jointlab.strength.tolerance import every_bound
from jointlab.strength.values import CombinationStrength, Family
from jointlab.strength.working import lower_bound
from jointlab.stress.joint_stress import JointStress

SOURCE = "judgement"

FEW = 5
"""Fewer usable pulls than this carry no pass (source key judgement)."""


SHEET_GOODS = frozenset({SubstrateKind.PLYWOOD, SubstrateKind.MDF, SubstrateKind.PARTICLEBOARD, SubstrateKind.OSB})
"""Substrates in whose layers a void can hide (source key judgement)."""


def combination_strength(
    stresses: Sequence[JointStress],
    *,
    combination: Combination,
    action: Action,
    coverage: float = 0.95,
    confidence: float = 0.95,
    replicates: int = REPLICATES,
) -> CombinationStrength:
    """What can be relied on: fitted families, every bound, the working bound, and findings.

    Parameters
    ----------
    stresses
        Of all pulls of the combination under the action that are not excluded, those without information included: they
        count in ``n``, no formula uses them.
    combination, action
        What was pulled, and how.
    coverage, confidence
        Share of joints that exceed the bound, and how surely; both between 0 and 1.
    replicates
        Simulated samples behind each bound of censored pulls; few make a preview.

    Returns
    -------
    CombinationStrength
        ``bounds`` lists every method and family; a bound is None with its reason where the method does not apply.
        ``findings`` holds those of the working bound too. Source keys of the methods in their modules.
    """
    described = described_strength(
        stresses,
        combination=combination,
        action=action,
        coverage=coverage,
        confidence=confidence,
        replicates=replicates,
    )
    sample = StrengthSample.of_stresses(stresses)
    if replicates <= PREVIEW_REPLICATES and not sample.complete:
        return described  # a quick look at censored pulls
    return replace(described, families=tuple(with_goodness(sample, fitted) for fitted in described.families))


def described_strength(
    stresses: Sequence[JointStress],
    *,
    combination: Combination,
    action: Action,
    coverage: float = 0.95,
    confidence: float = 0.95,
    replicates: int = REPLICATES,
) -> CombinationStrength:
    """All of ``combination_strength`` but how well each family fits, which takes most of the time where pulls held."""
    relied_on = working_strength(
        stresses,
        combination=combination,
        action=action,
        coverage=coverage,
        confidence=confidence,
        replicates=replicates,
    )
    sample, working = StrengthSample.of_stresses(stresses), relied_on.working_bound
    return replace(
        relied_on,
        families=tuple(fit(sample, family=family) for family in Family),
        bounds=every_bound(sample, working, coverage=coverage, confidence=confidence, replicates=replicates),
    )


def working_strength(
    stresses: Sequence[JointStress],
    *,
    combination: Combination,
    action: Action,
    coverage: float = 0.95,
    confidence: float = 0.95,
    replicates: int = REPLICATES,
) -> CombinationStrength:
    """What can be relied on, and no more: the working bound and findings; ``families`` and ``bounds`` are left empty.

    All that a verdict or a table of many combinations asks for, at a fraction of the time. Parameters as for
    ``combination_strength``.
    """
    sample = StrengthSample.of_stresses(stresses)
    working = lower_bound(sample, coverage=coverage, confidence=confidence, replicates=replicates)
    n_held = int(sample.held.sum())
    return CombinationStrength(
        combination=combination,
        action=action,
        n=len(stresses),
        n_broke=sample.n - n_held,
        n_held=n_held,
        n_usable=sample.n,
        batches=sample.batches,
        batch_names=sample.batch_names,
        families=(),
        bounds=(),
        working_bound=working,
        findings=(*_findings(sample, len(stresses)), *_of_the_material(stresses), *working.findings),
    )


def _findings(sample: StrengthSample, n: int) -> Iterator[Finding]:
    if not sample.n:
        return
    broke = sample.n - int(sample.held.sum())
    if sample.n < n:
        text = f"{n - sample.n} of {n} pulls say nothing of the strength (handled, broke outside the joint): not used."
        yield Finding(FindingCode.NO_INFORMATION, Severity.NOTE, text)
    if sample.n < FEW:
        text = f"{sample.n} usable pull{'s' if sample.n > 1 else ''}: fewer than {FEW} carry no pass."
        yield Finding(FindingCode.FEW_PULLS, Severity.WARNING, text)
    if sample.batches == 1:
        text = "All pulls come from one glue-up: the next may differ as a whole, and one cannot show by how much."
        yield Finding(FindingCode.ONE_BATCH, Severity.WARNING, text)
    if not broke:
        text = "No joint broke: only a success run says something of the strength."
        yield Finding(FindingCode.NO_BREAK, Severity.WARNING, text)
    if broke == 1:
        yield Finding(FindingCode.ONE_BREAK, Severity.WARNING, "Only one joint broke: every fit rests on that break.")
    if broke > 1 and _no_spread(sample):
        text = (
            "The breaks agree as closely as the readings can show: the spread is not seen, and bounds may be too high."
        )
        yield Finding(FindingCode.NO_SPREAD_SEEN, Severity.WARNING, text)


def _of_the_material(stresses: Sequence[JointStress]) -> Iterator[Finding]:
    outlier = outlier_of(StrengthSample.of_stresses(stresses))
    if outlier is not None:
        text = (
            f"{outlier.strength_mpa:.3g} MPa lies {outlier.residual:.2f} standard deviations from the mean of the "
            f"logarithms; once in twenty samples one lies beyond {outlier.limit:.2f}. Look for a cause; without one "
            "it stays, and it is used."
        )
        yield Finding(FindingCode.OUTLIER, Severity.WARNING, text)
    kinds = {stress.substrate_kind for stress in stresses}
    if kinds & SHEET_GOODS:
        text = (
            "Sheet goods: rare deep voids cannot be cleared by coupons. If one block in ten has one, ten pulls show "
            "none in every third sheet. The bound speaks of the kind of joint that was pulled; look for voids, and "
            "prove the mount itself."
        )
        yield Finding(FindingCode.COUPONS_MISS_VOIDS, Severity.NOTE, text)


def _no_spread(sample: StrengthSample) -> bool:
    broke = ~sample.held
    return bool(np.max(sample.lower_mpa[broke]) <= np.min(sample.upper_mpa[broke]))
