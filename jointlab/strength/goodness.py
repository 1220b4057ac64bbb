"""Goodness of fit: Anderson-Darling, against samples simulated from the fitted family and censored as the rig would."""

from __future__ import annotations

import dataclasses
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from jointlab.strength.fitting import ON_LOGS, intervals, kernel_of
from jointlab.strength.kernels import STANDARD_NORMAL, Kernel
from jointlab.strength.likelihood import Samples
from jointlab.strength.maximum import blocks_of, maximum_of
from jointlab.strength.quadrature import panels
from jointlab.strength.replay import Replay
from jointlab.strength.sample import StrengthSample
from jointlab.strength.signed_root import Model
from jointlab.strength.values import Family, StrengthFit

FloatArray = npt.NDArray[np.float64]

SOURCE = "stephens"

REPLICATES = 1999
"""Simulated samples behind a p value (source key judgement)."""

CENSORED_REPLICATES = 999
"""The same for censored samples, whose null distribution is their own (source key judgement)."""

_MANY, _FEWER_REPLICATES = 60, 199  # pulls from which fewer samples are simulated: each takes the longer
_FEWEST_FITTED = 99  # simulated samples with a fit, below which no p value is given


def with_goodness(sample: StrengthSample, fitted: StrengthFit) -> StrengthFit:
    """The fit with its Anderson-Darling statistic and p value; as it was when the sample has no fit.

    The p value is the share of samples simulated from the family, and fitted likewise, that fit no better: it holds for
    any n, and with few pulls it seldom speaks against a family. Of a censored pull the statistic takes what the fit
    makes of it, its strength spread over the interval as the fit has it. Source key ``stephens``.
    """
    if fitted.ill is not None or sample.n < 3:
        return fitted
    return _complete(sample, fitted) if sample.complete else _censored(sample, fitted)


def _complete(sample: StrengthSample, fitted: StrengthFit) -> StrengthFit:
    kernel = kernel_of(fitted.family)
    x = np.log(sample.lower_mpa) if fitted.family in ON_LOGS else np.array(sample.lower_mpa)
    statistic = float(_fitted_distances(kernel, x[None])[0])
    null = _null_distances(fitted.family, sample.n)
    return _judged(fitted, statistic, null)


def _judged(fitted: StrengthFit, statistic: float, null: FloatArray) -> StrengthFit:
    p_value = (1.0 + float((null >= statistic).sum())) / (null.size + 1.0)
    return dataclasses.replace(fitted, anderson_darling=statistic, p_value=p_value)


def _censored(sample: StrengthSample, fitted: StrengthFit) -> StrengthFit:
    """By parametric bootstrap: the fitted strengths, censored as the rig would and fitted again."""
    model, replay = Model.of(fitted.family), Replay.of(sample)
    lower, upper = intervals(sample)
    with np.errstate(divide="ignore"):
        low = model.scaled(np.where((lower == 0.0) & (upper > 0.0), -np.inf, lower))
    own = Samples(low[None], model.scaled(upper)[None], np.ones((1, sample.n)))
    best = maximum_of(own, model.kernel)
    rng = np.random.default_rng(np.random.SeedSequence((sample.n, *replay.pattern)))
    runs = CENSORED_REPLICATES if sample.n < _MANY else _FEWER_REPLICATES
    draws = best.location[0] + best.scale[0] * model.draws(rng, replay.batch, runs)
    low_mpa, high_mpa = replay.recorded(model.strength(draws))
    again = Samples(model.scaled(low_mpa), model.scaled(high_mpa), np.ones_like(low_mpa))
    null = _expected_distances(model.kernel, again)
    null = null[np.isfinite(null)]
    statistic = float(_expected_distances(model.kernel, own)[0])
    return _judged(fitted, statistic, null) if null.size >= _FEWEST_FITTED else fitted


def _expected_distances(kernel: Kernel, samples: Samples) -> FloatArray:
    """Anderson-Darling distance of the expected distribution function of each sample from its own fit; NaN without one.

    n times the integral of (F_n(t) - t)^2 / (t (1 - t)), with F_n(t) = mean of the chance that a pull's strength lies
    below the fit's t quantile given its interval: for complete samples the usual statistic.
    """
    best = maximum_of(samples, kernel)
    t, weight = panels([0.0, 0.001, 0.01, 0.05, 0.2, 0.5, 0.8, 0.95, 0.99, 0.999, 1.0])
    weight = weight / (t * (1.0 - t))
    distance = np.full(best.location.size, np.nan)
    n = samples.lower.shape[1]
    for rows in blocks_of(np.flatnonzero(np.isfinite(best.location)), n):
        place, spread = best.location[rows, None], best.scale[rows, None]
        low = _below(kernel, (samples.lower[rows] - place) / spread)
        high = _below(kernel, (samples.upper[rows] - place) / spread)
        mean = np.zeros((rows.size, t.size))
        for column in range(n):
            mean += _share_below(t, low[:, column, None], high[:, column, None])
        distance[rows] = n * (weight * (mean / n - t) ** 2).sum(axis=1)
    return distance


def _below(kernel: Kernel, z: FloatArray) -> FloatArray:
    finite = np.where(np.isfinite(z), z, 0.0)
    return np.where(np.isfinite(z), np.exp(kernel.left(finite.ravel()).log).reshape(z.shape), np.where(z > 0, 1.0, 0.0))


def _share_below(t: FloatArray, low: FloatArray, high: FloatArray) -> FloatArray:
    width = np.maximum(high - low, 1e-12)
    return np.clip((t - low) / width, 0.0, 1.0)


@lru_cache(maxsize=256)
def _null_distances(family: Family, n: int) -> FloatArray:
    """Distances of samples from their own fits: one distribution for all locations and scales."""
    kernel = kernel_of(family)
    rng = np.random.default_rng(np.random.SeedSequence((n, int(kernel is STANDARD_NORMAL))))
    shape = (REPLICATES, n)
    draws = rng.standard_normal(shape) if kernel is STANDARD_NORMAL else np.log(rng.standard_exponential(shape))
    distances = _fitted_distances(kernel, draws)
    distances.setflags(write=False)
    return distances


def _fitted_distances(kernel: Kernel, x: FloatArray) -> FloatArray:
    """Anderson-Darling distance of complete samples of shape (samples, n) from their own fits."""
    if kernel is STANDARD_NORMAL:
        location, scale = x.mean(axis=1), x.std(axis=1)
    else:
        best = maximum_of(Samples(x, x, np.ones_like(x)), kernel)
        location, scale = best.location, best.scale
    z = np.sort((x - location[:, None]) / scale[:, None], axis=1)
    n = x.shape[1]
    below = kernel.left(z.ravel()).log.reshape(z.shape)
    above = kernel.right(z.ravel()).log.reshape(z.shape)
    weight = (2.0 * np.arange(1, n + 1) - 1.0) / n
    return np.asarray(-n - (weight * (below + above[:, ::-1])).sum(axis=1))
