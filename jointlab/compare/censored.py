"""Censored strengths: accelerated-failure models, their largest t found by simulating the test itself."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from jointlab.compare.accelerated import Regression, regression_of
from jointlab.compare.estimates import Draws, Estimates, Pair, largest_of
from jointlab.compare.layout import Layout
from jointlab.compare.own_spreads import LOW_Z, MOST_WITH_DRAWS
from jointlab.errors import AnalysisError
from jointlab.strength.fitting import kernel_of
from jointlab.strength.values import Family

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

SOURCE = "lawless"

_NEAR = 1e-7  # replicates need few digits
LEAST_REPLICATES = 100
"""Replicates with a fit that calibrate an interval (source key ``judgement``)."""

ENOUGH_BREAKS = 4
"""Breaks of a combination that carry a scale of its own (source key ``judgement``)."""

ENOUGH_IN_SHARED = 6
"""The same where glue-ups are shared: their shifts take part of what the breaks tell (source key ``judgement``)."""

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
    """Rows of fits: location and scale by combination (rows, groups), error of each difference of ln medians."""

    location: FloatArray
    scale: FloatArray
    error: FloatArray
    found: npt.NDArray[np.bool_]


def estimates_of_censored(
    layout: Layout, *, model: Family, family: Sequence[Pair], ratio: float, replicates: int, rng: np.random.Generator
) -> Estimates:
    """Ln medians of an accelerated-failure model, and the family's largest t by parametric bootstrap.

    Glue-ups are random terms whose spread is ``ratio`` times that within them. Every combination keeps a scale of its
    own where each has enough breaks and either no glue-up is shared or all meet within glue-ups; otherwise one scale
    serves all. Replicates repeat the test: limits, load steps and handling as recorded, new glue-ups; those without a
    fit are left out, for the test seen has one. Source key ``lawless`` (likelihood), ``lee_nelder`` (random terms).

    Raises
    ------
    AnalysisError
        The likelihood has no maximum: a combination without a break, or no spread to be seen.
    """
    form = _MODELS[model]
    fit = _fit_of(layout, form, family, ratio if layout.repeated or layout.shared else 0.0)
    seen = fit(layout.lower[None], layout.upper[None])
    if not seen.found[0]:
        raise AnalysisError(
            "The censored strengths have no fit: some combination has no break between its limits, or all breaks "
            "agree. Leave it out, or pull more."
        )
    location, scale = seen.location[0], seen.scale[0]
    again = fit(*replayed(_drawn_again(layout, form, fit.ratio, location, scale, replicates, rng), layout))
    kept = again.found
    if np.count_nonzero(kept) < LEAST_REPLICATES:
        raise AnalysisError(
            "Too few strengths broke between their limits to say how far the estimates may be off: pull more, or raise "
            "the rig's limit."
        )
    off = again.location[kept] - location
    off_median = off + form.median * (again.scale[kept] - scale)
    grown = scale / again.scale[kept]
    more = np.sqrt(1.0 + (fit.ratio * _between(layout, scale) / scale) ** 2)
    total = more * scale * np.median(grown, axis=0)
    draws = None
    if len(family) <= MOST_WITH_DRAWS:
        draws = Draws(location - off * grown, more * grown * scale, location, total, model)
    return Estimates(
        log_median=location + form.median * scale,
        log_sd=total * form.sd,
        log_low=location + form.low * total,
        errors=seen.error[0],
        largest=largest_of(off_median, list(again.error[kept].T), family),
        draws=draws,
    )


def _drawn_again(
    layout: Layout,
    form: _Model,
    ratio: float,
    location: FloatArray,
    scale: FloatArray,
    replicates: int,
    rng: np.random.Generator,
) -> FloatArray:
    """Ln strengths of tests like this one: new joints in new glue-ups."""
    own = form.drawn(rng, (replicates, layout.n))
    moved = rng.standard_normal((replicates, layout.blocks)) * ratio * form.sd
    between = _between(layout, scale)
    return location[layout.group] + scale[layout.group] * own + between[layout.group] * moved[:, layout.block]


def _between(layout: Layout, scale: FloatArray) -> FloatArray:
    """Scale by combination in which glue-ups are taken to differ: one for all where glue-ups are shared."""
    return np.full(scale.size, np.sqrt(np.mean(scale**2))) if layout.shared else scale


def _fit_of(layout: Layout, form: _Model, family: Sequence[Pair], ratio: float) -> _Fit:
    """One scale for all, or one for each."""
    broke = np.bincount(layout.group, ~layout.held & np.isfinite(layout.lower), layout.groups)
    if layout.shared and layout.connected and ratio > 0.0 and broke.min() >= ENOUGH_IN_SHARED:
        return _OwnScalesInShared(layout, form, family, ratio)
    if layout.shared or broke.min() < ENOUGH_BREAKS:
        return _OneScale(layout, form, family, ratio)
    return _OwnScales(layout, form, family, ratio)


@dataclass(frozen=True, slots=True)
class _Fit:
    """How rows of strengths are fitted; ``ratio`` 0: glue-ups are no terms."""

    layout: Layout
    form: _Model
    family: Sequence[Pair]
    ratio: float

    def __call__(self, lower: FloatArray, upper: FloatArray) -> _Fitted:
        raise NotImplementedError

    def fitted(self, lower: FloatArray, upper: FloatArray, members: FloatArray, block: IntArray) -> Regression:
        """One regression of each row on its combinations and its glue-ups."""
        design, penalty = _with_blocks(members, block, self.ratio * self.form.sd)
        kernel = kernel_of(self.form.family)
        return regression_of(lower, upper, design=design, kernel=kernel, penalty=penalty, near=_NEAR)


class _OneScale(_Fit):
    """One scale for all combinations."""

    __slots__ = ()

    def __call__(self, lower: FloatArray, upper: FloatArray) -> _Fitted:
        layout = self.layout
        got = self.fitted(lower, upper, layout.group_design, layout.block)
        c, groups = got.covariance, layout.groups
        squares = np.stack([c[:, i, i] + c[:, j, j] - 2.0 * c[:, i, j] for i, j in self.family], axis=1)
        scale = np.repeat(got.scale[:, None], groups, axis=1)
        return _Fitted(got.coefficients[:, :groups], scale, np.sqrt(np.maximum(squares, 1e-300)), got.found)


class _OwnScales(_Fit):
    """Every combination with its scale, in glue-ups of its own."""

    __slots__ = ()

    def __call__(self, lower: FloatArray, upper: FloatArray) -> _Fitted:
        layout, median = self.layout, self.form.median
        parts = []
        for index in range(layout.groups):
            own = np.flatnonzero(layout.group == index)
            block = np.asarray(np.unique(layout.block[own], return_inverse=True)[1], dtype=np.int64)
            parts.append(self.fitted(lower[:, own], upper[:, own], np.ones((own.size, 1)), block))
        squares = np.stack([_square(part, median) for part in parts], axis=1)
        error = np.stack([np.sqrt(np.maximum(squares[:, i] + squares[:, j], 1e-300)) for i, j in self.family], axis=1)
        return _Fitted(
            location=np.hstack([part.coefficients[:, :1] for part in parts]),
            scale=np.stack([part.scale for part in parts], axis=1),
            error=error,
            found=np.all([part.found for part in parts], axis=0),
        )


class _OwnScalesInShared(_Fit):
    """Every combination with its scale, after what one scale for all makes of the glue-ups is taken off."""

    __slots__ = ()

    def __call__(self, lower: FloatArray, upper: FloatArray) -> _Fitted:
        layout, median, groups = self.layout, self.form.median, self.layout.groups
        first = self.fitted(lower, upper, layout.group_design, layout.block)
        moved = np.where(first.found[:, None], first.coefficients[:, groups:], 0.0)[:, layout.block]
        parts = []
        for index in range(groups):
            member = np.flatnonzero(layout.group == index)
            parts.append(
                regression_of(
                    lower[:, member] - moved[:, member],
                    upper[:, member] - moved[:, member],
                    design=np.ones((member.size, 1)),
                    kernel=kernel_of(self.form.family),
                    near=_NEAR,
                )
            )
        squares = np.stack([_square(part, median) for part in parts], axis=1)
        blocks = first.covariance[:, groups:-1, groups:-1]
        error = []
        for i, j in self.family:
            apart = layout.shares[i] - layout.shares[j]
            error.append(np.sqrt(np.maximum(squares[:, i] + squares[:, j] + blocks @ apart @ apart, 1e-300)))
        return _Fitted(
            location=np.hstack([part.coefficients for part in parts]),
            scale=np.stack([part.scale for part in parts], axis=1),
            error=np.stack(error, axis=1),
            found=first.found & np.all([part.found for part in parts], axis=0),
        )


def _square(part: Regression, median: float) -> FloatArray:
    """Variance of ln median of one combination's fit."""
    c = part.covariance
    return np.asarray(c[:, 0, 0] + 2.0 * median * c[:, 0, -1] + median**2 * c[:, -1, -1])


def with_glue_ups(layout: Layout, design: FloatArray, *, family: Family, ratio: float) -> tuple[FloatArray, FloatArray]:
    """A design with random glue-ups, and its penalty; as it is where every pull is a glue-up of its own."""
    spread = ratio * _MODELS[family].sd if layout.repeated or layout.shared else 0.0
    return _with_blocks(design, layout.block, spread)


def _with_blocks(design: FloatArray, block: IntArray, spread: float) -> tuple[FloatArray, FloatArray]:
    penalty = np.zeros(design.shape[1])
    if spread == 0.0:
        return design, penalty
    blocks = np.eye(int(block.max()) + 1)[block]
    return np.hstack([design, blocks]), np.append(penalty, np.full(blocks.shape[1], 1.0 / spread**2))


def median_of(family: Family) -> float:
    """Median of the family's kernel, location 0 and scale 1."""
    return _MODELS[family].median


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
