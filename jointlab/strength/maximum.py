"""Maximum of the likelihood of many samples at once: damped Newton on a concave function."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Protocol, Self

import numpy as np
import numpy.typing as npt

from jointlab.strength.kernels import Kernel
from jointlab.strength.likelihood import Ill, Likelihood, Samples, Sums, ill_cases
from jointlab.strength.repeats import distinct

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

_MOST_STEPS = 200
_NEAR = 1e-13  # twice the height still to climb at which one last full step ends the search
_ENDLESS = 1e-9  # a below this, on data of spread one, is a spread without limit
_BLOCK = 8_000  # strengths worked on at once: their arrays stay in the cache, which is a third quicker
_NO_STEP = 0.01  # share of a step that is tried last where the height is not known to the last digit
_FLATTEST = 1e-300  # curvature that is taken where there is none beyond the digits of a float
_SPREADLESS = 1e9  # and above this there is no spread


@dataclass(frozen=True, slots=True)
class Maximum:
    """Where the likelihood of each sample is largest, on the kernel's scale.

    ``location``, ``scale`` and ``log_likelihood`` (densities on the kernel's scale) have shape (samples,); they are NaN
    where ``ill`` names why there is no maximum. Never leaves the room.
    """

    location: FloatArray
    scale: FloatArray
    log_likelihood: FloatArray
    ill: tuple[Ill | None, ...]


def maximum_of(samples: Samples, kernel: Kernel) -> Maximum:
    """The maximum of each sample, or the name of its ill case."""
    samples, which = distinct(samples)
    ill = ill_cases(samples)
    well = np.array([row for row, case in enumerate(ill) if case is None], dtype=np.int64)
    size = samples.lower.shape[0]
    location, scale, log = (np.full(size, np.nan) for _ in range(3))
    for good in blocks_of(well, samples.lower.shape[1]):
        centre, spread = _frame(samples, good)
        framed = _framed(samples, good, centre, spread)
        a, b, height = climb(Likelihood.of(framed, kernel), *_start(framed), near=_NEAR)
        endless, lost = a < _ENDLESS, np.isnan(height)
        for row in np.flatnonzero(endless | lost):
            ill[good[row]] = Ill.NOT_FOUND if lost[row] else Ill.ENDLESS_SPREAD
        found = ~(endless | lost)
        kept = good[found]
        location[kept] = (b / a * spread + centre)[found]
        scale[kept] = (spread / a)[found]
        exact = ((samples.lower[good] == samples.upper[good]) * samples.weight[good]).sum(axis=1)
        log[kept] = (height - exact * np.log(spread))[found]
    return Maximum(location[which], scale[which], log[which], tuple(ill[row] for row in which))


def blocks_of(rows: IntArray, entries: int) -> Iterator[IntArray]:
    """The rows in blocks small enough for the processor's cache, each row of so many entries."""
    most = max(_BLOCK // max(entries, 1), 1)
    for start in range(0, rows.size, most):
        yield rows[start : start + most]


def _points(samples: Samples) -> FloatArray:
    """A finite strength to stand for each pull: the middle of an interval, the finite end of a half line."""
    lower, upper = samples.lower, samples.upper
    with np.errstate(invalid="ignore"):
        middle = 0.5 * (lower + upper)
    return np.where(np.isfinite(middle), middle, np.where(np.isfinite(lower), lower, upper))


def _frame(samples: Samples, rows: IntArray) -> tuple[FloatArray, FloatArray]:
    """Middle and extent of each sample: the search runs on data of middle 0 and extent 1, whatever the unit."""
    lower, upper, present = samples.lower[rows], samples.upper[rows], samples.weight[rows] > 0.0
    bottom = np.minimum(
        np.where(present & np.isfinite(lower), lower, np.inf), np.where(present & np.isfinite(upper), upper, np.inf)
    ).min(axis=1)
    top = np.maximum(
        np.where(present & np.isfinite(lower), lower, -np.inf), np.where(present & np.isfinite(upper), upper, -np.inf)
    ).max(axis=1)
    return 0.5 * (bottom + top), top - bottom


def _framed(samples: Samples, rows: IntArray, centre: FloatArray, spread: FloatArray) -> Samples:
    move, shrink = centre[:, None], spread[:, None]
    return Samples((samples.lower[rows] - move) / shrink, (samples.upper[rows] - move) / shrink, samples.weight[rows])


def _start(framed: Samples) -> tuple[FloatArray, FloatArray]:
    points = np.where(framed.weight > 0.0, _points(framed), 0.0)
    total = framed.weight.sum(axis=1)
    mean = (framed.weight * points).sum(axis=1) / total
    square = (framed.weight * (points - mean[:, None]) ** 2).sum(axis=1) / total
    a = 1.0 / np.sqrt(np.maximum(square, 0.01))
    return a, a * mean


Newton = Callable[[Sums, FloatArray], tuple[FloatArray, FloatArray, FloatArray]]
"""Step in a and in b, and the slope along it, from the sums at a point and its a."""


class Hill(Protocol):
    """A concave function of a = 1/scale and b = location/scale for each of many samples."""

    def sums(self, a: FloatArray, b: FloatArray) -> Sums:
        """Height, slopes and curvatures."""

    def of_rows(self, rows: IntArray) -> Self:
        """The same for these samples only."""


def climb(
    hill: Hill, a: FloatArray, b: FloatArray, *, near: float, slack: float = 0.0, newton: Newton | None = None
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Top of each hill: a, b and the height there; the height is NaN where the search did not end.

    Damped Newton: a step that does not climb is halved, a sample that is done leaves the crowd. ``near`` is twice the
    height still to climb at which one last full step ends the search. ``newton`` gives the step, in a alone where b is
    to stay; ``slack`` is the noise in the height: with it, a search that no step carries on ends where it is.
    """
    a, b = a.copy(), b.copy()
    newton = newton or free_step
    likelihood = hill
    height = np.full(a.size, np.nan)
    active = np.arange(a.size)
    now = likelihood.sums(a, b)
    step_a, step_b, gain = newton(now, a)
    share = np.ones(a.size)
    for _ in range(_MOST_STEPS):
        stuck = (share < _NO_STEP) & (slack > 0.0)
        done = (gain < near) | (a[active] < _ENDLESS) | (a[active] > _SPREADLESS) | stuck
        if done.any():
            rows = active[done]
            last = np.where(stuck[done], 0.0, 1.0)
            height[rows] = now.log[done] + 0.5 * last * gain[done]
            a[rows] += last * step_a[done]
            b[rows] += last * step_b[done]
            going = np.flatnonzero(~done)
            active, share = active[going], share[going]
            step_a, step_b, gain = step_a[going], step_b[going], gain[going]
            likelihood = likelihood.of_rows(going)
            now = Sums(*(getattr(now, name)[going] for name in Sums.__slots__))
        if not active.size:
            break
        trial_a, trial_b = a[active] + share * step_a, b[active] + share * step_b
        then = likelihood.sums(trial_a, trial_b)
        better = then.log >= now.log + 0.1 * share * gain - slack - 1e-12 * (1.0 + np.abs(now.log))
        rows = np.flatnonzero(better)
        a[active[rows]], b[active[rows]] = trial_a[rows], trial_b[rows]
        now.replaced(rows, Sums(*(getattr(then, name)[rows] for name in Sums.__slots__)))
        share = np.where(better, 1.0, 0.5 * share)
        if rows.size:
            step_a, step_b, gain = newton(now, a[active])
    return a, b, height


def free_step(now: Sums, a: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Newton step in (a, b), shortened so that a stays positive, and the slope along it (squared Newton decrement)."""
    determinant = now.aa * now.bb - now.ab * now.ab
    flat = ~(determinant > 0.0)  # beyond the digits of a float: the search stays where it is
    determinant = np.where(flat, 1.0, determinant)
    step_a = np.where(flat, 0.0, now.ab * now.b - now.bb * now.a) / determinant
    step_b = np.where(flat, 0.0, now.ab * now.a - now.aa * now.b) / determinant
    shorten = np.where(step_a < -0.8 * a, -0.8 * a / np.where(step_a < 0.0, step_a, -1.0), 1.0)
    step_a, step_b = step_a * shorten, step_b * shorten
    return step_a, step_b, now.a * step_a + now.b * step_b


def step_in_a(now: Sums, a: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Newton step in a alone, b staying as it is; no longer than ten times a."""
    step = np.clip(now.a / np.maximum(-now.aa, _FLATTEST), -0.8 * a, 10.0 * a)
    return step, np.zeros_like(step), now.a * step
