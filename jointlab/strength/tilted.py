"""Simulated samples drawn towards the tail that is asked about, with weights that undo it, and what is known of them.

One sample in twenty lies beyond a 95 % quantile; drawn where those lie, most samples tell something of it. A share of
the samples is drawn plainly, so that no weight is large. Quantities whose mean is known exactly steady the rest.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from jointlab.strength.kernels import STANDARD_NORMAL, Kernel
from jointlab.strength.known_ratio import batch_sizes, centres_and_spreads, weights_of
from jointlab.strength.noncentral_t import noncentral_t_quantile
from jointlab.strength.quadrature import rising_root
from jointlab.strength.signed_root import Model

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]

SOURCE = "importance_sampling"

PARTS = ((0.0, 0.2), (0.5, 0.3), (1.0, 0.5))
"""How far towards the tail, as a share of the way, which share of the samples is drawn; a fifth is drawn plainly, so
that no weight exceeds five (source key judgement)."""

_EULER = 0.5772156649015329
_HALVINGS = 50
_RIDGE = 1e-9
_TURNS = 10  # samples in which every part has had its turn
_TAILS = (0.2, 0.1, 0.07, 0.05, 0.035, 0.025, 0.01)  # chances of the complete sample's tail that are made use of


@dataclass(frozen=True, slots=True)
class Draws:
    """Standard strengths of shape (runs, n), the weight of each sample, and what is known.

    ``controls`` of shape (runs, number) have the mean zero, exactly, over all samples that could be drawn.
    """

    standard: FloatArray
    weight: FloatArray
    controls: FloatArray

    def chance_of(self, event: BoolArray, guesses: BoolArray) -> tuple[float, float]:
        """Chance of an event under the standard model, and its standard error.

        ``event`` is known of the first samples only, ``guesses`` (runs, number) of all: each is like the event.
        The event is regressed on guesses and controls where it is known, and predicted where it is not.
        """
        seen = event.size
        weighted = self.weight[:seen] * event
        columns = np.column_stack([np.ones(len(self.weight)), self.controls, self.weight[:, None] * guesses])
        slopes = least_squares(columns[:seen], weighted)
        left = weighted - columns[:seen] @ slopes
        predicted = columns @ slopes + left.mean()
        x = self.controls - self.controls.mean(axis=0)
        steady = least_squares(x, predicted - predicted.mean())
        chance = float(predicted.mean() - self.controls.mean(axis=0) @ steady)
        scatter = predicted - predicted.mean() - x @ steady
        free = max(seen - columns.shape[1], 1)
        return chance, math.sqrt(float(left @ left) / free / seen + float(scatter @ scatter) / len(x) ** 2)


def least_squares(columns: FloatArray, y: FloatArray) -> FloatArray:
    """Slopes of ``y`` on columns that may repeat each other: normal equations with a trace of a ridge."""
    square = columns.T @ columns
    square[np.diag_indices_from(square)] += _RIDGE * max(float(np.trace(square)) / len(square), 1e-300)
    return np.asarray(np.linalg.solve(square, columns.T @ y))


def draws_towards(
    model: Model, rng: np.random.Generator, batch: IntArray, *, runs: int, share: float, root: float
) -> Draws:
    """Samples drawn towards those whose signed root at the true percentile ``share`` is about ``root``."""
    n, across = batch.size, weights_of(batch_sizes(batch), model.ratio)[1]
    tilts = [tilt(model.kernel, n, across, share, way * root) for way, _ in PARTS]
    standard = model.draws(rng, batch, runs)
    ends = np.cumsum([part for _, part in PARTS])
    which = np.searchsorted(ends, (np.arange(runs) % _TURNS + 0.5) / _TURNS)
    places, scales = np.array(tilts).T
    standard = standard * scales[which, None] + places[which, None]
    if model.kernel is STANDARD_NORMAL:
        centre, spread, _ = centres_and_spreads(standard, batch, ratio=model.ratio)
        known = _normal_tails(centre, spread, n, across, share, lower=root < 0.0)

        def height(place: float, scale: float) -> FloatArray:
            return np.asarray(-0.5 * ((n - 1) * spread**2 + across * (centre - place) ** 2) / scale**2)

    else:
        grown = np.exp(standard).sum(axis=1)
        total = standard.sum(axis=1)
        known = [grown / n - 1.0, total / n + _EULER]

        def height(place: float, scale: float) -> FloatArray:
            tall = grown if scale == 1.0 else np.exp(standard / scale).sum(axis=1)
            return np.asarray((total - n * place) / scale - math.exp(-place / scale) * tall)

    plain = height(0.0, 1.0)
    likelier = (np.minimum(height(*at) - n * math.log(at[1]) - plain, 600.0) for at in tilts)
    weight = 1.0 / np.sum([part * np.exp(each) for (_, part), each in zip(PARTS, likelier, strict=True)], axis=0)
    return Draws(standard, weight, np.column_stack([weight - 1.0, *(weight * each for each in known)]))


def _normal_tails(
    centre: FloatArray, spread: FloatArray, n: int, total: float, share: float, *, lower: bool
) -> list[FloatArray]:
    """Whether each sample, seen complete, lies in tails whose chance is exactly known, less that chance."""
    offset = -share * math.sqrt(total)
    found: list[FloatArray] = []
    for tail in _TAILS:
        k = noncentral_t_quantile(tail if lower else 1.0 - tail, degrees=n - 1, offset=offset) / math.sqrt(total)
        bound = centre - k * spread
        found.append(np.asarray((bound <= share if lower else bound > share) - tail, dtype=np.float64))
    return found


def tilt(kernel: Kernel, n: int, total: float, share: float, root: float) -> tuple[float, float]:
    """Place and scale that make samples of this root usual, and are likeliest among all that do.

    Their Kullback-Leibler distance from the standard model is root^2 / 2, and of all models with the percentile
    ``share`` the standard one is the nearest to them. ``total`` is 1' V^-1 1, the weight of the mean of ``n`` pulls.
    """
    away = _NormalTilt(n, total, share) if kernel is STANDARD_NORMAL else _ExtremeTilt(n, share)
    return _towards(away, root)


@lru_cache(maxsize=1024)
def _towards(away: _NormalTilt | _ExtremeTilt, root: float) -> tuple[float, float]:
    if root == 0.0:
        return 0.0, 1.0
    # Strong samples scatter less, the weak ones lie lower: each turned this way, the distance only grows.
    least, most = (1.0, 0.02) if root > 0.0 else (0.0, -4.0)
    known = away.place_of if root > 0.0 else away.scale_of
    for _ in range(_HALVINGS):
        middle = 0.5 * (least + most)
        other = known(middle)
        place, scale = (other, middle) if root > 0.0 else (middle, other)
        far = place is None or scale is None or away.distance(place, scale) > 0.5 * root * root
        least, most = (least, middle) if far else (middle, most)
    found = known(least)
    return (found or 0.0, least) if root > 0.0 else (least, found or 1.0)


def _between(rising: Callable[[float], float], low: float, high: float) -> float | None:
    """Where it crosses zero between these; None where it does not."""
    return rising_root(rising, low, high, near=1e-9) if rising(low) <= 0.0 < rising(high) else None


@dataclass(frozen=True, slots=True)
class _NormalTilt:
    n: int
    total: float
    share: float

    def place_of(self, scale: float) -> float | None:
        return 0.5 * (self.share + math.sqrt(self.share**2 + 4.0 * self.n / self.total * (1.0 - scale * scale)))

    def scale_of(self, place: float) -> float | None:
        square = 1.0 - self.total / self.n * (place * place - self.share * place)
        return math.sqrt(square) if square > 0.0 else None

    def distance(self, place: float, scale: float) -> float:
        return 0.5 * self.n * (scale * scale - 1.0) - self.n * math.log(scale) + 0.5 * self.total * place * place


@dataclass(frozen=True, slots=True)
class _ExtremeTilt:
    n: int
    share: float

    def _nearer(self, place: float, scale: float) -> float:
        """Zero where no model of the same percentile is nearer; it grows with place and scale."""
        gamma = math.gamma(1.0 + scale)
        slope = (math.gamma(1.0 + scale + 1e-5) - math.gamma(1.0 + scale - 1e-5)) / 2e-5
        grown, mean = math.exp(place), place - _EULER * scale
        return grown * (place * gamma + scale * slope) - mean - self.share * (grown * gamma - 1.0) - 1.0

    def place_of(self, scale: float) -> float | None:
        return _between(lambda place: self._nearer(place, scale), 0.0, 4.0)

    def scale_of(self, place: float) -> float | None:
        return _between(lambda scale: self._nearer(place, scale), 1.0, 8.0)

    def distance(self, place: float, scale: float) -> float:
        away = (scale - 1.0) * _EULER - 1.0 - math.log(scale) - place + math.exp(place) * math.gamma(1.0 + scale)
        return self.n * away
