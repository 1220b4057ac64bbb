"""What the next joints will do: the chance that one, or the weakest of several, holds a stress."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from jointlab.strength.batch_likelihood import BatchLikelihood
from jointlab.strength.fitting import intervals
from jointlab.strength.known_ratio import RATIO
from jointlab.strength.likelihood import Samples
from jointlab.strength.normal import log_cdf
from jointlab.strength.sample import StrengthSample

FloatArray = npt.NDArray[np.float64]

SOURCE = "lawless"

_ACROSS = 81  # values of the spread, and of the location, that stand for all
_REACH = 14.0  # log-likelihood below its top at which a value no longer counts
_NODES, _WEIGHTS = (np.asarray(part) for part in np.polynomial.hermite_e.hermegauss(24))


@dataclass(frozen=True, slots=True)
class Prediction:
    """Chance that the next joint, of a new glue-up, holds a stress, and that all of ``following`` joints of it do.

    Parameters
    ----------
    stress_mpa
        The stress asked about [MPa].
    next_holds, all_hold
        Chances between 0 and 1, what the pulls leave unknown of location and spread counted in.
    following
        How many joints must hold: the chance is that of the weakest.
    """

    stress_mpa: float
    following: int
    next_holds: float
    all_hold: float


def prediction_of(sample: StrengthSample, *, stress_mpa: float, following: int = 1) -> Prediction | None:
    """The chance that the next joints hold a stress [MPa]; None with fewer than three pulls or two different breaks.

    Strengths are lognormal, glue-ups differ as the working bound assumes, and nothing is known of location and spread
    but what the pulls say (density 1/spread): for complete pulls and one joint this is the exact prediction by
    Student's t. Source keys ``lawless`` and ``judgement`` (the ratio of spreads).

    Examples
    --------
    >>> strengths = StrengthSample.of_values([3.1, 4.0, 4.4, 5.2, 3.7, 4.9], batch=[1, 1, 1, 2, 2, 2])
    >>> round(prediction_of(strengths, stress_mpa=2.0).next_holds, 3)
    0.977
    """
    framed = framed_logs(sample)
    if framed is None:
        return None
    samples, centre, extent = framed
    a, b, mass = _posterior(samples, sample.batch)
    point = (math.log(stress_mpa) - centre) / extent
    within = a * point - b
    shifted = within[:, None] - RATIO * _NODES
    log_holds = log_cdf(-shifted)
    share = _WEIGHTS / _WEIGHTS.sum()
    one, every = ((np.exp(times * log_holds) * share).sum(axis=1) for times in (1, following))
    return Prediction(stress_mpa, following, float((mass * one).sum()), float((mass * every).sum()))


def framed_logs(sample: StrengthSample) -> tuple[Samples, float, float] | None:
    """Logarithms of the strengths, moved and shrunk to middle 0 and extent 1."""
    broke = ~sample.held
    if sample.n < 3 or broke.sum() < 2:
        return None
    lower, upper = intervals(sample)
    with np.errstate(divide="ignore"):
        low, high = np.log(lower), np.log(upper)
    if float(low[broke].max()) <= float(high[broke].min()):
        return None
    ends = np.concatenate([low[np.isfinite(low)], high[np.isfinite(high)]])
    centre, extent = float(0.5 * (ends.min() + ends.max())), float(np.ptp(ends))
    return (
        Samples(((low - centre) / extent)[None], ((high - centre) / extent)[None], np.ones((1, low.size))),
        centre,
        extent,
    )


def _posterior(samples: Samples, batch: npt.NDArray[np.int64]) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Values of a = 1/spread and b = location/spread, and the mass on each: likelihood times 1/spread."""

    def mass_on(log_a: FloatArray, place: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        grid_a, grid_place = (part.ravel() for part in np.meshgrid(np.exp(log_a), place, indexing="ij"))
        many = np.zeros(grid_a.size, np.int64)
        hill = BatchLikelihood.of(
            Samples(samples.lower[many], samples.upper[many], samples.weight[many]), batch, ratio=RATIO
        )
        height = hill.sums(grid_a, grid_a * grid_place).log
        return grid_a, grid_place, height - height.max()

    log_a, place = np.linspace(-2.5, 6.0, _ACROSS), np.linspace(-3.0, 3.0, _ACROSS)
    for _ in range(2):
        grid_a, grid_place, height = mass_on(log_a, place)
        seen = height > -_REACH
        edge_a, edge_place = log_a[1] - log_a[0], place[1] - place[0]
        log_a = np.linspace(np.log(grid_a[seen].min()) - edge_a, np.log(grid_a[seen].max()) + edge_a, _ACROSS)
        place = np.linspace(grid_place[seen].min() - edge_place, grid_place[seen].max() + edge_place, _ACROSS)
    grid_a, grid_place, height = mass_on(log_a, place)
    mass = np.exp(height)
    return grid_a, grid_a * grid_place, mass / mass.sum()
