"""A guess of signed roots from what samples show at a glance: hundreds of times quicker than to solve for them.

It is fitted to some samples whose roots were solved for, near the root that is asked about, and guesses those of many
more. Its errors are allowed for where it is used: it only spares work, and shifts nothing.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from jointlab.strength.kernels import STANDARD_NORMAL
from jointlab.strength.known_ratio import centres_and_spreads
from jointlab.strength.likelihood import Samples
from jointlab.strength.signed_root import Model
from jointlab.strength.tilted import least_squares

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

SOURCE = "judgement"

_LEAST = 1e-3  # spread that counts as none
_BENDS = (0.8, 1.6)  # exponents at which extreme value samples are looked at
_AWAY = 4.0  # roots farther from the one in question say nothing of it
_BLUNT = 6.0  # standard deviations at which a feature is cut off


def guessed_roots(features: FloatArray, solved: FloatArray, weight: FloatArray, *, root: float) -> FloatArray:
    """Root of every sample, by least squares on the first ones, whose roots are ``solved``; true near ``root``.

    Every other sample is guessed from the rest of those: no root has a part in its own guess, so that how far guesses
    go astray is seen on the solved ones.
    """
    known = np.isfinite(solved) & (np.abs(solved - root) < _AWAY)
    solved = np.where(known, solved, 0.0)
    near = np.where(known, np.sqrt(weight[: solved.size] * np.exp(-0.5 * (solved - root) ** 2)), 0.0)
    guessed = np.empty(len(features))
    for own in (0, 1):
        others = known & (np.arange(solved.size) % 2 != own)
        slopes = least_squares(features[: solved.size][others] * near[others, None], (solved * near)[others])
        guessed[own::2] = features[own::2] @ slopes
    return guessed


def features_of(samples: Samples, batch: IntArray, model: Model, *, share: float) -> FloatArray:
    """What samples of true location 0 and spread 1 show at a glance, and the products of any two, (samples, number)."""
    held, handled = np.isposinf(samples.upper), np.isneginf(samples.lower)
    with np.errstate(invalid="ignore"):
        middle = 0.5 * (samples.lower + samples.upper)
    place = np.where(held, samples.lower, np.where(handled, samples.upper, middle))
    if model.kernel is STANDARD_NORMAL:
        of_kernel = _of_normal(place, batch, share, ratio=model.ratio)
    else:
        of_kernel = _of_extreme(place, held, share)
    seen = [held.mean(axis=1), place.min(axis=1) - share, *of_kernel]
    columns = np.array(seen).T
    scale = columns.std(axis=0)
    columns = np.clip((columns - columns.mean(axis=0)) / np.where(scale > 0.0, scale, 1.0), -_BLUNT, _BLUNT)
    number = columns.shape[1]
    products = [columns[:, i] * columns[:, j] for i in range(number) for j in range(i, number)]
    return np.column_stack([np.ones(len(columns)), columns, *products])


def _of_normal(place: FloatArray, batch: IntArray, share: float, *, ratio: float) -> list[FloatArray]:
    centre, spread, _ = centres_and_spreads(place, batch, ratio=ratio)
    spread = np.maximum(spread, _LEAST)
    found = [(centre - share) / spread, np.log(spread)]
    if ratio:
        member = (batch[:, None] == np.arange(batch.max() + 1)) / np.bincount(batch)
        found.append((place @ member).std(axis=1) / spread)
    return found


def _of_extreme(place: FloatArray, held: npt.NDArray[np.bool_], share: float) -> list[FloatArray]:
    highest = place.max(axis=1, keepdims=True)
    flat, bent = (np.log(np.exp(a * (place - highest)).mean(axis=1)) / a + highest[:, 0] for a in _BENDS)
    spread = np.maximum(bent - place.mean(axis=1), _LEAST)
    broke = ((place - bent[:, None]) * ~held).mean(axis=1)
    return [(flat - share) / spread, np.log(spread), broke / spread]
