"""Complete strengths in shared glue-ups: glue-ups as random blocks, one spread for all combinations."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from jointlab.compare.estimates import Draws, Estimates, Pair, largest_of
from jointlab.compare.layout import Layout
from jointlab.compare.own_spreads import LOW_Z, MOST_WITH_DRAWS
from jointlab.strength.values import Family

FloatArray = npt.NDArray[np.float64]

SOURCE = "searle_unbalanced"

_ENOUGH = 3
"""Degrees of freedom within glue-ups that carry a spread; with fewer the glue-ups' own differences join (judgement)."""


def covariance_of_pulls(layout: Layout, *, ratio: float) -> FloatArray:
    """V = I + ratio^2 Z Z' over all pulls, in squares of the spread within a glue-up."""
    block = layout.block_design
    return np.asarray(np.eye(layout.n) + ratio * ratio * block @ block.T)


def whitening_of(layout: Layout, *, ratio: float) -> FloatArray:
    """Matrix that makes pulls with covariance V independent."""
    return np.asarray(np.linalg.inv(np.linalg.cholesky(covariance_of_pulls(layout, ratio=ratio))))


def estimates_in_blocks(
    layout: Layout, *, family: Sequence[Pair], ratio: float, replicates: int, rng: np.random.Generator
) -> Estimates:
    """Generalised least squares with the ratio known, spread from within glue-ups, and the family's largest t.

    Where all combinations meet within glue-ups their differences rest on those alone. Otherwise differences between
    glue-ups count as much as the assumed ratio says. Source key ``searle_unbalanced``.
    """
    white = whitening_of(layout, ratio=ratio)
    design = white @ layout.group_design
    own: FloatArray = np.asarray(np.linalg.inv(design.T @ design), dtype=np.float64)
    centre: FloatArray = own @ design.T @ (white @ layout.lower)
    if layout.connected:
        centre, own = _within_glue_ups(layout, centre, own)
    spread, degrees = _spread(layout, white, design, centre)
    chosen = _contrasts(layout.groups, family)
    units = np.sqrt(np.einsum("fg,gh,fh->f", chosen, own, chosen))
    errors = rng.standard_normal((replicates, layout.groups)) @ _root(own).T
    inflation = np.sqrt(degrees / rng.chisquare(degrees, replicates))
    largest = largest_of(errors, [unit / inflation for unit in units], family)
    total = spread * np.sqrt(1.0 + ratio * ratio)
    draws = None
    if len(family) <= MOST_WITH_DRAWS:
        scale = np.repeat((total * inflation)[:, None], layout.groups, axis=1)
        location = centre - spread * errors * inflation[:, None]
        draws = Draws(location, scale, centre, np.full(layout.groups, total), Family.LOGNORMAL)
    return Estimates(
        log_median=centre,
        log_sd=np.full(layout.groups, total),
        log_low=centre + LOW_Z * total,
        errors=spread * units,
        largest=largest,
        draws=draws,
    )


def _within_glue_ups(layout: Layout, centre: FloatArray, own: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Differences from within glue-ups only, whatever the glue-ups do; the general level stays as it was.

    The covariance returned gives differences of combinations their due; a common level cancels in them.
    """
    from_blocks = layout.block_design @ np.linalg.pinv(layout.block_design)
    inside = layout.group_design - from_blocks @ layout.group_design
    y = layout.lower - from_blocks @ layout.lower
    inverse = np.linalg.pinv(inside.T @ inside)
    apart = inverse @ inside.T @ y
    level = float(centre.mean() - apart.mean())
    return apart + level, np.asarray(inverse + float(own.mean()))


def _spread(layout: Layout, white: FloatArray, design: FloatArray, centre: FloatArray) -> tuple[float, int]:
    both = np.hstack([layout.group_design, layout.block_design])
    degrees = layout.n - int(np.linalg.matrix_rank(both))
    if degrees >= _ENOUGH:
        rest = layout.lower - both @ (np.linalg.pinv(both) @ layout.lower)
        return float(np.sqrt((rest**2).sum() / degrees)), degrees
    rest = white @ layout.lower - design @ centre
    degrees = layout.n - layout.groups
    return float(np.sqrt((rest**2).sum() / degrees)), degrees


def _contrasts(groups: int, family: Sequence[Pair]) -> FloatArray:
    chosen = np.zeros((len(family), groups))
    for row, (one, other) in enumerate(family):
        chosen[row, one], chosen[row, other] = 1.0, -1.0
    return chosen


def _root(covariance: FloatArray) -> FloatArray:
    """A square root of a covariance that may lack full rank."""
    value, vector = np.linalg.eigh(covariance)
    return np.asarray(vector * np.sqrt(np.maximum(value, 0.0)))
