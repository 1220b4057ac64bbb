"""Are the pulls of a combination of one piece? Share of glue-ups in the spread, outliers, a control that drifts."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from jointlab.compare.group_tests import bartlett, levene
from jointlab.compare.layout import Layout
from jointlab.compare.values import CombinationSample, Estimate, GroupTest
from jointlab.record.finding import Finding, FindingCode, Severity
from jointlab.strength.outlier import critical_residual
from jointlab.strength.sample import StrengthSample

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

SOURCE = "burdick_graybill"

LEAST_GLUE_UPS = 3
"""Glue-ups that can show a drift (source key ``judgement``)."""


@dataclass(frozen=True, slots=True)
class BatchShare:
    """Share of glue-ups in the variance of ln strength, with interval; the ratio of spreads r as used by bounds.

    ``f`` and ``p_value`` test that glue-ups do not differ at all.
    """

    glue_ups: int
    n: int
    share: Estimate
    ratio: Estimate
    f: float
    p_value: float


@dataclass(frozen=True, slots=True)
class Outlier:
    """A strength far from the others of its combination: flagged, shown, kept.

    ``place`` is its number in the sample, ``residual`` its distance from the mean in standard deviations, ``limit``
    what a largest distance reaches once in twenty samples.
    """

    place: int
    strength_mpa: float
    residual: float
    limit: float


@dataclass(frozen=True, slots=True)
class Drift:
    """Change of a control's strength from one glue-up to the next, as a ratio with interval."""

    glue_ups: int
    ratio: Estimate
    p_value: float


@dataclass(frozen=True, slots=True)
class Homogeneity:
    """What speaks against taking the pulls as they are."""

    spreads: tuple[GroupTest, ...]
    batch_share: BatchShare | None
    outliers: tuple[tuple[str, Outlier], ...]
    findings: tuple[Finding, ...]


def homogeneity_of(samples: Sequence[CombinationSample], *, confidence: float = 0.95) -> Homogeneity:
    """Spreads between combinations, share of glue-ups, outliers; of strengths seen exactly, others are passed over."""
    exact = [_exact_part(part) for part in samples]
    exact = [part for part in exact if part.sample.n >= 3]
    values = [np.log(part.sample.lower_mpa) for part in exact]
    spread = [group for group in values if float(group.std()) > 0.0]
    spreads = (levene(spread), bartlett(spread)) if len(spread) > 1 else ()
    outliers = tuple(
        (str(part.combination), outlier) for part in exact if (outlier := outlier_of(part.sample.lower_mpa)) is not None
    )
    findings = tuple(
        Finding(
            FindingCode.OUTLIER,
            Severity.QUESTION,
            f"{name}: {outlier.strength_mpa:.3g} MPa lies {outlier.residual:.2f} standard deviations from the mean "
            f"(once in twenty samples one lies beyond {outlier.limit:.2f}). Look for a cause; without one it stays.",
        )
        for name, outlier in outliers
    )
    share = batch_share(exact, confidence=confidence) if exact else None
    return Homogeneity(spreads, share, outliers, findings)


def batch_share(samples: Sequence[CombinationSample], *, confidence: float) -> BatchShare | None:
    """Share of glue-ups in the variance of ln strength, pooled over combinations; None where nothing shows it.

    Interval by unweighted means of glue-ups (Thomas and Hultquist), exact for equal numbers. Source key
    ``burdick_graybill``.
    """
    layout = Layout.of(samples)
    return share_of_groups(layout.lower, cell=_cells(layout), parent=layout.group, confidence=confidence)


def share_of_groups(y: FloatArray, *, cell: IntArray, parent: IntArray, confidence: float) -> BatchShare | None:
    """The same for values ``y`` in cells (glue-ups) within parents (combinations); all arrays of one shape."""
    from scipy import stats

    sizes = np.bincount(cell).astype(np.float64)
    means = np.bincount(cell, y - y.mean()) / sizes + y.mean()
    owner = np.zeros(sizes.size, dtype=np.int64)
    owner[cell] = parent
    above = sizes.size - np.unique(owner).size
    below = y.size - sizes.size
    if above < 1 or below < 1:
        return None
    within = float(((y - means[cell]) ** 2).sum()) / below
    centre = np.bincount(owner, means) / np.maximum(np.bincount(owner), 1)
    usual = 1.0 / float((1.0 / sizes).mean())
    between = usual * float(((means - centre[owner]) ** 2).sum()) / above
    if within == 0.0:
        return None
    f = between / within
    doubt = 0.5 * (1.0 - confidence)
    ends = [f / float(stats.f.ppf(share, above, below)) for share in (1.0 - doubt, doubt)]
    squares = [max(0.0, (value - 1.0) / usual) for value in (f, *ends)]
    shares = [square / (1.0 + square) for square in squares]
    return BatchShare(
        glue_ups=int(sizes.size),
        n=y.size,
        share=Estimate(*shares),
        ratio=Estimate(*(math.sqrt(square) for square in squares)),
        f=f,
        p_value=float(stats.f.sf(f, above, below)),
    )


def largest_residual(values: FloatArray) -> tuple[int, float]:
    """Place of the value furthest from the mean, and its distance in standard deviations (Grubbs' G)."""
    away = np.abs(values - values.mean())
    place = int(away.argmax())
    return place, float(away[place] / values.std(ddof=1))


def outlier_of(strength_mpa: FloatArray) -> Outlier | None:
    """The strength of three or more that lies too far out on the scale of ln strength; None where none does."""
    values = np.log(strength_mpa)
    if values.size < 3 or float(values.std()) == 0.0:
        return None
    place, residual = largest_residual(values)
    limit = critical_residual(values.size)
    return Outlier(place, float(strength_mpa[place]), residual, limit) if residual > limit else None


def drift_of(sample: StrengthSample, *, order: Sequence[int], confidence: float = 0.95) -> Drift | None:
    """Drift of a control over glue-ups: slope of their means of ln strength, each glue-up one point.

    Parameters
    ----------
    sample
        The control's strengths, those seen exactly.
    order
        Place in time of each glue-up, by its number.

    Returns
    -------
    Drift
        None with fewer than three glue-ups. Source key ``burdick_graybill`` (means of glue-ups as points).
    """
    from scipy import stats

    exact = sample.exact
    present = np.unique(sample.batch[exact])
    if present.size < LEAST_GLUE_UPS:
        return None
    place = np.array([order[number] for number in present], dtype=np.float64)
    means = np.array([np.log(sample.lower_mpa[exact & (sample.batch == number)]).mean() for number in present])
    away = place - place.mean()
    slope = float((away * means).sum() / (away**2).sum())
    rest = means - means.mean() - slope * away
    degrees = present.size - 2
    error = math.sqrt(float((rest**2).sum()) / degrees / float((away**2).sum()))
    half = float(stats.t.ppf(0.5 + 0.5 * confidence, degrees)) * error
    p = 2.0 * float(stats.t.sf(abs(slope) / error, degrees)) if error > 0.0 else 0.0
    ratio = Estimate(math.exp(slope), math.exp(slope - half), math.exp(slope + half))
    return Drift(int(present.size), ratio, p)


def _exact_part(part: CombinationSample) -> CombinationSample:
    exact = np.flatnonzero(part.sample.exact & (part.sample.lower_mpa > 0.0))
    kept = [part.sample.batch_names[number] for number in part.sample.batch[exact]]
    names = tuple(dict.fromkeys(kept))
    sample = StrengthSample.of_values(part.sample.lower_mpa[exact])
    return CombinationSample(
        part.combination,
        StrengthSample(
            lower_mpa=sample.lower_mpa,
            upper_mpa=sample.upper_mpa,
            batch=np.array([names.index(name) for name in kept], dtype=np.int64),
            batch_names=names,
            cap_mpa=sample.cap_mpa,
            load_step_mpa=sample.load_step_mpa,
            handled=sample.handled,
        ),
    )


def _cells(layout: Layout) -> IntArray:
    pairs = layout.group * layout.blocks + layout.block
    return np.asarray(np.unique(pairs, return_inverse=True)[1], dtype=np.int64)
