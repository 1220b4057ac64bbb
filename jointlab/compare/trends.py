"""How strength changes with cure, clamp time, voids, moisture, gap or bond area: censored regression."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import numpy.typing as npt

from jointlab.compare.accelerated import regression_of
from jointlab.compare.censored import drawn_errors, median_of, replayed, with_glue_ups
from jointlab.compare.estimates import BATCH_RATIO
from jointlab.compare.layout import Layout
from jointlab.compare.simultaneous import adjusted_p, factor_of
from jointlab.compare.values import CombinationSample, Estimate
from jointlab.errors import AnalysisError
from jointlab.record.joint import Combination
from jointlab.record.pull import Pull
from jointlab.strength.fitting import kernel_of
from jointlab.strength.sample import StrengthSample
from jointlab.strength.values import Family
from jointlab.stress.joint_stress import JointStress
from jointlab.stress.section import section_of

FloatArray = npt.NDArray[np.float64]

SOURCE = "lawless"

REPLICATES = 2_000
_NEAR = 1e-7
_POINTS = 25
LEAST_PULLS = 5
"""Fewer pulls than this show no trend (source key ``judgement``)."""


class Quantity(StrEnum):
    """What strength may change with. The first three act by their ratio, the others by their difference."""

    CURE_H = "cure_h"
    CLAMP_H = "clamp_h"
    AREA_MM2 = "area_mm2"
    VOID_PCT = "void_pct"
    MOISTURE_PCT = "moisture_pct"
    GAP_MM = "gap_mm"

    @property
    def by_ratio(self) -> bool:
        """Whether it enters as its logarithm."""
        return self in (Quantity.CURE_H, Quantity.CLAMP_H, Quantity.AREA_MM2)

    @property
    def step(self) -> float:
        """What the ratio of strengths is said for: a factor, or a difference."""
        return _STEPS[self]

    @property
    def words(self) -> str:
        """The quantity with its unit."""
        return f"{_WORDS[self].removesuffix(f' in {_UNITS[self]}')}, {_UNITS[self]}"

    @property
    def per(self) -> str:
        """The step in words."""
        return f"{_WORDS[self]} {'times' if self.by_ratio else 'plus'} {self.step:g}"


_STEPS = {
    Quantity.CURE_H: 2.0,
    Quantity.CLAMP_H: 2.0,
    Quantity.AREA_MM2: 2.0,
    Quantity.VOID_PCT: 10.0,
    Quantity.MOISTURE_PCT: 1.0,
    Quantity.GAP_MM: 0.1,
}
_WORDS = {
    Quantity.CURE_H: "cure time",
    Quantity.CLAMP_H: "clamp time",
    Quantity.AREA_MM2: "bond area",
    Quantity.VOID_PCT: "voids in %",
    Quantity.MOISTURE_PCT: "moisture in %",
    Quantity.GAP_MM: "gap in mm",
}
_UNITS = {
    Quantity.CURE_H: "h",
    Quantity.CLAMP_H: "h",
    Quantity.AREA_MM2: "mm\N{SUPERSCRIPT TWO}",
    Quantity.VOID_PCT: "%",
    Quantity.MOISTURE_PCT: "%",
    Quantity.GAP_MM: "mm",
}


@dataclass(frozen=True, slots=True)
class TrendPull:
    """A pull at its value of the quantity: bounds on its strength over its combination's median at the middle.

    ``upper`` is None where it held; equal bounds: exact.
    """

    at: float
    lower: float
    upper: float | None


@dataclass(frozen=True, slots=True)
class TrendPoint:
    """Strength at ``at`` over strength at the middle of what was tested, with its interval."""

    at: float
    ratio: Estimate


@dataclass(frozen=True, slots=True)
class Trend:
    """What a change of one quantity goes with.

    Parameters
    ----------
    per, ratio
        The step in words, and strength after it over strength before it, with interval.
    slope
        Of ln strength on the quantity, or on its logarithm, with interval.
    p_value
        Of no trend.
    scale
        Of ln strength around the trend; of a Weibull trend it is 1 / shape.
    n, span
        Pulls, and the least and greatest value tested: nothing is said beyond them.
    curve, pulls
        For a figure.
    """

    quantity: Quantity
    per: str
    ratio: Estimate
    slope: Estimate
    p_value: float
    scale: float
    n: int
    span: tuple[float, float]
    curve: tuple[TrendPoint, ...]
    pulls: tuple[TrendPull, ...]


@dataclass(frozen=True, slots=True)
class SizeEffect:
    """The size exponent s of strength ~ area^-s beside that of the weakest link, 1 / Weibull shape."""

    exponent: Estimate
    weakest_link: float
    agrees: bool


def quantity_of(pull: Pull, quantity: Quantity) -> float | None:
    """Value of a quantity of a pull; None where it was not recorded."""
    match quantity:
        case Quantity.AREA_MM2:
            return float(section_of(pull.joint.outline).area_mm2)
        case Quantity.VOID_PCT:
            return pull.joint.void_pct
        case Quantity.CURE_H:
            return pull.conditions.cure_h
        case Quantity.CLAMP_H:
            return pull.conditions.clamp_h
        case Quantity.MOISTURE_PCT:
            return pull.conditions.moisture_pct
        case Quantity.GAP_MM:
            return pull.conditions.gap_mm


def trend_of(
    pulls: Sequence[Pull],
    stresses: Sequence[JointStress],
    *,
    quantity: Quantity,
    confidence: float = 0.95,
    family: Family = Family.LOGNORMAL,
) -> Trend:
    """Ratio of strengths that goes with a step of a quantity, every combination at its own level.

    Parameters
    ----------
    pulls, stresses
        Side by side, of one action; those excluded, without information or without the quantity are passed over.
    family
        Lognormal or Weibull.

    Returns
    -------
    Trend
        One slope and one scale for all combinations; the interval's factor by parametric bootstrap of the test itself.
        Source key ``lawless`` (likelihood).

    Raises
    ------
    AnalysisError
        Too few pulls, a quantity that does not vary within any combination, or no fit.
    """
    layout, x = _lined_up(pulls, stresses, quantity)
    design = np.column_stack([layout.group_design, x - x.mean()])
    if layout.n < LEAST_PULLS or np.linalg.matrix_rank(design) < design.shape[1]:
        raise AnalysisError(
            f"{quantity} shows no trend: {layout.n} usable pulls state it, and it must vary within a combination. "
            f"Record it, and test at more than one value ({LEAST_PULLS} pulls or more)."
        )
    kernel, place = kernel_of(family), design.shape[1] - 1
    design, penalty = with_glue_ups(layout, design, family=family, ratio=BATCH_RATIO)
    seen = regression_of(layout.lower[None], layout.upper[None], design=design, kernel=kernel, penalty=penalty)
    if not seen.found[0]:
        raise AnalysisError(f"{quantity}: the strengths have no fit, for too few broke. Pull more.")
    rng = np.random.default_rng(layout.seed())
    random = penalty > 0.0
    centre = design[:, ~random] @ seen.coefficients[0, ~random]
    moved = rng.standard_normal((REPLICATES, int(random.sum()))) / np.sqrt(penalty[random])
    errors = drawn_errors(family, rng, (REPLICATES, layout.n)) + moved @ design[:, random].T
    lower, upper = replayed(centre + seen.scale[0] * errors, layout)
    again = regression_of(lower, upper, design=design, kernel=kernel, penalty=penalty, near=_NEAR)
    kept = again.found
    slope, error = float(seen.coefficients[0, place]), math.sqrt(float(seen.covariance[0, place, place]))
    t = np.abs(again.coefficients[kept, place] - slope) / np.sqrt(again.covariance[kept, place, place])
    half = factor_of(t, confidence=confidence) * error
    interval = Estimate(slope, slope - half, slope + half)
    step = math.log(quantity.step) if quantity.by_ratio else quantity.step
    raw = np.exp(x) if quantity.by_ratio else x
    return Trend(
        quantity=quantity,
        per=quantity.per,
        ratio=_grown(interval, step),
        slope=interval,
        p_value=adjusted_p(t, slope / error),
        scale=float(seen.scale[0]),
        n=layout.n,
        span=(float(raw.min()), float(raw.max())),
        curve=_curve(interval, x, quantity),
        pulls=tuple(_pulls(layout, raw, seen.coefficients[0] + median_of(family) * seen.scale[0])),
    )


def size_effect(trend: Trend, *, weibull_shape: float) -> SizeEffect:
    """The exponent of a trend in area, beside 1 / shape of a weakest-link joint. Source key ``weakest_link``.

    Raises
    ------
    ValueError
        The trend is not one in area.
    """
    if trend.quantity is not Quantity.AREA_MM2:
        raise ValueError("a size exponent belongs to a trend in area")
    slope = trend.slope
    exponent = Estimate(
        -slope.value, None if slope.upper is None else -slope.upper, None if slope.lower is None else -slope.lower
    )
    chain = 1.0 / weibull_shape
    inside = (exponent.lower is None or exponent.lower <= chain) and (exponent.upper is None or chain <= exponent.upper)
    return SizeEffect(exponent, chain, inside)


def _lined_up(pulls: Sequence[Pull], stresses: Sequence[JointStress], quantity: Quantity) -> tuple[Layout, FloatArray]:
    groups: dict[tuple[str, str, str], list[tuple[Combination, JointStress, float]]] = {}
    for pull, stress in zip(pulls, stresses, strict=True):
        x = quantity_of(pull, quantity)
        usable = pull.excluded_because is None and stress.carries_information and x is not None
        if usable and x is not None and not (quantity.by_ratio and x <= 0.0):
            groups.setdefault(pull.joint.combination.key, []).append((pull.joint.combination, stress, x))
    if not groups:
        raise AnalysisError(f"No usable pull states {quantity}: record it, and test at more than one value.")
    members = [part for _, part in sorted(groups.items())]
    samples = [
        CombinationSample(part[0][0], StrengthSample.of_stresses(stress for _, stress, _ in part)) for part in members
    ]
    values = np.array([value for part in members for _, _, value in part], dtype=np.float64)
    return Layout.of(samples), np.log(values) if quantity.by_ratio else values


def _grown(slope: Estimate, step: float) -> Estimate:
    ends = [None if end is None else math.exp(end * step) for end in (slope.lower, slope.upper)]
    lower, upper = ends if step > 0.0 else ends[::-1]
    return Estimate(math.exp(slope.value * step), lower, upper)


def _pulls(layout: Layout, raw: FloatArray, log_medians: FloatArray) -> Iterator[TrendPull]:
    level = log_medians[layout.group]
    lower, upper = np.exp(layout.lower - level), np.exp(layout.upper - level)
    for at, least, most in zip(raw.tolist(), lower.tolist(), upper.tolist(), strict=True):
        yield TrendPull(at, least, None if math.isinf(most) else most)


def _curve(slope: Estimate, x: FloatArray, quantity: Quantity) -> tuple[TrendPoint, ...]:
    middle = float(x.mean())
    points = np.linspace(float(x.min()), float(x.max()), _POINTS)
    return tuple(
        TrendPoint(math.exp(point) if quantity.by_ratio else float(point), _grown(slope, float(point) - middle))
        for point in points
    )
