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

SOURCE = "lawless"

_NEAR = 1e-7  # replicates need few digits
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


def estimates_of_censored(
    layout: Layout, *, model: Family, family: Sequence[Pair], ratio: float, replicates: int, rng: np.random.Generator
) -> Estimates:
    """Ln medians of an accelerated-failure model with one scale, and the family's largest t by parametric bootstrap.

    Where combinations meet within glue-ups the glue-ups are terms of the model; otherwise replicates shift whole
    glue-ups by the assumed ratio. Each replicate repeats the test: limits, load steps and handling as recorded. Source
    key ``lawless`` (likelihood).

    Raises
    ------
    AnalysisError
        The likelihood has no maximum: a combination without a break, or no spread to be seen.
    """
    form = _MODELS[model]
    design, blocked = _design(layout)
    kernel = kernel_of(model)
    seen = regression_of(layout.lower[None], layout.upper[None], design=design, kernel=kernel)
    if not seen.found[0]:
        raise AnalysisError(
            "The censored strengths have no fit: some combination has no break between its limits, or all breaks "
            "agree. Leave it out, or pull more."
        )
    scale, coefficients = float(seen.scale[0]), seen.coefficients[0]
    shift = 0.0 if blocked or not (layout.repeated or layout.shared) else ratio
    inner = scale / np.sqrt(1.0 + shift**2 * _seen_share(layout)) if shift else scale
    strength = design @ coefficients + inner * form.drawn(rng, (replicates, layout.n))
    if shift:
        moved = rng.standard_normal((replicates, layout.blocks)) * shift * inner * form.sd
        strength = strength + moved[:, layout.block]
    lower, upper = replayed(strength, layout)
    again = regression_of(lower, upper, design=design, kernel=kernel, near=_NEAR)
    kept = np.flatnonzero(again.found)
    groups = layout.groups
    off = again.coefficients[kept, :groups] - coefficients[:groups]
    growths = _growths(layout, family, shift)
    error = [growth * _difference_error(again, kept, pair) for growth, pair in zip(growths, family, strict=True)]
    total = inner * np.sqrt(1.0 + shift**2)
    centre = coefficients[:groups] + form.median * scale
    draws = None
    if len(family) <= MOST_WITH_DRAWS:
        grown = scale / again.scale[kept]
        location = coefficients[:groups] - off * grown[:, None]
        spread = np.repeat((grown * total)[:, None], groups, axis=1)
        draws = Draws(location, spread, coefficients[:groups], np.full(groups, total), model)
    return Estimates(
        log_median=centre,
        log_sd=np.full(groups, total * form.sd),
        log_low=coefficients[:groups] + form.low * total,
        errors=np.array(growths) * [_difference_error(seen, np.array([0]), pair)[0] for pair in family],
        largest=largest_of(off, error, family),
        draws=draws,
    )


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


def _design(layout: Layout) -> tuple[FloatArray, bool]:
    """Combinations, and glue-ups measured from the first where differences can be seen within them."""
    if layout.shared and layout.connected:
        block = layout.block_design
        return np.hstack([layout.group_design, block[:, 1:] - 1.0 / layout.blocks]), True
    return layout.group_design, False


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


def _difference_error(fits: Regression, rows: npt.NDArray[np.int64], pair: Pair) -> FloatArray:
    one, other = pair
    c = fits.covariance
    square = c[rows, one, one] + c[rows, other, other] - 2.0 * c[rows, one, other]
    return np.asarray(np.sqrt(np.maximum(square, 1e-300)))
