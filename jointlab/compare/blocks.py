"""Complete strengths in shared glue-ups: glue-ups as blocks, each combination with a spread of its own within them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from jointlab.compare.estimates import Draws, Estimates, Pair
from jointlab.compare.layout import Layout
from jointlab.compare.own_spreads import LOW_Z, MOST_WITH_DRAWS
from jointlab.strength.values import Family

FloatArray = npt.NDArray[np.float64]

SOURCE = "searle_unbalanced"

_ENOUGH = 3
"""Degrees of freedom within glue-ups that carry a spread; with fewer the glue-ups' own differences join (judgement)."""

LEAST_SHARE = 0.1
"""A combination's variance is taken as no less than this share of the pooled one (source key ``judgement``)."""


LENT_PULLS = 2.0
"""Pulls' worth of the pooled variance that is lent to each combination's own (source key ``judgement``; measured)."""


def covariance_of_pulls(layout: Layout, *, ratio: float) -> FloatArray:
    """V = I + ratio^2 Z Z' over all pulls, in squares of the spread within a glue-up."""
    block = layout.block_design
    return np.asarray(np.eye(layout.n) + ratio * ratio * block @ block.T)


def whitening_of(layout: Layout, *, ratio: float) -> FloatArray:
    """Matrix that makes pulls with covariance V independent."""
    return np.asarray(np.linalg.inv(np.linalg.cholesky(covariance_of_pulls(layout, ratio=ratio))))


@dataclass(frozen=True, slots=True)
class BlockFit:
    """Linear maps of a layout, the same for every replicate.

    ``taking`` (groups, n) gives the estimates from the pulls; ``leaving`` (n, n) the residuals, from which ``solving``
    (groups, groups) makes variances: E q = A sigma^2 with A_gh the sum of squared residual weights; ``between``
    (family,) is what glue-ups add to a difference, in squares of the pooled spread.
    """

    layout: Layout
    family: Sequence[Pair]
    taking: FloatArray
    leaving: FloatArray
    solving: FloatArray
    degrees: int
    between: FloatArray

    def estimated(self, y: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Estimates (rows, groups), standard errors (rows, family) and variances (rows, groups) of rows of pulls."""
        members = self.layout.group_design
        residual = (y @ self.leaving.T) ** 2
        pooled = residual.sum(axis=1, keepdims=True) / self.degrees
        own = np.maximum((residual @ members) @ self.solving.T, LEAST_SHARE * pooled)
        lent = np.minimum(LENT_PULLS / self.layout.sizes, 1.0)
        variance = (1.0 - lent) * own + lent * pooled
        weights = np.stack([(self.taking[i] - self.taking[j]) ** 2 @ members for i, j in self.family])
        errors = np.sqrt(variance @ weights.T + pooled * self.between)
        return y @ self.taking.T, errors, variance


def estimates_in_blocks(
    layout: Layout, *, family: Sequence[Pair], ratio: float, replicates: int, rng: np.random.Generator
) -> Estimates:
    """Least squares with glue-ups as blocks, and the family's largest t by parametric bootstrap.

    Where all combinations meet within glue-ups their differences rest on those alone. Otherwise estimates weigh pulls
    by V = I + ratio^2 Z Z', and differences between glue-ups count as much as the assumed ratio says. Every combination
    has a variance of its own, from its residuals by the method of moments; replicates repeat the whole estimate. Source
    key ``searle_unbalanced``.
    """
    fit = block_fit(layout, family, ratio=ratio)
    centre, errors, variance = (part[0] for part in fit.estimated(layout.lower[None]))
    pooled = float(np.sqrt((variance * layout.sizes).sum() / layout.n))
    noise = rng.standard_normal((replicates, layout.n)) * np.sqrt(variance)[layout.group]
    noise += (rng.standard_normal((replicates, layout.blocks)) * ratio * pooled)[:, layout.block]
    off, error_again, variance_again = fit.estimated(noise)
    largest = np.zeros(replicates)
    for place, (one, other) in enumerate(family):
        np.maximum(largest, np.abs(off[:, one] - off[:, other]) / error_again[:, place], out=largest)
    total = np.sqrt(variance + (ratio * pooled) ** 2)
    draws = None
    if len(family) <= MOST_WITH_DRAWS:
        grown = variance / variance_again
        location = centre - off * np.sqrt(grown)
        draws = Draws(location, total * np.sqrt(grown), centre, total, Family.LOGNORMAL)
    return Estimates(
        log_median=centre,
        log_sd=total,
        log_low=centre + LOW_Z * total,
        errors=errors,
        largest=largest,
        draws=draws,
    )


def block_fit(layout: Layout, family: Sequence[Pair], *, ratio: float) -> BlockFit:
    """The maps of a layout."""
    members, blocks = layout.group_design, layout.block_design
    taking = _within(layout) if layout.connected else _weighed(layout, ratio)
    both = np.hstack([members, blocks])
    leaving = np.eye(layout.n) - both @ np.linalg.pinv(both)
    degrees = layout.n - int(np.linalg.matrix_rank(both))
    if degrees < _ENOUGH:
        leaving, degrees = np.eye(layout.n) - members @ taking, layout.n - layout.groups
    solving: FloatArray = np.asarray(np.linalg.pinv(members.T @ leaving**2 @ members, rcond=1e-8), dtype=np.float64)
    moved = taking @ blocks
    between = np.array([ratio * ratio * float(((moved[i] - moved[j]) ** 2).sum()) for i, j in family])
    return BlockFit(layout, family, taking, leaving, solving, degrees, between)


def _weighed(layout: Layout, ratio: float) -> FloatArray:
    white = whitening_of(layout, ratio=ratio)
    return np.asarray(np.linalg.pinv(white @ layout.group_design) @ white)


def _within(layout: Layout) -> FloatArray:
    """Differences from within glue-ups only, whatever the glue-ups do; the general level is that of all pulls."""
    blocks = layout.block_design
    inner = np.eye(layout.n) - blocks @ np.linalg.pinv(blocks)
    apart = np.linalg.pinv(inner @ layout.group_design) @ inner
    level = np.full((layout.groups, layout.n), 1.0 / layout.n)
    return np.asarray(apart + level - apart.mean(axis=0))
