"""Accelerated-failure models: ln strength = design x coefficients + scale x error, any censoring, many at once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from jointlab.strength.kernels import Kernel

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

SOURCE = "lawless"

_MOST_STEPS = 60
_NEAR = 1e-12  # squared Newton decrement at which the search ends: twice the height still to climb
_SPREADLESS = 1e8  # 1 / scale beyond this share of the data's extent is no spread at all
_OPEN = 1e-8  # least eigenvalue of the scaled information, below which a direction is open
_SILENT = 1e-6  # information of a coefficient, in that of as many exact normal strengths, below which nothing is told
_FAR = 1e3  # a coefficient beyond this many extents has no end: all of its pulls held, or were handled


@dataclass(frozen=True, slots=True)
class Regression:
    """Fits side by side, one a row.

    Parameters
    ----------
    coefficients
        Shape (rows, p), on the scale of ln strength.
    scale
        Shape (rows,).
    log_likelihood
        Shape (rows,); densities in 1 / ln MPa.
    covariance
        Shape (rows, p + 1, p + 1): of the coefficients, then of the scale, from the observed information.
    found
        Shape (rows,): False where there is no maximum; the numbers of that row are NaN and never leave the room.
    """

    coefficients: FloatArray
    scale: FloatArray
    log_likelihood: FloatArray
    covariance: FloatArray
    found: BoolArray


def regression_of(
    lower: FloatArray,
    upper: FloatArray,
    *,
    design: FloatArray,
    kernel: Kernel,
    penalty: FloatArray | None = None,
    near: float = _NEAR,
) -> Regression:
    """Maximum likelihood of every row by damped Newton in (1/scale, coefficients/scale), where it is concave.

    Coefficients of glue-ups can be random: with a known ratio r of their spread to the scale the likelihood of the
    glue-ups themselves, -1/2 (coefficient / (r scale))^2 each, is added. For complete normal logs the estimates are
    then those of generalised least squares.

    Parameters
    ----------
    lower, upper
        Shape (rows, n): ends of ln strength; equal: exact, infinite: open.
    design
        Shape (n, p); the columns without penalty of full rank.
    kernel
        Smallest extreme value (Weibull strengths) or normal (lognormal strengths).
    penalty
        Shape (p,): 1 / r^2 of random coefficients, 0 of the others; None: none is random.
    near
        Twice the height still to climb at which the search ends; replicates need few digits.

    Returns
    -------
    Regression
        Source key ``lawless``; ``lee_nelder`` for random coefficients.
    """
    points = np.where(
        np.isfinite(lower) & np.isfinite(upper), 0.5 * (lower + upper), np.where(np.isfinite(lower), lower, upper)
    )
    centre, extent = points.mean(axis=1), np.ptp(points, axis=1)
    extent = np.where(extent > 0.0, extent, 1.0)
    low, high = (lower - centre[:, None]) / extent[:, None], (upper - centre[:, None]) / extent[:, None]
    hill = _Hill.of(low, high, design, kernel, np.zeros(design.shape[1]) if penalty is None else penalty)
    theta, height, found = _climb(hill, _start((points - centre[:, None]) / extent[:, None], design), near)
    return _unframed(hill, theta, height, found, centre, extent)


@dataclass(frozen=True, slots=True)
class _Slopes:
    log: FloatArray
    gradient: FloatArray
    hessian: FloatArray


@dataclass(frozen=True, slots=True)
class _Hill:
    """Rows of pulls with the kind of each, ready to be summed. ``cross`` holds products of design columns."""

    lower: FloatArray
    upper: FloatArray
    design: FloatArray
    cross: FloatArray
    kernel: Kernel
    penalty: FloatArray

    @classmethod
    def of(cls, lower: FloatArray, upper: FloatArray, design: FloatArray, kernel: Kernel, penalty: FloatArray) -> _Hill:
        n, p = design.shape
        cross = (design[:, :, None] * design[:, None, :]).reshape(n, p * p)
        return cls(lower, upper, design, cross, kernel, penalty)

    def of_rows(self, rows: npt.NDArray[np.int64]) -> _Hill:
        return _Hill(self.lower[rows], self.upper[rows], self.design, self.cross, self.kernel, self.penalty)

    def slopes(self, theta: FloatArray) -> _Slopes:
        """Log-likelihood, gradient and Hessian in (a, coefficients x a), a = 1/scale."""
        a, fitted = theta[:, 0], theta[:, 1:] @ self.design.T
        log, d_a, d_z, d_aa, d_az, d_zz = self._terms(a[:, None], fitted)
        exact = (self.lower == self.upper).sum(axis=1)
        rows, p = theta.shape[0], self.design.shape[1]
        gradient = np.empty((rows, p + 1))
        gradient[:, 0] = exact / a + d_a.sum(axis=1)
        gradient[:, 1:] = -d_z @ self.design - self.penalty * theta[:, 1:]
        hessian = np.empty((rows, p + 1, p + 1))
        hessian[:, 0, 0] = -exact / (a * a) + d_aa.sum(axis=1)
        hessian[:, 0, 1:] = hessian[:, 1:, 0] = -d_az @ self.design
        hessian[:, 1:, 1:] = (d_zz @ self.cross).reshape(rows, p, p) - np.diag(self.penalty)
        height = exact * np.log(a) + log.sum(axis=1) - 0.5 * theta[:, 1:] ** 2 @ self.penalty
        return _Slopes(height, gradient, hessian)

    def _terms(self, a: FloatArray, fitted: FloatArray) -> tuple[FloatArray, ...]:
        """What each pull adds, and its derivatives in a and in z, all of the shape of the pulls."""
        lower, upper = self.lower, self.upper
        exact, right = np.equal(lower, upper), np.isposinf(upper)
        left = np.isneginf(lower) & ~right
        parts = tuple(np.zeros_like(lower) for _ in range(6))
        with np.errstate(over="ignore", under="ignore", divide="ignore", invalid="ignore"):
            for chosen, ends, kind in (
                (exact, lower, self.kernel.exact),
                (right & np.isfinite(lower), lower, self.kernel.right),
                (left, upper, self.kernel.left),
            ):
                if chosen.any():
                    y = ends[chosen]
                    at = kind((a * np.where(chosen, ends, 0.0) - fitted)[chosen])
                    curve_y = at.curve * y
                    for part, term in zip(
                        parts, (at.log, at.slope * y, at.slope, curve_y * y, curve_y, at.curve), strict=True
                    ):
                        part[chosen] = term
            between = ~(exact | right | left)
            if between.any():
                self._add_intervals(parts, between, a, fitted)
        return parts

    def _add_intervals(
        self, parts: tuple[FloatArray, ...], chosen: BoolArray, a: FloatArray, fitted: FloatArray
    ) -> None:
        y, width = self.lower[chosen], (self.upper - self.lower)[chosen]
        scale = np.broadcast_to(a, self.lower.shape)[chosen]
        at = self.kernel.interval(scale * y - fitted[chosen], scale * width)
        cross = at.zz * y + at.zw * width
        terms = (
            at.log,
            at.z * y + at.w * width,
            at.z,
            cross * y + (at.zw * y + at.ww * width) * width,
            cross,
            at.zz,
        )
        for part, term in zip(parts, terms, strict=True):
            part[chosen] = term


def _start(points: FloatArray, design: FloatArray) -> FloatArray:
    coefficients = points @ np.linalg.pinv(design).T
    rest = points - coefficients @ design.T
    a = 1.0 / np.sqrt(np.maximum((rest**2).mean(axis=1), 1e-3))
    return np.column_stack([a, coefficients * a[:, None]])


def _climb(hill: _Hill, theta: FloatArray, near: float) -> tuple[FloatArray, FloatArray, BoolArray]:
    """Damped Newton: a step that does not climb is halved; rows that are done leave the crowd."""
    theta = theta.copy()
    rows = theta.shape[0]
    height, found = np.full(rows, np.nan), np.zeros(rows, dtype=np.bool_)
    active = np.arange(rows)
    for _ in range(_MOST_STEPS):
        now = hill.slopes(theta[active])
        step, gain = _newton(now, theta[active, 0])
        lost = (
            ~np.isfinite(gain)
            | (theta[active, 0] > _SPREADLESS)
            | (np.abs(theta[active, 1:]).max(axis=1) > _FAR * np.maximum(theta[active, 0], 1.0))
        )
        done = ~lost & (gain < near)
        height[active[done]], found[active[done]] = now.log[done], True
        going = ~(done | lost)
        active, hill = active[going], hill.of_rows(np.flatnonzero(going))
        if not active.size:
            break
        theta[active] = _stepped(hill, theta[active], step[going], now.log[going], gain[going])
    return theta, height, found


def _stepped(hill: _Hill, theta: FloatArray, step: FloatArray, log: FloatArray, gain: FloatArray) -> FloatArray:
    share = np.ones(theta.shape[0])
    trial = theta + step
    for _ in range(30):
        then = hill.slopes(trial).log
        bad = ~(then >= log + 0.1 * share * gain - 1e-10 * (1.0 + np.abs(log)))
        if not bad.any():
            break
        share = np.where(bad, 0.5 * share, share)
        trial = np.where(bad[:, None], theta + share[:, None] * step, trial)
    return trial


def _newton(now: _Slopes, a: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Newton step shortened so that a stays positive, and the slope along it."""
    scale = np.sqrt(np.maximum(-np.einsum("rii->ri", now.hessian), 1e-300))
    with np.errstate(invalid="ignore", over="ignore"):
        tamed = -now.hessian / (scale[:, :, None] * scale[:, None, :])
    tamed[:, np.arange(scale.shape[1]), np.arange(scale.shape[1])] += 1e-12
    bad = ~np.isfinite(tamed).all(axis=(1, 2))
    tamed[bad] = np.eye(scale.shape[1])
    step = np.linalg.solve(tamed, (now.gradient / scale)[:, :, None])[:, :, 0] / scale
    shorten = np.where(step[:, 0] < -0.8 * a, -0.8 * a / np.where(step[:, 0] < 0.0, step[:, 0], -1.0), 1.0)
    step = step * shorten[:, None]
    gain = np.where(bad, np.nan, (now.gradient * step).sum(axis=1))
    return step, gain


def _informed(hill: _Hill, theta: FloatArray, found: BoolArray) -> FloatArray:
    """Observed information of the rows found; a row whose pulls leave a direction open is found no longer."""
    rows = np.flatnonzero(found)
    if not rows.size:
        return np.zeros((0, theta.shape[1], theta.shape[1]))
    information = -hill.of_rows(rows).slopes(theta[rows]).hessian
    size = np.sqrt(np.maximum(np.einsum("rii->ri", information), 1e-300))
    least = np.linalg.eigvalsh(information / (size[:, :, None] * size[:, None, :]))[:, 0]
    fixed = np.flatnonzero(hill.penalty == 0.0)
    weight = (size[:, 1 + fixed] ** 2 / (hill.design[:, fixed] ** 2).sum(axis=0)).min(axis=1)
    told = (least > _OPEN) & (weight > _SILENT)
    found[rows[~told]] = False
    return np.asarray(information[told])


def _unframed(
    hill: _Hill, theta: FloatArray, height: FloatArray, found: BoolArray, centre: FloatArray, extent: FloatArray
) -> Regression:
    """Back from data of middle 0 and extent 1; the covariance by the delta method from (a, a x coefficients)."""
    rows, p = theta.shape[0], hill.design.shape[1]
    a = theta[:, 0]
    constant = np.zeros(p)
    fixed = np.flatnonzero(hill.penalty == 0.0)
    constant[fixed] = np.linalg.pinv(hill.design[:, fixed]) @ np.ones(hill.design.shape[0])
    a = np.where(found, a, 1.0)
    coefficients = theta[:, 1:] / a[:, None] * extent[:, None] + centre[:, None] * constant
    scale = extent / a
    covariance = np.full((rows, p + 1, p + 1), np.nan)
    information = _informed(hill, theta, found)
    kept = np.flatnonzero(found)
    if kept.size:
        inverse = np.linalg.inv(information)
        turn = np.zeros((kept.size, p + 1, p + 1))
        turn[:, np.arange(p), 1 + np.arange(p)] = (extent / a)[kept][:, None]
        turn[:, :p, 0] = -theta[kept, 1:] * (extent / a**2)[kept][:, None]
        turn[:, p, 0] = -(extent / a**2)[kept]
        covariance[kept] = turn @ inverse @ turn.transpose(0, 2, 1)
    exact = (hill.lower == hill.upper).sum(axis=1)
    log = height - exact * np.log(extent)
    coefficients[~found], scale[~found] = np.nan, np.nan
    return Regression(coefficients, scale, log, covariance, found)
