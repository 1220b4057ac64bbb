"""Censored strengths: accelerated-failure models, their largest t found by simulating the test itself."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
import numpy.typing as npt

from jointlab.compare.accelerated import regression_of
from jointlab.compare.estimates import Draws, Estimates, Pair, largest_of
from jointlab.compare.layout import Layout
from jointlab.compare.own_spreads import LOW_Z, MOST_WITH_DRAWS
from jointlab.errors import AnalysisError
from jointlab.strength.fitting import kernel_of
from jointlab.strength.values import Family

FloatArray = npt.NDArray[np.float64]

SOURCE = "lawless"

_NEAR = 1e-7  # replicates need few digits
LEAST_REPLICATES = 100
"""Replicates with a fit that calibrate an interval (source key ``judgement``)."""

ENOUGH_BREAKS = 4
"""Breaks of a combination that carry a scale of its own (source key ``judgement``)."""

_HALF, _TWENTIETH = 0.5, 0.05


@dataclass(frozen=True, slots=True)
class _Model:
    """A family on ln strength: its median and low percentile on the kernel, and how to draw from it."""

    family: Family
    median: float
    low: float
    sd: float

    def drawn(self, rng: np.random.Generator, shape: tuple[int, ...]) -> FloatArray:
        if self.family is Family.WEIBULL:
            return np.log(-np.log1p(-rng.random(shape)))
        return rng.standard_normal(shape)


_MODELS = {
    Family.LOGNORMAL: _Model(Family.LOGNORMAL, 0.0, LOW_Z, 1.0),
    Family.WEIBULL: _Model(
        Family.WEIBULL, float(np.log(-np.log(_HALF))), float(np.log(-np.log1p(-_TWENTIETH))), np.pi / np.sqrt(6.0)
    ),
}


@dataclass(frozen=True, slots=True)
class _Fitted:
    """Rows of fits: location and scale by combination (rows, groups), error of each difference of ln medians.

    ``centre`` (rows, n) is the location of every pull, glue-ups included where they are terms.
    """

    location: FloatArray
    scale: FloatArray
    error: FloatArray
    centre: FloatArray
    found: npt.NDArray[np.bool_]


Fit = Callable[[FloatArray, FloatArray], _Fitted]


def estimates_of_censored(
    layout: Layout, *, model: Family, family: Sequence[Pair], ratio: float, replicates: int, rng: np.random.Generator
) -> Estimates:
    """Ln medians of an accelerated-failure model, and the family's largest t by parametric bootstrap.

    Every combination keeps a scale of its own where each has enough breaks for one; otherwise, and where combinations
    meet within glue-ups, which are then terms of the model, one scale serves all. Replicates repeat the test: limits,
    load steps and handling as recorded, glue-ups shifted by the assumed ratio where they are no terms. Replicates
    without a fit are left out, for the test seen has one. Source key ``lawless`` (likelihood).

    Raises
    ------
    AnalysisError
        The likelihood has no maximum: a combination without a break, or no spread to be seen.
    """
    form = _MODELS[model]
    blocked = layout.shared and layout.connected
    shift = 0.0 if blocked or not (layout.repeated or layout.shared) else ratio
    growth = np.array(_growths(layout, family, shift))
    fit = _fit_of(layout, form, family, growth)
    seen = fit(layout.lower[None], layout.upper[None])
    if not seen.found[0]:
        raise AnalysisError(
            "The censored strengths have no fit: some combination has no break between its limits, or all breaks "
            "agree. Leave it out, or pull more."
        )
    location, scale = seen.location[0], seen.scale[0]
    inner = scale / np.sqrt(1.0 + shift**2 * _seen_share(layout))
    strength = seen.centre[0] + inner[layout.group] * form.drawn(rng, (replicates, layout.n))
    moved = rng.standard_normal((replicates, layout.blocks)) * shift * form.sd
    strength = strength + moved[:, layout.block] * inner[layout.group]
    again = fit(*replayed(strength, layout))
    kept = again.found
    if np.count_nonzero(kept) < LEAST_REPLICATES:
        raise AnalysisError(
            "Too few strengths broke between their limits to say how far the estimates may be off: pull more, or raise "
            "the rig's limit."
        )
    off = again.location[kept] - location
    off_median = off + form.median * (again.scale[kept] - scale)
    total = inner * np.sqrt(1.0 + shift**2)
    draws = None
    if len(family) <= MOST_WITH_DRAWS:
        grown = scale / again.scale[kept]
        draws = Draws(location - off * grown, grown * total, location, total, model)
    return Estimates(
        log_median=location + form.median * scale,
        log_sd=total * form.sd,
        log_low=location + form.low * total,
        errors=seen.error[0],
        largest=largest_of(off_median, list(again.error[kept].T), family),
        draws=draws,
    )


def _fit_of(layout: Layout, form: _Model, family: Sequence[Pair], growth: FloatArray) -> Fit:
    """One scale for all, or one for each."""
    broke = np.bincount(layout.group, ~layout.held & np.isfinite(layout.lower), layout.groups)
    if (layout.shared and layout.connected) or broke.min() < ENOUGH_BREAKS:
        return partial(_with_one_scale, layout, form, family, growth)
    return partial(_with_own_scales, layout, form, family, growth)


def _with_one_scale(
    layout: Layout, form: _Model, family: Sequence[Pair], growth: FloatArray, lower: FloatArray, upper: FloatArray
) -> _Fitted:
    design = _design(layout)
    got = regression_of(lower, upper, design=design, kernel=kernel_of(form.family), near=_NEAR)
    c, groups = got.covariance, layout.groups
    squares = np.stack([c[:, i, i] + c[:, j, j] - 2.0 * c[:, i, j] for i, j in family], axis=1)
    scale = np.repeat(got.scale[:, None], groups, axis=1)
    error = growth * np.sqrt(np.maximum(squares, 1e-300))
    return _Fitted(got.coefficients[:, :groups], scale, error, got.coefficients @ design.T, got.found)


def _with_own_scales(
    layout: Layout, form: _Model, family: Sequence[Pair], growth: FloatArray, lower: FloatArray, upper: FloatArray
) -> _Fitted:
    kernel = kernel_of(form.family)
    parts = []
    for index in range(layout.groups):
        own = layout.group == index
        design = np.ones((int(own.sum()), 1))
        parts.append(regression_of(lower[:, own], upper[:, own], design=design, kernel=kernel, near=_NEAR))
    squares = np.stack(
        [
            part.covariance[:, 0, 0]
            + 2.0 * form.median * part.covariance[:, 0, 1]
            + form.median**2 * part.covariance[:, 1, 1]
            for part in parts
        ],
        axis=1,
    )
    error = np.stack([np.sqrt(np.maximum(squares[:, i] + squares[:, j], 1e-300)) for i, j in family], axis=1)
    location = np.hstack([part.coefficients for part in parts])
    return _Fitted(
        location=location,
        scale=np.stack([part.scale for part in parts], axis=1),
        error=growth * error,
        centre=location[:, layout.group],
        found=np.all([part.found for part in parts], axis=0),
    )


def drawn_errors(family: Family, rng: np.random.Generator, shape: tuple[int, ...]) -> FloatArray:
    """Errors of the family's kernel, location 0 and scale 1."""
    return _MODELS[family].drawn(rng, shape)


def replayed(strength: FloatArray, layout: Layout) -> tuple[FloatArray, FloatArray]:
    """What the rig would have shown of these ln strengths: held at its limit, between steps, or broke when handled."""
    lower, upper = strength.copy(), strength.copy()
    step = np.broadcast_to(layout.step_mpa, strength.shape)
    between = np.isfinite(layout.upper) & (layout.lower < layout.upper) & np.isfinite(layout.lower)
    stepped = np.broadcast_to(between & (layout.step_mpa > 0.0), strength.shape)
    with np.errstate(divide="ignore"):
        count = np.floor(np.exp(strength[stepped]) / step[stepped])
        lower[stepped], upper[stepped] = np.log(count * step[stepped]), np.log((count + 1.0) * step[stepped])
    handled = np.broadcast_to(np.isneginf(layout.lower), strength.shape) & (strength <= layout.upper)
    ends = np.broadcast_to(layout.upper, strength.shape)
    lower[handled], upper[handled] = -np.inf, ends[handled]
    limit = np.broadcast_to(layout.limit, strength.shape)
    held = strength > limit
    lower[held], upper[held] = limit[held], np.inf
    return lower, upper


def _design(layout: Layout) -> FloatArray:
    """Combinations, and glue-ups measured from their mean where differences can be seen within them."""
    if layout.shared and layout.connected:
        return np.hstack([layout.group_design, layout.block_design[:, 1:] - 1.0 / layout.blocks])
    return layout.group_design


def _seen_share(layout: Layout) -> float:
    """Share of a glue-up's variance that a spread around each combination's own mean sees."""
    sizes = layout.sizes
    return float((sizes * (1.0 - (layout.shares**2).sum(axis=1))).sum() / max(layout.n - layout.groups, 1))


def _growths(layout: Layout, family: Sequence[Pair], shift: float) -> list[float]:
    """By how much shared and unshared glue-ups change the error of each difference, as for complete strengths.

    Variance of a difference of means: 1/n_i + 1/n_j + shift^2 sum over glue-ups of the squared difference of shares, in
    squares of the spread within glue-ups.
    """
    if not shift:
        return [1.0] * len(family)
    shares, sizes, seen = layout.shares, layout.sizes, 1.0 + shift**2 * _seen_share(layout)
    growths = []
    for i, j in family:
        alone = 1.0 / sizes[i] + 1.0 / sizes[j]
        moved = shift**2 * float(((shares[i] - shares[j]) ** 2).sum())
        growths.append(float(np.sqrt((alone + moved) / (alone * seen))))
    return growths
